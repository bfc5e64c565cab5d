package estimate

import (
	"math"
	"time"

	"wickd/model"
)

// dip looks for what changes the day's dip of the water content: plants that
// stopped drinking, whose dip is gone, and wicks that lost contact, whose bag
// dips deeper by day and by night is filled again. In a well-fed bag either is
// as small as a probe's noise: only the pattern of days tells. Copies of the bag
// are carried on from Start without learning, one as it was and one under each
// explanation; what lies between them is the pattern. The readings less Held
// are regressed on it, with an intercept, so that a probe that moved by a
// constant explains nothing.
type dip struct {
	Start         time.Time
	Held          rival
	Stopped, Lost pattern
}

// pattern is a copy under an explanation, and its regression in blocks of
// dipBlock each from the start on, the last still open.
type pattern struct {
	Copy         rival
	WarmVariance float64 // of the coefficient of warmth that it was given
	Blocks       []moments
}

// moments are sums over readings of the products of what is regressed.
type moments [5][5]float64

// What is regressed: a constant, the dip d, the probe's excess warmth, the time
// since the start in days, and the departure of the readings from Held.
const (
	mOne = iota
	mDip
	mWarmth
	mTime
	mDeparture
)

const (
	// dipEvery starts a pair of copies, dipLife ends it: plants grow, and the
	// demand that was true at Start is another one after a week.
	dipEvery, dipLife = 48 * time.Hour, 144 * time.Hour
	dipBlock          = 12 * time.Hour
	// dipDays is the least to judge by: a whole day and its night.
	dipDays = 1.0
	// dipScatter is by how much one day's dip of a sound bag differs from
	// what its reference makes of it, relative.
	dipScatter = 0.25
	// dipFeigned bounds the missing share that plants can explain: more is
	// a probe that reads high when it is warm.
	dipFeigned = 1.8
	// driftFeigned is the standard deviation of a probe's drift, m³/m³ per day,
	// that is no dip.
	driftFeigned = 0.005
)

func (m moments) with(o moments) moments {
	for i := range m {
		for j := range m[i] {
			m[i][j] += o[i][j]
		}
	}
	return m
}

// add takes a reading of weight w.
func (m moments) add(w, d, warmth, days, departure float64) moments {
	z := [5]float64{1, d, warmth, days, departure}
	for i := range m {
		for j := range m[i] {
			m[i][j] += w * z[i] * z[j]
		}
	}
	return m
}

// without takes out what a regressor explains, by Gauss's elimination. A ridge
// — the variance of the noise over that of the coefficient's prior — leaves in
// what the prior does not allow it to explain.
func (m moments) without(p int, ridge float64) moments {
	pivot := m[p]
	if !(pivot[p]+ridge > 0) {
		return m
	}
	for i := range m {
		for j := range m[i] {
			m[i][j] -= pivot[i] * pivot[j] / (pivot[p] + ridge)
		}
	}
	return m
}

// missing is the share of the dip that is missing — 0: all is as before, 1:
// nothing is drunk — with its standard deviation, for readings with a noise
// variance of at least noise. Warmth may explain what its coefficient's
// variance allows, and a drift of the probe what driftFeigned does.
func (m moments) missing(noise, warm float64) (k, sd float64) {
	n := m[mOne][mOne]
	m = m.without(mOne, 0)
	if !(m[mDip][mDip] > 0) {
		return 0, math.Inf(1)
	}
	noise = math.Max(noise, (m[mDeparture][mDeparture]-sq(m[mDip][mDeparture])/m[mDip][mDip])/n)
	if warm > 0 {
		m = m.without(mWarmth, noise/warm)
	}
	m = m.without(mTime, noise/sq(driftFeigned))
	return m[mDip][mDeparture] / m[mDip][mDip], math.Sqrt(noise / m[mDip][mDip])
}

// watchDips carries the copies on to a reading and starts new ones.
func (b *bag) watchDips(t time.Time, y float64) {
	w := math.Min(1, t.Sub(b.LastGood).Seconds()/evidenceGap.Seconds())
	kept := b.Dips[:0]
	for _, d := range b.Dips {
		if t.Sub(d.Start) > dipLife {
			continue
		}
		d.Held = b.carry(d.Held, t)
		for _, p := range []*pattern{&d.Stopped, &d.Lost} {
			p.Copy = b.carry(p.Copy, t)
			for len(p.Blocks) <= int(t.Sub(d.Start)/dipBlock) {
				p.Blocks = append(p.Blocks, moments{})
			}
			last := &p.Blocks[len(p.Blocks)-1]
			*last = last.add(w, (p.Copy.S-d.Held.S)/b.volume(), b.excess(t), t.Sub(d.Start).Hours()/24, y-b.reads(d.Held))
		}
		kept = append(kept, d)
	}
	b.Dips = kept
	if b.Cut || b.Cause != "" || !b.established(t) || b.Lost {
		return
	}
	if n := len(b.Dips); n == 0 || b.Dips[n-1].Start.Truncate(dipEvery).Before(t.Truncate(dipEvery)) {
		now := b.asIs(t)
		warm := b.Base.P[iWarm][iWarm]
		b.Dips = append(b.Dips, dip{
			Start: t, Held: now,
			Stopped: pattern{Copy: now.assume(model.CauseNotDrinking), WarmVariance: warm},
			// A probe whose warmth is not that of the air feigns a deeper dip, and
			// seldom exactly the one that is there.
			Lost: pattern{Copy: now.assume(model.CauseWickLostContact), WarmVariance: math.Max(warm, sq(priorWarm)/4)},
		})
	}
}

// stopped reports that the plants stopped drinking, and starved that the wicks
// lost contact: as a rival that began at the latest block that tells it as well.
func (b *bag) stopped() (rival, bool) {
	found := b.byDips(func(d *dip) *pattern { return &d.Stopped })
	return found.rival, found.Kind != ""
}

func (b *bag) starved() (dipped, bool) {
	found := b.byDips(func(d *dip) *pattern { return &d.Lost })
	return found, found.Kind != ""
}

// dipped is a rival that the pattern of days speaks for, and the share of that
// pattern since it began and in the last hours.
type dipped struct {
	rival
	Whole, Lately float64
}

// cause is lost contact where the whole pattern came at once, clogging where
// there is more of it from day to day.
func (d dipped) cause() model.Cause {
	const whole, more, same = 0.9, 1.3, 1.2
	switch {
	case d.Lately > more*d.Whole:
		return model.CauseWickClogging
	case d.Whole >= whole && d.Lately <= same*d.Whole:
		return model.CauseWickLostContact
	}
	return model.CauseUndecided
}

func (b *bag) byDips(of func(*dip) *pattern) dipped {
	best := dipped{rival: rival{LLR: decisiveDips}}
	_, rung := b.weather.reference(b.Base.Time.Add(-time.Hour), b.Base.Time)
	scatter := math.Max(dipScatter, rung.RelativeError())
	for n := range b.Dips {
		d := &b.Dips[n]
		p := of(d)
		var sum, sound moments
		for i := len(p.Blocks) - 1; i >= 0; i-- {
			sum, sound = sum.with(p.Blocks[i]), sound.with(d.Stopped.Blocks[i])
			since := d.Start.Add(time.Duration(i) * dipBlock)
			lasted := d.Held.At.Sub(since).Hours() / 24
			if lasted < dipDays {
				continue
			}
			k, sd := sum.missing(b.Noise.Variance, p.WarmVariance)
			chance := sq(scatter) * sound.spread() / sum.spread() / lasted
			// Others miss seldom less than nothing; half a dip of theirs is allowed for.
			if k <= best.LLR*(sd*sd+chance) {
				continue
			}
			others, differ, ok := b.missedByOthers(d, i, of)
			if k -= others; k > dipFeigned || !ok && scatter > dipScatter {
				continue
			}
			// The likelihood of the whole pattern against one as before.
			if l := (2*k - 1) / 2 / (sd*sd + differ + chance); l > best.LLR {
				best = dipped{rival: p.Copy, Whole: k}
				best.Start, best.LLR = since, l
				best.Lately, _ = p.lately(2, b.Noise.Variance)
			}
		}
	}
	return best
}

// lately is the share of the pattern in the last blocks, the open one with them.
func (p *pattern) lately(blocks int, noise float64) (k, sd float64) {
	var sum moments
	for _, m := range p.Blocks[max(0, len(p.Blocks)-blocks):] {
		sum = sum.with(m)
	}
	return sum.missing(noise, p.WarmVariance)
}

// dipsDeepen says that the last day dips as deep as it would with wicks of a
// health, or that it cannot be told: a probe that drifts falls like one whose
// wicks clog, but dips no deeper. The dip goes with the resistance of the wicks,
// the inverse of their health.
func (b *bag) dipsDeepen(lnHealth float64) bool {
	for n := range b.Dips {
		p := &b.Dips[n].Lost
		if len(p.Blocks) < 3 {
			continue
		}
		k, sd := p.lately(3, b.Noise.Variance)
		asked := math.Expm1(b.Dips[n].Held.LnHealth-lnHealth) / math.Expm1(-math.Log(lostShare))
		return k+keenSigma*sd > math.Min(1, asked)
	}
	return true
}

// spread is the sum of the squares of the pattern about its mean.
func (m moments) spread() float64 { return m.without(mOne, 0)[mDip][mDip] }

// missedByOthers is the share of the dip that the other bags of the reservoir
// miss on the average since then — a dull spell that nobody measures — and the
// variance by which they differ beyond their own errors: near its limit a bag
// answers to the same sky otherwise than one that is well fed. It is not ok
// where there are others, but too few that can tell.
func (b *bag) missedByOthers(d *dip, block int, of func(*dip) *pattern) (mean, differ float64, ok bool) {
	if b.source == nil {
		return 0, 0, true
	}
	var n, sum, squares, errs float64
	for _, o := range b.source.bags {
		if o == b || o.Cut || o.Cause != "" {
			continue
		}
		if k, sd, known := o.missedSince(d, block, of); known {
			n, sum, squares, errs = n+1, sum+k, squares+k*k, errs+sd*sd
		}
	}
	if n < 2 {
		return 0, 0, len(b.source.bags) <= 2
	}
	mean = sum / n
	return mean, math.Max(0, (squares-n*mean*mean)/(n-1)-errs/n), true
}

// missedSince is the share of the dip missing since a block of the copies that
// were launched with d: copies of another day would have other demands to hold.
func (b *bag) missedSince(d *dip, block int, of func(*dip) *pattern) (k, sd float64, known bool) {
	for n := range b.Dips {
		own := &b.Dips[n]
		p := of(own)
		if !own.Start.Truncate(dipEvery).Equal(d.Start.Truncate(dipEvery)) || block >= len(p.Blocks) {
			continue
		}
		var sum moments
		for _, m := range p.Blocks[block:] {
			sum = sum.with(m)
		}
		if k, sd = sum.missing(b.Noise.Variance, p.WarmVariance); !math.IsInf(sd, 0) {
			return clamp(k, -dipFeigned, dipFeigned), sd, true
		}
	}
	return 0, 0, false
}
