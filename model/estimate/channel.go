package estimate

import (
	"math"
	"slices"
	"time"

	"wickd/model"
)

// channel weighs, over its bags together, whether the channel has run dry: one
// cause for what would otherwise be as many lost wicks at once.
type channel struct {
	channel model.Channel
	bags    []*bag

	Dry    bool
	Since  time.Time
	Voices voices // of its bags, when it was found dry
}

// voices is what the bags of a channel say together for one explanation.
type voices struct {
	LLR      float64 // their sum, less what they would say alike in any case
	Agree    int     // bags that speak for it
	Heard    int     // bags that can be read
	decisive bool
}

// together is the share of a channel's bags that must lose supply at once to
// speak of the channel.
const together = 0.6

// sameTime is how far apart the losses of a channel's bags may seem to begin:
// one that drinks little shows it hours after one that drinks much.
const sameTime = 8 * time.Hour

// judge decides between a dry channel and single lost wicks, and takes back
// what no longer holds. Without new readings nothing can have changed.
func (c *channel) judge() {
	if !c.weighed() {
		return
	}
	if c.Dry {
		c.judgeRefilled()
		return
	}
	if len(c.bags) >= 2 && c.judgeDry() {
		return
	}
	for _, b := range c.bags {
		b.decide()
		if r, cause, ok := b.wickFault(); ok {
			if r.LLR < holdUntil && c.leaning(b) || r.LLR-c.others(1, but(b), says(model.CauseWickLostContact, r.Start)) <= decisive {
				continue
			}
			if len(c.bags) == 1 {
				cause = model.CauseUndecided
			}
			b.yield(r)
			b.Cause, b.Since = cause, r.Start
		} else if b.clogging() && b.Keen.LLR-c.others(1, but(b), declining) >= keenDecisive {
			b.clog()
		}
	}
}

// holdUntil is the log-likelihood ratio beyond which a bag is called by itself
// although its neighbours lean the same way.
const holdUntil = 3 * decisive

// leaning reports that the bag's neighbours lose supply too, so that the
// channel may soon be known to be dry, which is one alert and not one a bag.
func (c *channel) leaning(b *bag) bool {
	heard, agree := 0, 0
	for _, o := range c.bags {
		if o == b || o.Lost || !o.speaks() {
			continue
		}
		heard++
		if r, ok := o.best(model.CauseWickLostContact); ok && r.LLR > decisive/4 {
			agree++
		}
	}
	return heard > 0 && float64(agree) >= together*float64(heard)
}

func (c *channel) weighed() bool {
	any := false
	for _, b := range c.bags {
		any = any || b.Weighed
		b.Weighed = false
	}
	return any
}

// alike is by how much the bags of a channel repeat each other: a sky that
// nobody measures dries all of them together, as a dry channel would. It is 1
// where the reference errs by no more than its method, and their number where
// it is all that errs: the variance of a mean of equally correlated errors.
func (c *channel) alike(bags int) float64 {
	if bags < 2 {
		return 1
	}
	shared := c.shared()
	return 1 + float64(bags-1)*shared/(shared+sq(demandScatter))
}

// but says that a bag is another one.
func but(b *bag) func(o *bag) bool { return func(o *bag) bool { return o != b } }

// elsewhere says that a bag lies over another channel.
func (c *channel) elsewhere(o *bag) bool { return o.channel != c.bags[0].channel }

// othersSigma is how far above the average of the others a bag must be to be out
// of their number: near its limit one bag shows a hot day more than the next.
const othersSigma = 2.0

// others is the most that other bags of the reservoir say, as a rule, for a fault
// of their own wicks: what speaks for all of them speaks for the weather, or
// against what the model makes of the house. says is what one of them does, if
// anything; what is asked is the mean of so many bags, which is surer than one
// where the sky is measured and each errs in its own way. Over an exhausted
// reservoir it is no rival: all channels run dry together there.
func (c *channel) others(bags int, among func(o *bag) bool, says func(o *bag) (llr float64, ok bool)) float64 {
	b := c.bags[0]
	if b.source.exhausted() {
		return 0
	}
	var n, sum, squares float64
	for _, o := range b.source.bags {
		if o.Lost || o.Cut || !among(o) {
			continue
		}
		if llr, ok := says(o); ok {
			n, sum, squares = n+1, sum+llr, squares+sq(llr)
		}
	}
	if n < 2 {
		return 0
	}
	mean := sum / n
	sigma := othersSigma
	if bags > 1 && c.shared() == 0 {
		sigma /= math.Sqrt(float64(bags))
	}
	return math.Max(0, mean+sigma*math.Sqrt(math.Max(0, squares/n-sq(mean))))
}

// says is what a bag says for an explanation since then.
func says(kind model.Cause, since time.Time) func(o *bag) (float64, bool) {
	return func(o *bag) (float64, bool) {
		return o.evidence(since.Truncate(rivalEvery), kind)
	}
}

// declining is what a bag says for wicks that clog.
func declining(o *bag) (float64, bool) {
	return o.Keen.LLR, !o.wickGone() && o.heard() && !o.Keen.State.Time.IsZero()
}

// methodErrs is the relative error of a reference from which nothing is
// missing: by it bags err each in its own way.
const methodErrs = 0.15

// shared is the variance of the demand of an hour, relative, that all bags have
// in common and nobody measures; over an exhausted reservoir none is, for all
// channels run dry together there.
func (c *channel) shared() float64 {
	b := c.bags[0]
	if b.source.exhausted() {
		return 0
	}
	_, rung := b.weather.reference(b.Roll.Time.Add(-10*time.Minute), b.Roll.Time)
	return math.Max(0, sq(rung.RelativeError())-sq(methodErrs))
}

// judgeDry looks, for every launch of rivals, at the sum of what the bags say
// for a supply that is gone since then, or that failed as a lost wick's does: a
// channel may leave some of its wicks in a puddle.
func (c *channel) judgeDry() bool {
	var best voices
	since, found := time.Time{}, model.Cause("")
	for _, kind := range []model.Cause{model.CauseChannelDry, model.CauseWickLostContact} {
		for _, g := range c.launches() {
			v := c.hear(kind, g)
			// The youngest of the starts that explain it about equally well.
			if v.decisive && (v.LLR > best.LLR+equal || since.IsZero() || v.LLR > best.LLR-equal && g.After(since)) {
				v.LLR = math.Max(best.LLR, v.LLR)
				best, since, found = v, g, kind
			}
		}
	}
	if since.IsZero() || c.bags[0].source.feeds(c.channel.ID, since) {
		return false
	}
	c.Voices = best
	c.cut(since, found)
	return true
}

// hear adds up what the bags say for an explanation since a launch.
func (c *channel) hear(kind model.Cause, since time.Time) (v voices) {
	sum, most := 0.0, 0.0
	for _, b := range c.bags {
		if b.Lost || !b.speaks() {
			continue
		}
		v.Heard++
		if b.wickGone() && since.Sub(b.Since).Abs() <= sameTime {
			sum, most = sum+decisive, math.Max(most, decisive)
			v.Agree++
		} else if llr, ok := b.evidence(since, kind); ok {
			sum, most = sum+llr, math.Max(most, llr)
			if llr > 1 {
				v.Agree++
			}
		}
	}
	alike, others := c.alike(v.Heard), c.others(v.Heard, c.elsewhere, says(kind, since))
	v.LLR, most = (sum-float64(v.Heard)*others)/alike, math.Max(0, most-others)/alike
	// One bag's wick is no channel: the others must speak for themselves.
	v.decisive = v.Heard >= 2 && v.LLR > decisive && v.LLR-most > decisive/2 && float64(v.Agree) >= together*float64(v.Heard)
	return v
}

func (c *channel) cut(since time.Time, kind model.Cause) {
	c.Dry, c.Since = true, since
	more := 0.0
	var anew []*bag
	for _, b := range c.bags {
		b.catchUp()
		health := math.Max(b.Base.X[iHealth], math.Log(weakened))
		if r, ok := b.rivalOf(since, kind); ok {
			more += b.yield(r)
			anew = append(anew, b)
		} else {
			b.keepSound(b.asIs(b.Base.Time))
		}
		b.Base.X[iHealth], b.Base.P = health, b.Base.P.forget(iHealth, sq(priorHealth))
		b.Roll = b.Base
		b.compareAnew()
		b.Cut, b.CutFrom = true, since
		if b.wickGone() {
			b.Cause = ""
		}
	}
	c.bags[0].source.reconsider(since, more, anew...)
}

// catchUp has a bag of which nothing is heard go on from where the model has brought
// it: what is concluded of its channel now says nothing of the days before.
func (b *bag) catchUp() {
	if b.Roll.Time.Sub(b.Base.Time) > staleAfter {
		b.Base = b.Roll
	}
}

// judgeRefilled ends a dry channel when its bags drink again.
func (c *channel) judgeRefilled() {
	sum, agree, heard := 0.0, 0, 0
	for _, b := range c.bags {
		if b.Lost || !b.speaks() {
			continue
		}
		heard++
		if r, ok := b.best(causeRestored); ok {
			sum += r.LLR
			if r.LLR > 1 {
				agree++
			}
		}
	}
	if heard == 0 || sum < decisive || float64(agree) < together*float64(heard) {
		return
	}
	c.Dry, c.Since, c.Voices = false, time.Time{}, voices{}
	var since time.Time
	var anew []*bag
	more := 0.0
	for _, b := range c.bags {
		b.catchUp()
		if r, ok := b.best(causeRestored); ok && r.LLR > 0 && b.speaks() {
			more += b.yield(r)
			anew = append(anew, b)
			b.Dried = r.From
			if since.IsZero() || r.Start.Before(since) {
				since = r.Start
			}
		} else {
			b.Dried = b.Base.X[iStorage]
			b.Base = b.resumed(b.Base)
			b.Roll = b.Base
			more += b.recall()
		}
		b.Cut = false
		b.compareAnew()
		b.Mended = b.Base.Time
	}
	c.bags[0].source.mended(since, more, anew...)
}

// launches lists the hours at which rivals were started, oldest first.
func (c *channel) launches() []time.Time {
	var grids []time.Time
	for _, b := range c.bags {
		for _, r := range b.Rivals {
			g := r.Start.Truncate(rivalEvery)
			if !contains(grids, g) {
				grids = append(grids, g)
			}
		}
	}
	slices.SortFunc(grids, time.Time.Compare)
	return grids
}

func contains(list []time.Time, t time.Time) bool {
	for _, e := range list {
		if e.Equal(t) {
			return true
		}
	}
	return false
}

// heard says that readings of the bag were weighed of late. What they said before its
// probe fell silent says nothing of now, and is begun anew when it is heard again.
func (b *bag) heard() bool { return b.Roll.Time.Sub(b.Spoke) <= dipBlock }

// speaks says that they are weighed against rivals.
func (b *bag) speaks() bool { return len(b.Rivals) > 0 && b.heard() }

func (b *bag) rivalOf(grid time.Time, kind model.Cause) (rival, bool) {
	for _, r := range b.Rivals {
		if r.Kind == kind && r.Start.Truncate(rivalEvery).Equal(grid) {
			return r, true
		}
	}
	return rival{}, false
}

func (b *bag) evidence(grid time.Time, kind model.Cause) (float64, bool) {
	r, ok := b.rivalOf(grid, kind)
	return r.LLR, ok
}
