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
	Blocks        []moments // of dipBlock each from Start on, the last still open
}

// moments are sums over readings: of their weights, of the dip d, of the
// departure r of the readings from Held, and of the products.
type moments struct {
	N, D, R, DD, DR, RR float64
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
	return moments{m.N + o.N, m.D + o.D, m.R + o.R, m.DD + o.DD, m.DR + o.DR, m.RR + o.RR}
}

func (m moments) add(w, d, r float64) moments {
	return m.with(moments{w, w * d, w * r, w * d * d, w * d * r, w * r * r})
}

// missing is the share of the dip that is missing — 0: all is as before, 1:
// nothing is drunk — with its standard deviation, for readings with a noise
// variance of at least noise.
func (m moments) missing(noise float64) (k, sd float64) {
	spread := m.DD - m.D*m.D/m.N
	if !(spread > 0) {
		return 0, math.Inf(1)
	}
	k = (m.DR - m.D*m.R/m.N) / spread
	rest := (m.RR - m.R*m.R/m.N - k*k*spread) / m.N
	return k, math.Sqrt(math.Max(noise, rest) / spread)
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
		*last = last.add(w, (d.Stopped.S-d.Held.S)/b.volume(), y-d.Held.S/b.volume())
		kept = append(kept, d)
	}
	b.Dips = kept
	if b.Cut || b.Cause != "" || !b.established(t) || b.Lost {
		return
	}
	if n := len(b.Dips); n == 0 || b.Dips[n-1].Start.Truncate(dipEvery).Before(t.Truncate(dipEvery)) {
		now := b.asIs(t)
		b.Dips = append(b.Dips, dip{Start: t, Held: now, Stopped: now.assume(model.CauseNotDrinking)})
	}
}

// stopped reports that the plants stopped drinking, as a rival that began when
// they did, at the latest block that tells it as well.
func (b *bag) stopped() (rival, bool) {
	best, llr := rival{}, decisiveStopped
	for _, d := range b.Dips {
		var sum moments
		for i := len(d.Blocks) - 1; i >= 0; i-- {
			sum = sum.with(d.Blocks[i])
			since := d.Start.Add(time.Duration(i) * dipBlock)
			days := d.Held.At.Sub(since).Hours() / 24
			if days < dipDays {
				continue
			}
			k, sd := sum.missing(b.Noise.Variance)
			k -= b.missedByOthers(since)
			if k > dipFeigned {
				continue
			}
			// The likelihood of a dip that is gone against one as before.
			if l := (2*k - 1) / 2 / (sd*sd + sq(dipScatter)/days); l > llr {
				best, llr = d.Stopped, l
				best.Start = since
			}
		}
	}
	return best, best.Kind != ""
}

// missedByOthers is the share of the dip that the other bags of the reservoir
// miss on the average since then: a dull spell that nobody measures.
func (b *bag) missedByOthers(since time.Time) float64 {
	if b.source == nil {
		return 0
	}
	sum, n := 0.0, 0
	for _, o := range b.source.bags {
		if o == b || o.Cut || o.Cause != "" {
			continue
		}
		if k, ok := o.missedSince(since); ok {
			sum += k
			n++
		}
	}
	if n < 2 {
		return 0
	}
	return sum / float64(n)
}

// missedSince is the share of the dip missing since about then, by the oldest
// copies that were there.
func (b *bag) missedSince(since time.Time) (float64, bool) {
	for _, d := range b.Dips {
		first := int(since.Sub(d.Start) / dipBlock)
		if since.Before(d.Start.Add(-dipBlock/2)) || first >= len(d.Blocks) {
			continue
		}
		var sum moments
		for _, m := range d.Blocks[max(0, first):] {
			sum = sum.with(m)
		}
		if k, sd := sum.missing(b.Noise.Variance); !math.IsInf(sd, 0) {
			return clamp(k, -dipFeigned, dipFeigned), true
		}
	}
	return 0, false
}
