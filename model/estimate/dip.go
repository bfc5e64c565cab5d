package estimate

import (
	"math"
	"time"

	"wickd/model"
)

// dip is the explanation that plants stopped drinking. In a well-fed bag they
// leave no more trace than the day's dip of the water content, which a probe's
// noise covers: only the pattern of days tells. Two copies of the bag are
// carried on from Start without learning, Held with the demand as it was and
// Stopped with next to none; what lies between them is the dip. The readings
// less Held are regressed on Stopped less Held, with an intercept, so that a
// probe that moved by a constant explains nothing.
type dip struct {
	Start         time.Time
	Held, Stopped rival
	WarmVariance  float64   // of the coefficient of warmth that both were given
	Blocks        []moments // of dipBlock each from Start on, the last still open
}

// moments are sums over readings: of their weights, of the dip d, of the probe's
// excess warmth h, of the departure r of the readings from Held, and of the
// products.
type moments struct {
	N, D, H, R, DD, DH, HH, DR, HR, RR float64
}

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
)

func (m moments) with(o moments) moments {
	return moments{m.N + o.N, m.D + o.D, m.H + o.H, m.R + o.R, m.DD + o.DD, m.DH + o.DH, m.HH + o.HH, m.DR + o.DR, m.HR + o.HR, m.RR + o.RR}
}

func (m moments) add(w, d, h, r float64) moments {
	return m.with(moments{w, w * d, w * h, w * r, w * d * d, w * d * h, w * h * h, w * d * r, w * h * r, w * r * r})
}

// missing is the share of the dip that is missing — 0: all is as before, 1:
// nothing is drunk — with its standard deviation, for readings with a noise
// variance of at least noise. Warmth may explain what its coefficient's
// variance allows: a ridge regression, the second of two regressors having a
// prior.
func (m moments) missing(noise, warm float64) (k, sd float64) {
	about := func(xy, x, y float64) float64 { return xy - x*y/m.N }
	dd, dh, hh := about(m.DD, m.D, m.D), about(m.DH, m.D, m.H), about(m.HH, m.H, m.H)
	dr, hr, rr := about(m.DR, m.D, m.R), about(m.HR, m.H, m.R), about(m.RR, m.R, m.R)
	if !(dd > 0) {
		return 0, math.Inf(1)
	}
	noise = math.Max(noise, (rr-dr*dr/dd)/m.N)
	if !(warm > 0) {
		return dr / dd, math.Sqrt(noise / dd)
	}
	hh += noise / warm
	det := dd*hh - dh*dh
	return (dr*hh - dh*hr) / det, math.Sqrt(noise * hh / det)
}

// watchDips carries the copies on to a reading and starts new ones.
func (b *bag) watchDips(t time.Time, y float64) {
	w := math.Min(1, t.Sub(b.LastGood).Seconds()/evidenceGap.Seconds())
	kept := b.Dips[:0]
	for _, d := range b.Dips {
		if t.Sub(d.Start) > dipLife {
			continue
		}
		d.Held, d.Stopped = b.carry(d.Held, t), b.carry(d.Stopped, t)
		for len(d.Blocks) <= int(t.Sub(d.Start)/dipBlock) {
			d.Blocks = append(d.Blocks, moments{})
		}
		last := &d.Blocks[len(d.Blocks)-1]
		*last = last.add(w, (d.Stopped.S-d.Held.S)/b.volume(), b.excess(), y-b.reads(d.Held))
		kept = append(kept, d)
	}
	b.Dips = kept
	if b.Cut || b.Cause != "" || !b.established(t) || b.Lost {
		return
	}
	if n := len(b.Dips); n == 0 || b.Dips[n-1].Start.Truncate(dipEvery).Before(t.Truncate(dipEvery)) {
		now := b.asIs(t)
		b.Dips = append(b.Dips, dip{Start: t, Held: now, Stopped: now.assume(model.CauseNotDrinking), WarmVariance: b.Base.P[iWarm][iWarm]})
	}
}

// stopped reports that the plants stopped drinking, as a rival that began when
// they did, at the latest block that tells it as well.
func (b *bag) stopped() (rival, bool) {
	best, llr := rival{}, decisiveStopped
	_, rung := b.weather.reference(b.Base.Time.Add(-time.Hour), b.Base.Time)
	scatter := math.Max(dipScatter, rung.RelativeError())
	for _, d := range b.Dips {
		var sum moments
		for i := len(d.Blocks) - 1; i >= 0; i-- {
			sum = sum.with(d.Blocks[i])
			since := d.Start.Add(time.Duration(i) * dipBlock)
			days := d.Held.At.Sub(since).Hours() / 24
			if days < dipDays {
				continue
			}
			k, sd := sum.missing(b.Noise.Variance, d.WarmVariance)
			// Others miss seldom less than nothing; half a dip of theirs is allowed for.
			if k <= llr*(sd*sd+sq(scatter)/days) {
				continue
			}
			others, differ, ok := b.missedByOthers(since)
			if k -= others; k > dipFeigned || !ok && scatter > dipScatter {
				continue
			}
			// The likelihood of a dip that is gone against one as before.
			if l := (2*k - 1) / 2 / (sd*sd + differ + sq(scatter)/days); l > llr {
				best, llr = d.Stopped, l
				best.Start = since
			}
		}
	}
	return best, best.Kind != ""
}

// missedByOthers is the share of the dip that the other bags of the reservoir
// miss on the average since then — a dull spell that nobody measures — and the
// variance by which they differ beyond their own errors: near its limit a bag
// answers to the same sky otherwise than one that is well fed. It is not ok
// where there are others, but too few that can tell.
func (b *bag) missedByOthers(since time.Time) (mean, differ float64, ok bool) {
	if b.source == nil {
		return 0, 0, true
	}
	var n, sum, squares, errs float64
	for _, o := range b.source.bags {
		if o == b || o.Cut || o.Cause != "" {
			continue
		}
		if k, sd, known := o.missedSince(since); known {
			n, sum, squares, errs = n+1, sum+k, squares+k*k, errs+sd*sd
		}
	}
	if n < 2 {
		return 0, 0, len(b.source.bags) <= 2
	}
	mean = sum / n
	return mean, math.Max(0, (squares-n*mean*mean)/(n-1)-errs/n), true
}

// missedSince is the share of the dip missing since about then, by the oldest
// copies that were there.
func (b *bag) missedSince(since time.Time) (k, sd float64, known bool) {
	for _, d := range b.Dips {
		first := int(since.Sub(d.Start) / dipBlock)
		if since.Before(d.Start.Add(-dipBlock/2)) || first >= len(d.Blocks) {
			continue
		}
		var sum moments
		for _, m := range d.Blocks[max(0, first):] {
			sum = sum.with(m)
		}
		if k, sd = sum.missing(b.Noise.Variance, d.WarmVariance); !math.IsInf(sd, 0) {
			return clamp(k, -dipFeigned, dipFeigned), sd, true
		}
	}
	return 0, 0, false
}
