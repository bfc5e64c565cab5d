package estimate

import (
	"math"
	"slices"
	"time"
)

// A reservoir whose channels are filled at times, by hand or by a timer, stands while
// they are drunk from, and falls at once by what they lacked. The volume of its filter
// is that of the reservoir and of its channels together, which falls as they are drunk
// from: after a filling, when the channels are full, the level tells it, and then only.
const (
	// fillSigma is how far a level must lie off those before, in standard deviations of
	// their noise, to begin a change: all of fillStands must, so that noise makes none.
	fillSigma = 2.5
	// fillStands is how long a level must have stood anew for a filling to be over.
	fillStands = 30 * time.Minute
	// fillMark is how well channels are filled to the same mark, as a share of what they
	// hold, and fillDry the share of that which a filling of channels that ran dry
	// brings at the least: it tells no more than that (assumptions).
	fillMark = 0.03
	fillDry  = 0.9
	// fillMost is how many times what the channels are thought to lack may leave at once,
	// and fillMore which share of what they hold beside: beyond that it goes elsewhere
	// (assumptions).
	fillMost = 1.5
	fillMore = 0.1
	// fillOverdue is how many times what the channels hold must have been drunk from
	// them for a level that stands to be disbelieved, where no channel is dry
	// (assumption).
	fillOverdue = 1.5
	// fillMean is how many levels are averaged, and fillsKnown how many fillings are
	// remembered for when the next one comes.
	fillMean   = 6
	fillsKnown = 8
)

// filling is what the levels of a reservoir that feeds at times show.
type filling struct {
	Was, Now standing    // before a change of the level, and after it
	Full     float64     // what was lifted, L since the start, when the channels were full last
	Times    []time.Time // of the last fillings
	Seep     seep
}

// standing is a level that stands, as a volume, L.
type standing struct {
	Volume float64 // mean
	Since  time.Time
	Lifted float64 // then, L since the start
	Count  int
}

// include takes one more level, when so much was lifted, L.
func (s *standing) include(t time.Time, volume, lifted float64) {
	if s.Count == 0 {
		s.Since, s.Lifted = t, lifted
	}
	s.Count++
	s.Volume += (volume - s.Volume) / s.weight()
}

// weight is how many levels the mean is of.
func (s *standing) weight() float64 { return float64(min(s.Count, fillMean)) }

// near says that a level may be one more of them.
func (s *standing) near(g gauged) bool {
	return s.Count > 0 && math.Abs(g.volume-s.Volume) <= fillSigma*math.Sqrt(g.variance*(1+1/s.weight()))
}

// next is when the channels are filled next, from a time on, if that goes on as of late:
// at the hours of the last day, or every few days.
func (f *filling) next(from time.Time) time.Time {
	n := len(f.Times)
	if n < 2 {
		return from
	}
	last := f.Times[n-1]
	period := max(24*time.Hour, last.Sub(f.Times[n-2]).Round(time.Hour))
	next := from.Add(period)
	for _, at := range f.Times {
		if last.Sub(at) >= period {
			continue
		}
		periods := math.Ceil(float64(from.Sub(at)) / float64(period))
		if again := at.Add(time.Duration(periods) * period); again.Before(next) {
			next = again
		}
	}
	return next
}

// lifted is what was drawn but for what leaked, L since the start.
func (r *reservoir) lifted() float64 { return r.Drawn - r.Loose }

func (r *reservoir) feedsAtTimes() bool { return r.physics.Reservoir.FeedsAtTimes }

// lacks is what the channels of a reservoir that feeds at times lack by now, L.
func (r *reservoir) lacks() float64 { return clamp(r.lifted()-r.Filling.Full, 0, r.physics.Standing) }

// contents is what the reservoir itself holds, L.
func (r *reservoir) contents() float64 {
	if !r.feedsAtTimes() {
		return r.X[jVolume]
	}
	held := math.Max(0, r.X[jVolume]-r.physics.Standing+r.lacks())
	switch was := r.Filling.Was; {
	case r.Stand.Jammed: // somebody fills the channels, and nobody sees when
		return math.Max(0, r.X[jVolume]-r.physics.Standing)
	case was.Count > 0:
		return math.Min(was.Volume, held) // it stands
	}
	return held
}

// together is what the reservoir and its channels hold, L.
func (r *reservoir) together() float64 {
	if r.feedsAtTimes() {
		return r.X[jVolume]
	}
	return r.X[jVolume] + r.physics.Standing
}

// floor is the volume of the filter at which the level is at its mark of empty, L.
func (r *reservoir) floor() float64 {
	if r.feedsAtTimes() {
		return r.physics.Empty() + r.physics.Standing
	}
	return r.physics.Empty()
}

// whole is a level with what stands in channels that lack so much, L, known to a
// variance.
func (r *reservoir) whole(g gauged, lacks, variance float64) gauged {
	g.volume += r.physics.Standing - lacks
	g.variance += variance
	return g
}

// observeFillings takes a level of a reservoir that feeds at times.
func (r *reservoir) observeFillings(t time.Time, g gauged) {
	f := &r.Filling
	r.look(t, g)
	now := r.whole(g, r.lacks(), 0)
	switch spilt := f.Was.Volume-g.volume > fillMost*r.lacks()+fillMore*r.physics.Standing+fillSigma*math.Sqrt(g.variance); {
	case f.Was.Count == 0: // the first, or the site file says so since
		r.supposeLacking(t, g, r.physics.Standing)
	case r.gushing():
		if r.endGush(t, now) {
			break
		}
		if !r.beginGush(t, now) {
			nu, s := now.innovation(r.X, r.P)
			r.learnLevel(t, now, nu, s)
		}
	case spilt && r.beginGush(t, now):
	default:
		r.follow(t, g)
		if !r.Stand.Jammed {
			r.LastGood = t
		}
		return
	}
	f.Was, f.Now, f.Seep = standing{}, standing{}, seep{}
	f.Was.include(t, g.volume, r.lifted())
}

// follow waits for a level to change and to stand again.
func (r *reservoir) follow(t time.Time, g gauged) {
	f := &r.Filling
	if f.Was.near(g) {
		f.Was.include(t, g.volume, r.lifted())
		f.Now = standing{}
		switch {
		case r.Stand.Jammed: // it tells of no leak either
		case !r.overdue():
			r.watchSeep(t, g)
		default:
			f.Seep = seep{}
			r.Stand = stand{Since: r.Filling.Was.Since, Level: r.physics.Level(g.volume), Jammed: true}
		}
		return
	}
	if !f.Now.near(g) {
		f.Now = standing{}
	}
	f.Now.include(t, g.volume, r.lifted())
	fell := f.Was.Volume - f.Now.Volume
	if f.Now.Count < 2 || fell > 0 && t.Sub(f.Now.Since) < fillStands {
		return
	}
	r.learnSeep(t)
	r.Stand = stand{}
	f.Was, f.Now = f.Now, standing{}
	g.volume, g.variance = f.Was.Volume, g.variance/f.Was.weight()
	if fell > 0 {
		r.filled(t, g, fell)
	} else {
		r.refilledBetween(t, g, -fell)
	}
}

// overdue says that the channels must have been filled since the level showed it last,
// from a reservoir that could.
func (r *reservoir) overdue() bool {
	gives := r.Filling.Was.Volume > r.physics.Volume(r.physics.Reservoir.Empty+dregs)
	return gives && r.lifted()-r.Filling.Full > fillOverdue*r.physics.Standing && !slices.ContainsFunc(r.bags, (*bag).failing)
}

// filled takes the level that stands after a filling, of so many litres.
func (r *reservoir) filled(t time.Time, g gauged, litres float64) {
	f := &r.Filling
	f.Times = append(f.Times, f.Was.Since)
	f.Times = f.Times[max(0, len(f.Times)-fillsKnown):]
	since := r.lifted() - f.Was.Lifted
	g = r.whole(g, since, sq(fillMark*r.physics.Standing))
	nu, s := g.innovation(r.X, r.P)
	if litres > fillDry*r.physics.Standing || math.Abs(nu) > refillSigma*math.Sqrt(s) {
		r.setVolume(t, g)
		r.News = true
	} else {
		r.learnLevel(t, g, nu, s)
	}
	f.Full = r.lifted() - since
}

// refilledBetween takes the level after a refill of so many litres. Who brings it may
// have filled the channels before.
func (r *reservoir) refilledBetween(t time.Time, g gauged, litres float64) {
	after, sd := g.volume, math.Sqrt(g.variance)
	r.supposeLacking(t, g, r.lacks())
	r.Refilled, r.News = r.Filling.Was.Since, true
	r.Solution.refilled(pour{At: r.Refilled, Before: after - litres, After: after, VolumeSD: sd})
}

// supposeLacking sets the volume from a level while the channels may lack anything up
// to so many litres.
func (r *reservoir) supposeLacking(t time.Time, g gauged, most float64) {
	r.Filling.Full = r.lifted() - most/2
	r.setVolume(t, r.whole(g, most/2, sq(most)/12))
}
