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
	Start               time.Time
	Held, Stopped, Lost rival
	WarmVariance        float64   // of the coefficient of warmth that all were given
	Unlearnt            float64   // variance of the demand that all were given, beyond what one bag's may differ from the others'
	Deepest             float64   // water content, m³/m³, that Held lacked most of what it has at rest
	Blocks              []moments // of dipBlock each from Start on, the last still open
}

const (
	// dipEvery starts three copies, dipLife ends them: plants grow, and the
	// demand that was true at Start is another one after a week.
	dipEvery, dipLife = 48 * time.Hour, 144 * time.Hour
	dipBlock          = 12 * time.Hour
	// dipDays is the least to judge by: a whole day and its night.
	dipDays = 1.0
	// dipScatter is by how much one day's dip of a sound bag differs from
	// what its reference makes of it, relative.
	dipScatter = 0.25
	// dipShallow is the lack of water, m³/m³, beyond which a bag is not well fed:
	// near its limit a tenth of misjudged supply adds up from day to day to what
	// looks like wicks that failed, and one whose wicks fail shows it in hours.
	dipShallow = 0.04
	// The water of a bag is taken to be at rest, and in a tall one it takes hours to
	// come to it: by day its top lacks what the wicks have brought to its base, and it
	// seems to dip as with lost wicks. From tubes of dipTall, mm, on that grows with the
	// square of what they are taller by, to dipTallest at dipSpan more (assumptions, set
	// on columns of five layers; a tube of the study is 130 mm thick).
	dipTall, dipSpan = 120.0, 100.0
	dipTallest       = 0.0018 // m³/m³
	// dipFeigned bounds the missing share that plants can explain: more is
	// a probe that reads high when it is warm.
	dipFeigned = 1.8
)

// watchDips carries the copies on to a reading.
func (b *bag) watchDips(t time.Time, y float64) {
	w := math.Min(1, t.Sub(b.LastGood).Seconds()/evidenceGap.Seconds())
	b.DaysDue = t.Truncate(time.Hour).After(b.LastGood)
	kept := b.Dips[:0]
	for _, d := range b.Dips {
		if t.Sub(d.Start) > dipLife {
			continue
		}
		d.Held, d.Stopped, d.Lost = b.carry(d.Held, t), b.carry(d.Stopped, t), b.carry(d.Lost, t)
		rest := b.physics.Hydraulic.Store.Equilibrium(b.physics.Lift)
		d.Deepest = math.Max(d.Deepest, (rest-d.Held.S)/b.volume())
		for len(d.Blocks) <= int(t.Sub(d.Start)/dipBlock) {
			d.Blocks = append(d.Blocks, moments{})
		}
		d.Blocks[len(d.Blocks)-1].add(w, terms{
			mOne:     1,
			mStopped: (d.Stopped.S - d.Held.S) / b.volume(), mLost: (d.Lost.S - d.Held.S) / b.volume(),
			mWarmth: b.excess(t), mTime: t.Sub(d.Start).Hours() / 24,
			mDeparture: y - b.reads(d.Held),
		})
		kept = append(kept, d)
	}
	b.Dips = kept
}

// launchDips starts new copies on a fixed grid of days.
func (b *bag) launchDips(t time.Time) {
	if b.Cut || b.Cause != "" || !b.established(t) || b.Lost {
		return
	}
	if n := len(b.Dips); n == 0 || b.Dips[n-1].Start.Truncate(dipEvery).Before(t.Truncate(dipEvery)) {
		now := b.asIs(t)
		b.Dips = append(b.Dips, dip{
			Start: t, WarmVariance: b.Base.P[iWarm][iWarm], Unlearnt: math.Max(0, b.Base.P[iDemand][iDemand]-sq(priorDemand)), Held: now,
			Stopped: now.assume(model.CauseNotDrinking), Lost: now.assume(model.CauseWickLostContact),
		})
	}
}

// feignedByHeight is the standard deviation, m³/m³, of what the height of a bag feigns
// of a dip.
func (b *bag) feignedByHeight() float64 {
	return dipTallest * math.Min(1, sq(math.Max(0, b.physics.Bag.Diameter-dipTall)/dipSpan))
}

// since adds up the blocks from one on.
func (d *dip) since(block int) (sum moments) {
	for _, m := range d.Blocks[max(0, block):] {
		sum.include(m)
	}
	return sum
}

// warm is the variance of warmth that a pattern stands beside. A probe whose
// warmth is not that of the air feigns a deeper dip, and seldom exactly the one
// that is there; one that reads less when it is warm dips without plants, and no
// more when dull days come: there nothing that was learnt of it counts.
func (d *dip) warm(pattern int) float64 {
	least := 2 * priorWarm
	if pattern == mLost {
		least = priorWarm / 2
	}
	return math.Max(d.WarmVariance, sq(least))
}
