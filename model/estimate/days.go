package estimate

import (
	"math"
	"time"

	"wickd/model"
)

// stopped reports that the plants stopped drinking, and starved that the wicks
// lost contact: as a rival that began at the latest block that tells it as well.
func (b *bag) stopped() (rival, bool) {
	found := b.byDips(mStopped, func(d *dip) rival { return d.Stopped })
	return found.rival, found.Kind != ""
}

func (b *bag) starved() (dipped, bool) {
	found := b.byDips(mLost, func(d *dip) rival { return d.Lost })
	return found, found.Kind != ""
}

// dipped is a rival that the pattern of days speaks for, and the share of that
// pattern since it began and in the last hours.
type dipped struct {
	rival
	Whole, Lately float64
}

// cause is lost contact where the whole pattern came at once, clogging where
// there is more of it from day to day. The bounds lie between what the wicks of
// the twin study showed: lost ones 0.95 to 1.3 and no more lately, clogging ones
// 0.65 to 0.75 and half as much again lately.
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

// byDips is what the pattern of days says for an explanation, over all launches
// and beginnings: of no kind where it is not decisive.
func (b *bag) byDips(pattern int, of func(*dip) rival) dipped {
	best := dipped{rival: rival{LLR: decisiveDips}}
	if !b.DaysDue {
		return best
	}
	_, rung := b.weather.reference(b.Base.Time.Add(-time.Hour), b.Base.Time)
	scatter := math.Max(dipScatter, rung.RelativeError())
	for n := range b.Dips {
		d := &b.Dips[n]
		if pattern == mLost && d.Deepest > dipShallow {
			continue
		}
		var sum moments
		for i := len(d.Blocks) - 1; i >= 0; i-- {
			sum.include(d.Blocks[i])
			since := d.Start.Add(time.Duration(i) * dipBlock)
			lasted := d.Held.At.Sub(since).Hours() / 24
			if lasted < dipDays {
				continue
			}
			k, llr := b.shows(d, i, sum, pattern, lasted, scatter, best.LLR)
			if llr > best.LLR {
				best = dipped{rival: of(d), Whole: k}
				best.Start, best.LLR = since, llr
				best.Booked = uptakes{} // the copy is older than the fault
				best.Lately, _ = b.lately(d, 2, pattern)
			}
		}
	}
	return best
}

// shows is the share of a pattern that the readings since a block show, whose moments
// and length in days are given, beyond what the other bags show of it, and the
// log-likelihood of the whole pattern against one as before: 0 where that cannot exceed
// least, or where it cannot be told.
func (b *bag) shows(d *dip, block int, sum moments, pattern int, lasted, scatter, least float64) (k, llr float64) {
	k, sd := sum.share(pattern, b.Noise.Variance, d.warm(pattern))
	if pattern == mLost {
		sd = math.Hypot(sd, b.feignedByHeight()/math.Sqrt(sum.spread(pattern)/sum[mOne][mOne]))
	}
	// Days scatter each in its own way. What a bag near its limit was given for
	// demand and wicks adds up, alike on all of them.
	chance := sq(scatter)/lasted + d.Unlearnt
	if d.Deepest > dipShallow {
		chance += b.Base.P[iDemand][iDemand]
	}
	chance *= sum.spread(mStopped) / sum.spread(pattern)
	// Others show seldom less than nothing of it: what they say is asked for
	// only where it can matter.
	if k <= least*(sd*sd+chance) {
		return k, 0
	}
	others, differ, ok := b.shownByOthers(d, block, pattern)
	if k -= others; k > dipFeigned || !ok && !b.source.seesSky(b.Base.Time) {
		return k, 0
	}
	return k, (2*k - 1) / 2 / (sd*sd + differ + chance)
}

// lately is the share of a pattern in the last blocks, the open one with them.
func (b *bag) lately(d *dip, blocks, pattern int) (k, sd float64) {
	return d.since(len(d.Blocks)-blocks).share(pattern, b.Noise.Variance, d.warm(pattern))
}

// dipsDeepen says that the last day dips as deep as it would with wicks of a
// health, or that it cannot be told: a probe that drifts falls like one whose
// wicks clog, but dips no deeper. The dip goes with the resistance of the wicks,
// the inverse of their health.
func (b *bag) dipsDeepen(lnHealth float64) bool {
	for n := range b.Dips {
		d := &b.Dips[n]
		if len(d.Blocks) < 3 {
			continue
		}
		k, sd := b.lately(d, 3, mLost)
		asked := math.Expm1(d.Held.LnHealth-lnHealth) / math.Expm1(-math.Log(lostShare))
		return k+keenSigma*sd > math.Min(1, asked)
	}
	return true
}

// shownByOthers is the share of a pattern that the other bags of the reservoir
// show on the average since then — a dull spell that nobody measures — and the
// variance by which one of them may differ from that average beyond its own
// error: near its limit a bag answers to the same sky otherwise than one that is
// well fed. It is not ok where there are others, but too few that can tell.
func (b *bag) shownByOthers(d *dip, block, pattern int) (mean, differ float64, ok bool) {
	var all shares
	for _, o := range b.source.bags {
		if o == b || o.Cut || o.Cause != "" {
			continue
		}
		if k, sd, known := o.shownSince(d, block, pattern); known && sd < dipTells {
			all = append(all, share{k, sq(sd)})
		}
	}
	if len(all) < 2 {
		return 0, 0, len(b.source.bags) <= 2
	}
	between := all.between()
	mean, variance := all.mean(between)
	return mean, between + variance, true
}

// dipTells is the standard deviation of a share beyond which a bag cannot tell
// the pattern from none of it.
const dipTells = 1.0

// share is one bag's share of a pattern, and the variance of its error.
type share struct{ K, Variance float64 }

type shares []share

// mean weighs each by its error and by how much they differ (DerSimonian & Laird
// 1986, Controlled Clinical Trials 7:177).
func (s shares) mean(between float64) (mean, variance float64) {
	var weight, sum float64
	for _, o := range s {
		w := 1 / (o.Variance + between)
		weight, sum = weight+w, sum+w*o.K
	}
	return sum / weight, 1 / weight
}

// between is the variance by which they differ beyond their errors: that of the
// sample less the mean of those (Hedges 1983, Psychological Bulletin 93:388).
func (s shares) between() float64 {
	var sum, squares, errors float64
	for _, o := range s {
		sum, squares, errors = sum+o.K, squares+sq(o.K), errors+o.Variance
	}
	n := float64(len(s))
	return math.Max(0, (squares-sum*sum/n)/(n-1)-errors/n)
}

// dipAlike is by how much the starts of copies of one launch differ: bags are
// read one after the other.
const dipAlike = time.Hour

// shownSince is the share of a pattern since a block of the copies that
// were launched with d: copies of another time would have other demands to hold,
// and other blocks.
func (b *bag) shownSince(d *dip, block, pattern int) (k, sd float64, known bool) {
	for n := range b.Dips {
		own := &b.Dips[n]
		if own.Start.Sub(d.Start).Abs() > dipAlike || block >= len(own.Blocks) {
			continue
		}
		if k, sd = own.since(block).share(pattern, b.Noise.Variance, own.warm(pattern)); !math.IsInf(sd, 0) {
			return clamp(k, -dipFeigned, dipFeigned), sd, true
		}
	}
	return 0, 0, false
}
