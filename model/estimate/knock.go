package estimate

import (
	"math"
	"slices"
	"time"

	"wickd/model"
)

// knock is the explanation of a probe that was touched: from one reading on it reads
// less, by an offset that stays, in a bag that goes on as it was. For hours a fall of two
// or three points looks as though the wicks had failed, but it came at once, and water
// leaves a bag no faster than its plants drink.
type knock struct {
	Before state   // of the filter, ahead of the first reading that fell
	Held   rival   // the same, carried on without learning
	Null   float64 // log-likelihood of the readings since then that the filter lacks
	Sum    float64 // of the weights of the readings, each by the inverse of its variance
	Miss   float64 // of what they read beyond Held, weighed so, m³/m³
	Miss2  float64 // of its squares
	// Hours, Hours2 and Rise are of the hours since then, of their squares, and of their
	// products with the miss.
	Hours, Hours2, Rise float64
	// Early and EarlyMiss are Sum and Miss of the readings within an hour of the first.
	First            time.Time
	Early, EarlyMiss float64
	Was              float64 // what the readings before it read beyond the filter, m³/m³
}

const (
	// knockSigma is by how many standard deviations of the difference of two readings one
	// must have fallen: few, as what follows decides.
	knockSigma = 1.0
	// mostKnocks is how many are weighed at once: noise begins one in six readings.
	mostKnocks = 4
	// knockRare is the log-likelihood of a probe that is touched, against one that is not:
	// once a month, among some hundreds of hours (assumption).
	knockRare = 6.0
	// atOnce is the share of the offset of now that must have been there within the first
	// hour (assumption): wicks that failed under thirsty plants begin with a fall, too, and
	// it goes on.
	atOnce = 0.6
	early  = time.Hour
	// lagging is the time over which it is kept how the filter lags behind the readings
	// (assumption).
	lagging = 2 * time.Hour
	// knockAlone is how long a probe that was touched is not taken to be touched again, nor
	// one in a bag whose supply came back: falls that follow one another are of a bag that
	// dries (assumption).
	knockAlone = 3 * 24 * time.Hour
)

// offset is how much more the probe reads, m³/m³.
func (k *knock) offset() float64 { return k.Miss / k.Sum }

// llr is the log-likelihood ratio of a touched probe against the filter, at the offset
// that explains the readings best.
func (k *knock) llr() float64 {
	if k.Sum <= 0 {
		return -knockRare
	}
	return k.Null - (k.Miss2-k.Miss*k.Miss/k.Sum)/2 - knockRare
}

// steady says that the readings departed at once and not little by little: a line through
// what they read beyond Held begins about where it ends, and so did their first hour, but
// for what they had read less before: a filter lags behind a bag that dries.
func (k *knock) steady() bool {
	spread := k.Hours2 - sq(k.Hours)/k.Sum
	if !(spread > 0) {
		return false // one reading tells no course
	}
	slope := (k.Rise - k.Hours*k.offset()) / spread
	first := k.offset() - slope*k.Hours/k.Sum
	last := first + slope*k.Held.At.Sub(k.Held.Start).Hours()
	least := math.Max(first, k.EarlyMiss/k.Early-math.Min(0, k.Was)) // of the fall
	return least < 0 && least < atOnce*last
}

// feel begins to weigh a touched probe where a reading fell, before it is learnt from.
func (b *bag) feel(t time.Time, y float64) {
	b.Knocks = slices.DeleteFunc(b.Knocks, func(k knock) bool { return t.Sub(k.Held.Start) > rivalLife })
	if b.failing() || b.Lost || !b.established(t) || t.Sub(b.Touched) < knockAlone || t.Sub(b.Mended) < knockAlone || b.LastY-y < knockSigma*math.Sqrt(2*b.Noise.Variance) {
		return
	}
	if n := len(b.Knocks); n > 0 && b.Knocks[n-1].Held.Start.Equal(b.Base.Time) {
		return // readings are held back
	}
	if len(b.Knocks) >= mostKnocks {
		least := 0
		for i := range b.Knocks {
			if b.Knocks[i].llr() < b.Knocks[least].llr() {
				least = i
			}
		}
		if b.Knocks[least].llr() > 0 {
			return
		}
		b.Knocks = slices.Delete(b.Knocks, least, least+1)
	}
	b.Knocks = append(b.Knocks, knock{Before: b.Base, Held: b.asIs(b.Base.Time), Was: b.Lag})
}

// lags keeps what the readings of some hours read beyond the filter.
func (b *bag) lags(gap time.Duration, nu float64) {
	b.Lag = nu + (b.Lag-nu)*math.Exp(-gap.Hours()/lagging.Hours())
}

// weighKnocks weighs a reading, whose innovation is nu, for every touched probe.
func (b *bag) weighKnocks(t time.Time, y, nu, variance, w float64) {
	for i := range b.Knocks {
		k := &b.Knocks[i]
		k.Held = b.carry(k.Held, t)
		miss := y - b.reads(k.Held)
		k.Null += w * huber(nu*nu/variance) / 2
		k.Sum += w / variance
		k.Miss += w / variance * miss
		k.Miss2 += w / variance * miss * miss
		if k.First.IsZero() {
			k.First = t
		}
		if t.Sub(k.First) <= early {
			k.Early += w / variance
			k.EarlyMiss += w / variance * miss
		}
		hours := t.Sub(k.Held.Start).Hours()
		k.Hours += w / variance * hours
		k.Hours2 += w / variance * hours * hours
		k.Rise += w / variance * hours * miss
	}
}

// knocked is the touched probe that explains the readings best.
func (b *bag) knocked() (best *knock) {
	for i := range b.Knocks {
		if k := &b.Knocks[i]; k.steady() && (best == nil || k.llr() > best.llr()) {
			best = k
		}
	}
	return best
}

// mayBeTouched says that a touched probe explains the readings better than all being well.
// Their course is not asked for yet: of few readings it tells little.
func (b *bag) mayBeTouched() bool {
	return slices.ContainsFunc(b.Knocks, func(k knock) bool { return k.llr() > 0 })
}

// touched says which touched probe explains the readings decisively better than all
// being well, and better than wicks that failed, too: by much, but where readings that are
// held back can be held no longer.
func (b *bag) touched(last bool) (*knock, bool) {
	k := b.knocked()
	if k == nil || b.Cut || k.llr() <= decisive || !anotherSpot(k.offset(), k.Before.X[iOffset], b.reads(k.Held)+k.offset()) {
		return nil, false
	}
	least := decisive / 2
	if last {
		least = 0
	}
	lost, ok := b.best(model.CauseWickLostContact)
	return k, (!ok || k.llr()-lost.LLR > least) && b.fallsAlone()
}

// fallsAlone says that no other bag of the reservoir falls as though it were without
// supply: a hand touches one probe.
func (b *bag) fallsAlone() bool {
	return !slices.ContainsFunc(b.source.bags, func(o *bag) bool {
		if o == b || o.Lost || !o.speaks() {
			return false
		}
		lost, ok := o.best(model.CauseWickLostContact)
		return ok && lost.LLR > decisive/3
	})
}

// perhapsTouched says that a touched probe explains the readings nearly as well as wicks
// that failed do.
func (b *bag) perhapsTouched(lost rival) bool {
	k := b.knocked()
	return k != nil && lost.LLR-k.llr() < decisive/3 && b.fallsAlone()
}

// reseat takes over what a touched probe makes of its bag: as it was before, with an offset
// that all readings since then tell.
func (b *bag) reseat(k *knock) {
	at := b.Base.Time
	if at.Before(k.Held.At) { // readings since then were held back
		at = k.Held.At
	}
	s := k.Before
	s.P[iOffset][iOffset] += sq(spotsDiffer)
	s = b.advance(s, at, driftHealth)
	h := b.row(s.Time)
	variance := s.P.quadratic(h) + 1/k.Sum
	gain, p := s.P.update(h, variance, 1/k.Sum)
	s = s.take(h, k.offset(), variance, gain, p)
	booked := b.advance(b.Base, at, driftHealth) // whose litres the hours since then have
	s.Uptake, s.Potential = booked.Uptake, booked.Potential
	b.rebook(&s, b.carry(k.Held, at))
	b.Base, b.Roll, b.Touched = s, s, s.Time
	b.Resets++
	b.compareAnew()
	b.recall()
}
