package estimate

import (
	"math"
	"slices"
	"time"
)

// breach is the reservoir's filter under the explanation that the unexplained
// draw changed at Start — a leak began, or was mended: the same filter with
// that draw set free there. It is the generalised likelihood ratio test of
// Willsky & Jones (1976, IEEE Trans. Automatic Control 21:108). The random walk
// of the filter itself follows slow changes only.
type breach struct {
	Start time.Time
	X     vector
	P     matrix
	// Still is the filter that holds the unexplained draw to what it was at
	// Start: the filter itself would follow a leak by and by, and leave its rival
	// little to explain better.
	Still vector
	Tight matrix // covariance of Still
	// Thirsty is the filter that holds that draw, too, and has the plants drink by
	// another measure since Start, as under a sun sensor that came into the shade. By
	// day it looks like a leak, by night it does not.
	Thirsty   vector
	Open      matrix  // covariance of Thirsty
	ThirstLLR float64 // log-likelihood of the levels since Start, less that of Still
	Then      known   // what was believed at Start
	From      float64 // unexplained draw that the filter had at Start, L/h
	Scale     float64 // mean draw at Start, L/h
	Tally     tally
	LLR       float64 // log-likelihood of the levels since Start, less that of Still
}

const (
	// A rival starts every breachEvery, and lives long enough for a leak of a
	// tenth, which differs from the whims of a few days by going on.
	breachEvery = 4 * time.Hour
	breachLife  = 120 * time.Hour
	// breachSize is the prior of what a leak takes, against the mean draw, while it
	// is only suspected: a narrow one finds small leaks early. One that is found may
	// take anything: leakSize.
	breachSize = 0.15
	leakSize   = 0.5
	// thirstSize is the standard deviation, ln, of a change of what all plants drink
	// against what the reference makes expect: half as much or twice.
	thirstSize = 0.7
	// breachClearly is the log-likelihood ratio, ten to one, from which on a leak is
	// taken to be of any size rather than small: of small ones that are found, noise
	// makes most look larger than they are.
	breachClearly = 2.3
	// breachAge is how long a rival must have lived to be believed: a morning
	// that begins earlier than the model's looks like a leak for some hours.
	breachAge = 6 * time.Hour
	// A rival must explain the levels e^breachDecisive times better, and its draw must
	// differ from what was believed by breachSigma standard deviations: one-sided
	// 99.9 %, for some thirty rivals are looked at together. leakSigma is of one figure
	// that nobody picked: one-sided 99 %.
	breachDecisive = 4.0
	breachSigma    = 3.0
	leakSigma      = 2.33
	// breachDays is how many whole days must have been seen: before that the
	// demand of a house is not known well enough to miss water.
	breachDays = 3
	// warmthFeigns is what a kelvin more feigns, as a share of the mean draw: the
	// drying of still air is a tenth to a sixth of what is drunk, grows by a
	// fifteenth a kelvin (FAO-56 eq 11), and is out by a factor of two where
	// nobody measures wind: assumptions but for the fifteenth.
	warmthFeigns = 0.01
	// courseRest is how much of the day's own course is left that its hours do not
	// describe, nor the days before foretell (assumption).
	courseRest = 0.12
	// courseDrift is how much of it may leave at all hours, per √d: what plants drink
	// by night, and what bags go on drawing (assumption, tried on houses with and
	// without).
	courseDrift = 0.1
)

// launchBreaches starts a rival on a fixed grid of hours, once the draw of a
// few days is known.
func (r *reservoir) launchBreaches(t time.Time) {
	kept := r.Breaches[:0]
	for _, b := range r.Breaches {
		if t.Sub(b.Start) <= breachLife {
			kept = append(kept, b)
		}
	}
	r.Breaches = kept
	if len(r.Hours) < 24 || r.Daily.Whole < breachDays {
		return
	}
	grid := t.Truncate(breachEvery)
	if n := len(r.Breaches); n > 0 && !r.Breaches[n-1].Start.Truncate(breachEvery).Before(grid) {
		return
	}
	b := breach{Start: t, X: r.X, P: r.P, Still: r.X, Tight: r.P, Then: r.believed(t), From: r.X[jUnexplained], Scale: r.scale(), Tally: r.Tally}
	b.Still[jUnexplained] = b.Then.Loose
	b.Tight = b.Tight.forget(jUnexplained, 0)
	b.P[jUnexplained][jUnexplained] += sq(breachSize * b.Scale)
	b.Thirsty, b.Open = b.Still, b.Tight
	b.Open[jDay][jDay] += sq(thirstSize)
	r.Breaches = append(r.Breaches, b)
}

// carryBreaches takes the step that the filter is about to take: drawn and
// slope are its own draw and what that gains with the common factor.
func (r *reservoir) carryBreaches(f transition, q vector, drawn, slope, dt, thirst float64) {
	carry := func(x vector) (next vector, more float64) {
		more = slope * (x[jHouse] + x[jDay] - r.X[jHouse] - r.X[jDay])
		x[jVolume] = math.Max(0, x[jVolume]-drawn-more-x[jUnexplained]*dt)
		x[jDay] *= f.keep[jDay]
		return x, more
	}
	held := q
	held[jUnexplained] = 0
	for i := range r.Breaches {
		b := &r.Breaches[i]
		var more float64
		b.Tally = b.Tally.carry(b.P, f, slope, 0, thirst)
		b.X, more = carry(b.X)
		b.Tally.More += more
		b.P = b.P.propagate(f, q)
		b.Still, _ = carry(b.Still)
		b.Tight = b.Tight.propagate(f, held)
		b.Thirsty, _ = carry(b.Thirsty)
		b.Open = b.Open.propagate(f, held)
	}
}

// weighBreaches fuses a level into every rival and its counterpart that holds
// still, and weighs them against each other.
func (r *reservoir) weighBreaches(g gauged) {
	for i := range r.Breaches {
		b := &r.Breaches[i]
		nu, s := g.innovation(b.Still, b.Tight)
		miss, own := g.innovation(b.X, b.P)
		b.LLR += (huber(nu*nu/s) + math.Log(s) - huber(miss*miss/own) - math.Log(own)) / 2
		b.Tally = b.Tally.learn(b.P, g.row, miss, own)
		b.X, b.P, _ = g.fuse(b.X, b.P)
		b.Still, b.Tight, _ = g.fuse(b.Still, b.Tight)
		drunk, spread := g.innovation(b.Thirsty, b.Open)
		b.ThirstLLR += (huber(nu*nu/s) + math.Log(s) - huber(drunk*drunk/spread) - math.Log(spread)) / 2
		b.Thirsty, b.Open, _ = g.fuse(b.Thirsty, b.Open)
	}
}

// judgeBreaches lets the rival that explains the levels best take over, if it does so
// decisively. Where that is water that came in unseen — somebody waters a bag
// from above — nothing takes over: that it ends again is no leak.
func (r *reservoir) judgeBreaches(t time.Time) {
	if r.mending() {
		return
	}
	var best *breach
	for i := range r.Breaches {
		b := &r.Breaches[i]
		if r.differs(b) && t.Sub(b.Start) >= breachAge && b.LLR > breachDecisive && (best == nil || b.LLR > best.LLR) {
			best = b
		}
	}
	if best == nil || !r.credible(best) || r.drunk(best) {
		return
	}
	began := r.began(best)
	r.excuse(began.Start, r.Tally.More-began.Tally.More)
	r.book(began.Tally)
	r.X, r.P, r.Found, r.Breaches = began.X, began.P, best.Then, nil
	r.Found.At = t
	r.News = true
}

// drunk says that plants that came to drink by another measure, whenever that began,
// explain better what a rival misses.
func (r *reservoir) drunk(missed *breach) bool {
	if missed.X[jUnexplained] < missed.Then.Loose {
		return false
	}
	clearly := 0.0
	if r.feedsAtTimes() {
		// What channels were filled up by tells thirst from a leak in none of them.
		clearly = breachDecisive
	}
	return slices.ContainsFunc(r.Breaches, func(b breach) bool { return b.ThirstLLR > missed.LLR-clearly })
}

// began is the rival that is believed or, where the levels clearly speak for a
// larger leak that began later, that one, be it too young to be believed by
// itself: the hours before a leak would count as hours of it, and make it look
// smaller than it is.
func (r *reservoir) began(believed *breach) breach {
	out := *believed
	wide := believed.widened()
	out.P, out.Tally.With = wide.P, wide.Tally.With // how large it is may still be learnt fast
	out.LLR += breachClearly
	side := r.gained(believed) // water that came in is no larger leak
	for i := range r.Breaches {
		if r.Breaches[i].Start.Before(believed.Start) {
			continue
		}
		b := r.Breaches[i].widened()
		if b.LLR > out.LLR && r.differs(&b) && r.gained(&b)*side > 0 {
			out = b
		}
	}
	return out
}

// widened is the rival as it would be had a leak of any size been expected from
// the start, and how well it then explains the levels: the narrow prior is taken
// out as a measurement is, with a negative variance, in favour of the wide one.
func (b *breach) widened() breach {
	out := *b
	narrow, wide := sq(breachSize*b.Scale)+b.Then.Variance, sq(leakSize*b.Scale)+b.Then.Variance
	own := b.P[jUnexplained][jUnexplained]
	if own >= narrow {
		return out // the draw has grown since: nothing of its prior is left
	}
	less := brings(narrow, wide)
	more := b.X[jUnexplained] - b.From
	row := vector{jUnexplained: 1}
	var gain vector
	out.Tally = b.Tally.learn(b.P, row, -more, own+less)
	gain, out.P = b.P.update(row, own+less, less)
	out.X = b.X.less(more, gain)
	// What the levels alone say of it, and how likely that is under either prior.
	said, variance := more*narrow/(narrow-own), own*narrow/(narrow-own)
	likely := func(prior float64) float64 { return -(sq(said)/(variance+prior) + math.Log(variance+prior)) / 2 }
	out.LLR += likely(wide) - likely(narrow)
	return out
}

// known is what was believed of the unexplained draw before it changed, and what
// the house was like.
type known struct {
	Loose    float64 // L/h
	Variance float64
	Usual    float64   // L/h of it that left as a rule,
	Share    float64   // and of the draw
	Bound    float64   // share of the draw that the wicks decided
	Warmth   float64   // of the air over about a day, K
	At       time.Time // of the change
}

// believed is what a leak that began now would differ from. What came in unseen
// ends again, and that is no leak.
func (r *reservoir) believed(t time.Time) known {
	return known{At: t, Usual: r.usualLoose(), Share: r.Nightly.Share, Loose: math.Max(0, r.X[jUnexplained]), Variance: r.P[jUnexplained][jUnexplained], Bound: r.bound(), Warmth: r.Warmth}
}

// gain is by how many standard deviations the unexplained draw now exceeds what
// was believed before. What the course of the day feigns is in both and cancels,
// and so does what misjudged wicks feign, but for what they came to decide since,
// and for what warmer air dries that the reference does not know.
func (r *reservoir) gain(now, variance float64, before known) float64 {
	own := variance + before.Variance
	if before.Share > 0 { // else there was none, or an older version kept it
		now -= before.Share*r.scale() - before.Usual // it grew with the plants
	}
	if now < before.Loose { // that it ends is feigned by nothing
		return (now - before.Loose) / math.Sqrt(own)
	}
	dries := warmthFeigns * math.Max(0, r.Warmth-before.Warmth) * r.scale()
	return (now - before.Loose) / math.Sqrt(own+sq(r.supplyFeigns(r.bound()-before.Bound))+sq(dries)+sq(r.courseFeigns()))
}

func (r *reservoir) gained(b *breach) float64 {
	return r.gain(b.X[jUnexplained], b.P[jUnexplained][jUnexplained], b.Then)
}

// differs says that a rival's draw is not what was believed when it began.
func (r *reservoir) differs(b *breach) bool {
	return math.Abs(r.gained(b)) > breachSigma
}

// credible says that a rival shows more leak than was believed, or less of one
// that was known.
func (r *reservoir) credible(b *breach) bool {
	return r.differs(b) && (r.gained(b) > 0 || b.Then.Loose > breachSigma*math.Sqrt(b.Then.Variance))
}

// leaks says that more leaves than the bags can account for: by the figure
// itself, or by what it gained at once.
func (r *reservoir) leaks() bool {
	now, variance := r.X[jUnexplained], r.P[jUnexplained][jUnexplained]
	if r.Daily.Whole < breachDays && !r.gushing() {
		return false
	}
	return now-r.usualLoose() > leakSigma*r.unexplainedSD() || r.Found.Variance > 0 && r.gain(now, variance, r.Found) > leakSigma
}

// unexplainedSD is of the unexplained draw, L/h.
func (r *reservoir) unexplainedSD() float64 {
	feigned := math.Hypot(math.Hypot(feignUnexplained*(1-(1-nightlyLeft)*r.Nightly.Known)*r.scale(), r.courseFeigns()), r.supplyFeigns(r.bound()))
	return math.Hypot(math.Sqrt(r.P[jUnexplained][jUnexplained]), feigned)
}

// courseFeigns is the standard deviation, L/h, of what a house feigns whose day runs
// otherwise than the model's: the more it does, the less is known of the rest.
func (r *reservoir) courseFeigns() float64 {
	return courseRest * r.Diurnal.height() * r.lastDay()
}

// bound is the share of the draw that does not go with the demand, for there
// the wicks decide.
func (r *reservoir) bound() float64 {
	if !(r.Lifted > 0) {
		return 0
	}
	return clamp(1-r.Thirst/r.Lifted, 0, 1)
}

// supplyFeigns is the standard deviation, L/h, of what misjudged wicks feign
// where they decide a share of the draw.
func (r *reservoir) supplyFeigns(share float64) float64 {
	return supplyError * share * r.scale()
}

// nightly is what leaves a house unexplained as a rule.
type nightly struct {
	Share float64 // of the draw
	Known float64 // how much of nightlyMemory it was learnt over, 0–1
}

// nightlyMemory is over how long it is learnt what leaves a house unexplained as a rule,
// and nightlyMost how much of the draw that may be: plants drink by night, a tenth of
// what they drink by day at the most (common practice: a twentieth to a tenth).
const (
	nightlyMemory = 240.0 // h
	nightlyMost   = 0.1
	// nightlyLeft is how much of what plants and tanks feign is left once it was learnt
	// (assumption).
	nightlyLeft = 0.5
)

// learnNightly follows what leaves unexplained as a rule, as a share of the draw: it
// grows with the plants, which a leak does not. What is known to leak teaches nothing.
func (r *reservoir) learnNightly(dt float64) {
	heard := r.Time.Sub(r.LastGood) <= staleAfter && !r.Stand.Jammed
	if !heard || r.Daily.Whole < breachDays || r.leaks() || r.mayLeak() {
		return
	}
	n, learnt := &r.Nightly, -math.Expm1(-dt/nightlyMemory)
	n.Share += (clamp(r.X[jUnexplained]/r.scale(), 0, nightlyMost) - n.Share) * learnt
	n.Known += (1 - n.Known) * learnt
}

// mayLeak says that a leak that began explains the levels better than none.
func (r *reservoir) mayLeak() bool {
	return slices.ContainsFunc(r.Breaches, func(b breach) bool { return b.LLR > breachClearly && r.gained(&b) > 0 })
}

// usualLoose is what leaves unexplained as a rule, L/h.
func (r *reservoir) usualLoose() float64 { return r.Nightly.Share * r.scale() }
