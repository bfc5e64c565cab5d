package estimate

import (
	"math"
	"time"

	"wickd/model"
	"wickd/model/design"
)

// Prior standard deviations and drifts. Each is a statement about bags and
// probes in general, and a bag's own readings soon outweigh it.
const (
	priorStorage = 0.05  // m³/m³: a bag may have been planted yesterday
	priorHealth  = 0.12  // ln: section, contact and packing of hand-cut wicks
	priorDemand  = 0.16  // ln: plants of one house against each other
	priorProbe   = 0.012 // m³/m³: a calibrated probe in another bag
	priorModel   = 0.015 // m³/m³: equilibrium of the medium as described, common to its bags
	priorPacking = 0.003 // m³/m³: of one bag against the next of the same medium
	startNoise   = 0.010 // m³/m³: white noise of a capacitive probe
	leastNoise   = 0.001 // m³/m³: the resolution in which probes report

	driftStorage = 0.0006 // m³/m³ per √h: what the quick model leaves out
	driftHealth  = 0.015  // per √d: wicks silt up one by one; a fast decline is another explanation, see [keen]
	driftDemand  = 0.04   // per √d: canopies of one house grow apart and are cut
	// driftWaking is that of plants that were found not to drink: seedlings in their
	// stead come to drink as the others do within a month or two (common practice), and
	// the logarithm of next to nothing learns next to nothing. More than mostWaking of a
	// standard deviation it does not make: a factor of three is anything (assumption).
	driftWaking = 0.35
	mostWaking  = 1.1
	driftOffset = 0.0015 // m³/m³ per √d

	// The demand of an hour differs from the reference by passing clouds and
	// drafts: its relative standard deviation, and how long that lasts.
	demandScatter  = 0.25
	scatterPersist = 2 * time.Hour
)

// state is a bag's filter at one time.
type state struct {
	Time      time.Time
	X         vector
	P         matrix
	Uptake    float64 // L since the start
	With      vector  // its covariance with X, L times their units, while the supply has failed
	Potential float64 // L that unstressed plants would have taken
}

// bag is the filter of one bag.
type bag struct {
	physics *design.Bag
	weather *weather
	source  *reservoir // that feeds it
	channel int        // index of its channel in the site

	Base  state // at the last reading that was used
	Roll  state // carried on from Base to the last tick
	Sound state // what was known before the supply failed; zero: it never did

	Sieve    sieve
	Noise    noise
	Readings int       // used
	First    time.Time // of the first used
	LastGood time.Time // of the last used
	Heard    time.Time // of the last looked at
	LastY    float64
	Resets   int

	Suspect  suspicion
	Lost     bool // the probe lost contact
	LostFrom time.Time
	LostY    float64 // what it then read, m³/m³
	Agree    int     // readings that agree again
	Moved    elsewhere

	House float64 // what its own demand is allowed for a house that is not known: a variance, ln

	Cut     bool // the channel under it is dry
	CutFrom time.Time

	Squares float64 // sum of normalised innovations squared
	Fused   int     // readings in it
	Cause   model.Cause
	Since   time.Time
	Doubt   doubt
	Rivals  []rival
	Keen    keen
	Knocks  []knock
	Lag     float64   // what the readings of some hours read beyond the filter, m³/m³
	Touched time.Time // when its probe was last found to have been touched; zero: never
	Mended  time.Time // when its supply was known to be back; zero: it never failed
	Dried   float64   // cm³ that it held when its supply came back
	Starved bool      // it had been without for so long by then that it fell dry
	Dips    []dip
	DaysDue bool      // the pattern of days is looked at with the first reading of an hour
	Weighed bool      // readings were weighed since the channel last judged
	Spoke   time.Time // when the last of them was

	Built float64 // cm³ of mix, by the site file that it was kept with
	Heat  track   // of the root zone, °C
	Salt  salt

	History history // uptake by the hour
	Shown   float64 // greatest uptake published, L
}

// suspicion counts readings in a row that the filter does not believe.
type suspicion struct {
	Count int
	Since time.Time
	Fall  bool
	Sum   float64
	Last  float64
}

func (s suspicion) mean() float64 { return s.Sum / float64(s.Count) }

// add counts one more; those on the other side begin anew.
func (s *suspicion) add(t time.Time, y float64, fall bool) {
	if s.Count == 0 || s.Fall != fall {
		*s = suspicion{Since: t, Fall: fall}
	}
	s.Count++
	s.Sum, s.Last = s.Sum+y, y
}

func newBag(p *design.Bag, w *weather) *bag {
	return &bag{physics: p, weather: w, Noise: newNoise(startNoise), House: sq(priorHouse), Built: p.Hydraulic.Store.Volume()}
}

// common is the factor on demand that the bags of a reservoir share.
func (b *bag) common() float64 { return b.source.common() }

func (b *bag) volume() float64 { return b.physics.Hydraulic.Store.Volume() }

// begin starts the filter at t: at rest over the channel.
func (b *bag) begin(t time.Time) {
	s := b.physics.Hydraulic.Store
	b.Base = state{Time: t}
	b.Base.X[iStorage] = s.Equilibrium(b.physics.Lift)
	b.Base.P = b.prior()
	b.Roll = b.Base
}

// prior is what is known of any bag.
func (b *bag) prior() (p matrix) {
	p[iStorage][iStorage] = sq(priorStorage * b.volume())
	p[iHealth][iHealth] = sq(priorHealth)
	p[iDemand][iDemand] = sq(priorDemand) + b.House
	p[iOffset][iOffset] = sq(priorProbe) + sq(priorModel)
	p[iWarm][iWarm] = sq(priorWarm)
	return p
}

func (b *bag) started() bool { return !b.Base.Time.IsZero() }

// health is the effective share of the wicks that works under a state.
func (b *bag) health(lnH float64) float64 {
	if b.Cut || b.Readings == 0 && b.source.exhausted() { // which a probe would show by itself
		return dryShare
	}
	return math.Exp(lnH)
}

// roll carries the estimate on to a tick.
func (b *bag) roll(t time.Time) {
	if !b.started() {
		b.begin(t)
	}
	for at := b.Roll.Time.Truncate(time.Hour).Add(time.Hour); at.Before(t); at = at.Add(time.Hour) {
		b.rollTo(at)
	}
	b.rollTo(t)
}

func (b *bag) rollTo(t time.Time) {
	if b.Roll.Time.Before(t) {
		b.Roll = b.advance(b.Roll, t, driftHealth)
	}
	b.History.record(t, b.Roll.Uptake, b.Roll.Potential, b.Roll.X[iHealth])
}
