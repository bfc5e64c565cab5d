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
	// fillLeast is how much of a change of the level is none, mm: many sensors tell whole
	// millimetres, and one between two of them goes to and fro (common practice).
	fillLeast = 1.2
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
	Holds    float64 // L, of the channels that this is known of
}

// standing is a level that stands, as a volume, L, but for what the warmth of the air
// makes of it.
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

// near says that a level, as a volume of the given variance in a reservoir of that area,
// may be one more of them.
func (s *standing) near(volume, variance, area float64) bool {
	return s.Count > 0 && math.Abs(volume-s.Volume) <= math.Max(fillLeast*area, fillSigma*math.Sqrt(variance*(1+1/s.weight())))
}

// period is after how long the channels are filled again at the hours at which they
// were: a day, or what lies between two fillings as a rule. A weekend is none.
func (f *filling) period() time.Duration {
	n := len(f.Times)
	if n < 2 {
		return 24 * time.Hour
	}
	gaps := make([]time.Duration, n-1)
	for i := range gaps {
		gaps[i] = f.Times[i+1].Sub(f.Times[i])
	}
	slices.Sort(gaps)
	return max(24*time.Hour, gaps[(len(gaps)-1)/2].Round(time.Hour))
}

// next is when the channels are filled next, from a time on, if that goes on as of late:
// at the hours of the last day, or every few days.
func (f *filling) next(from time.Time) time.Time {
	n := len(f.Times)
	if n < 2 {
		return from
	}
	last, period := f.Times[n-1], f.period()
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
	case was.Count > 0 && r.Time.Sub(r.LastGood) <= staleAfter:
		return was.Volume // it stands
	case was.Count > 0:
		return math.Min(was.Volume, held)
	}
	return held
}

// mixes is how much solution is of one EC, L: what stands in channels that are fed all
// along is part of it.
func (r *reservoir) mixes() float64 {
	if r.feedsAtTimes() {
		return r.contents()
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

// holds is what its channels hold where they are filled at times, L.
func (r *reservoir) holds() float64 {
	if r.feedsAtTimes() {
		return r.physics.Standing
	}
	return 0
}

// refit is told that the site file may say otherwise than it did how the channels are
// fed, or what they hold: what stands in them is not known then until the next level. Who
// took fillings for refills knows nothing of the house's thirst either.
func (r *reservoir) refit() {
	was, holds := r.Filling.Holds, r.holds()
	if was == 0 && r.Filling.Was.Count > 0 {
		was = holds // kept by an older version
	}
	if was != holds {
		volume := r.X[jVolume]
		if was > 0 {
			volume -= was - clamp(r.lifted()-r.Filling.Full, 0, was)
		}
		r.Filling, r.Stand, r.Readings = filling{Full: r.lifted() - holds/2}, stand{}, 0
		r.Kept, r.Before, r.Lately = nil, nil, nil // they know it as it was
		r.X[jVolume] = math.Max(0, volume) + holds/2
		r.P = r.P.forget(jVolume, r.P[jVolume][jVolume]+sq(holds)/12)
		if was == 0 {
			r.forgetHouse()
		}
	}
	r.Filling.Holds = holds
}

// forgetHouse has it know no more of its bags' thirst and its leaks than of any.
func (r *reservoir) forgetHouse() {
	prior := r.prior()
	for _, i := range []int{jHouse, jDay, jUnexplained} {
		r.X[i], r.P = 0, r.P.forget(i, prior[i][i])
	}
	r.Tally.With, r.Breaches, r.Nightly, r.Found, r.Gush = vector{}, nil, nightly{}, known{}, 0
	r.Daily, r.Hours = daily{}, nil
}

// observeFillings takes a level of a reservoir that feeds at times.
func (r *reservoir) observeFillings(t time.Time, g gauged) {
	f := &r.Filling
	r.look(t, g)
	now := r.whole(g, r.lacks(), 0)
	switch spilt := f.Was.Volume-(g.volume-r.swells(g)) > r.takesAtMost()+fillSigma*math.Sqrt(g.variance); {
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
	f.Was.include(t, g.volume-r.swells(g), r.lifted())
}

// swells is by how much a level stands higher for the warmth of the air, as a volume, L.
func (r *reservoir) swells(g gauged) float64 { return g.row[jWarm] * r.X[jWarm] }

// takesAtMost is the most that a filling brings the channels, L: what they may lack by how
// well the thirst of their bags is known, no more than they hold, and a little.
func (r *reservoir) takesAtMost() float64 {
	doubt := math.Max(fillMost, 1+fillSigma*math.Sqrt(r.commonVariance()))
	return math.Min(r.physics.Standing, doubt*r.lacks()) + fillMore*r.physics.Standing
}

// follow waits for a level to change and to stand again.
func (r *reservoir) follow(t time.Time, g gauged) {
	f := &r.Filling
	volume, area := g.volume-r.swells(g), r.physics.AreaAt(r.physics.Level(g.volume))
	if f.Was.near(volume, g.variance, area) {
		f.Was.include(t, volume, r.lifted())
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
	if !f.Now.near(volume, g.variance, area) {
		f.Now = standing{}
	}
	f.Now.include(t, volume, r.lifted())
	fell := f.Was.Volume - f.Now.Volume
	poured := -fell > refillFloor*area // somebody does, at once
	if f.Now.Count < 2 || !poured && t.Sub(f.Now.Since) < fillStands {
		return
	}
	r.learnSeep(t)
	r.Stand = stand{}
	f.Was, f.Now = f.Now, standing{}
	g.volume, g.variance = f.Was.Volume+r.swells(g), g.variance/f.Was.weight()
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
		if litres > fillDry*r.physics.Standing {
			r.unbook(nu) // from channels that ran dry nobody drank on
		}
		r.setVolume(t, g)
		r.News = true
	} else {
		r.learnLevel(t, g, nu, s)
	}
	f.Full = r.lifted() - since
}

// unbook takes back litres that the bags cannot have drunk since the filling before the
// last, hour by hour, for a day's litres are counted from one of them. They would have.
func (r *reservoir) unbook(litres float64) {
	if litres <= 0 {
		return
	}
	now := r.Tally
	now.More -= litres
	r.book(now)
	for i := range r.Breaches {
		r.Breaches[i].Tally.More -= litres
	}
	for i := range r.Before {
		r.Before[i].Tally.More -= litres
	}
	var since time.Time
	if n := len(r.Filling.Times); n > 1 {
		since = r.Filling.Times[n-2]
	}
	booked := slices.Clone(r.Hours)
	r.excuse(since, litres)
	taken, all := 0.0, math.Max(r.lifting(), 1e-9)
	for i := range r.Hours {
		back := booked[i].Lifted - r.Hours[i].Lifted
		r.Hours[i].Idle += back
		taken += back
		end := r.HourEnd.Add(-time.Duration(len(r.Hours)-1-i) * time.Hour)
		r.Draw.lower(end, taken)
		for k, b := range r.bags {
			b.History.lower(end, taken*r.Lifts[k]/all)
		}
	}
	r.Drawn, r.HourMark, r.Daily.Drawn = r.Drawn-litres, r.HourMark-litres, r.Daily.Drawn-litres
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
