package estimate

import (
	"math"
	"slices"
	"time"

	"wickd/model"
	"wickd/model/design"
)

// The state of a reservoir; the package comment has its legend.
const (
	jVolume = iota
	jHouse
	jDay
	jUnexplained
	jWarm
)

const (
	priorHouse = 0.40 // ln: the demand of a whole house against climate and crop tables
	startLevel = 1.5  // mm: white noise of a level sensor
	leastLevel = 0.2  // mm: its resolution

	// maxLnHouse bounds the factor at twenty: a crop that grew up under a canopy that the
	// site file has from its seedlings drinks ten times as much (common practice), and
	// what a bound leaves unexplained looks like a leak.
	maxLnHouse = 3.0
	// driftHouse is by how much the house's factor moves, per √d: plants grow.
	driftHouse = 0.05
	// dayMemory is how long a day's departure from the reference lasts: what the
	// reference leaves out — a sky that nobody measures, vents, shade — holds
	// for a day and is another one on the next. Its standard deviation is
	// learnt: see [daily].
	dayMemory = 24.0 // h

	// shapeError is how far the course of a day's draw errs by the hour, against
	// the mean draw of the eveningMemory before and for each part of the rung's
	// error: a sky that nobody sees clears in the evening, and bags that were
	// drier at dusk refill longer. It dies away in the night, whose still water
	// says most about leaks, until the draw rises past dawn, a share of the mean
	// draw: the morning of plants may begin an hour before the model's. It is what
	// bounds how soon a small leak is known: tied to how alike the days are, leaks of
	// a tenth were found a third sooner on the twin, and almost four times as many false
	// ones; a reference that fits the days better changed neither.
	shapeError    = 1.0
	eveningMemory = 2.0 // h
	dawn          = 0.02

	// Unexplained draw as a share of the mean draw: its prior, its drift per √d
	// (what comes at once is left to [breach]), and what the course of the day
	// may feign for ever: plants that drink by night, a tank that breathes.
	priorUnexplained = 0.03
	driftUnexplained = 0.01
	feignUnexplained = 0.025
	// What wicks at their limit lift is known as well as the wicks are: a batch of
	// them, and the mix about them, err alike in every bag; by how much is an
	// assumption. limitMemory is over
	// how long it is seen whether they are at their limit.
	supplyError = 0.15
	limitMemory = 24.0 // h

	// dregs is how far above the empty mark the outlet may fail, mm, and
	// levelWander what waves and the tank's own warming move, L per √h.
	dregs       = 3.0
	levelWander = 0.02

	refillSigma = 6.0
	refillFloor = 3.0 // mm

	// hotter is the relative change of the common factor by which the
	// sensitivity of the draw to it is found.
	hotter = 0.05
)

// reservoir is the filter of one reservoir and of the demand its bags share.
type reservoir struct {
	physics *design.Reservoir
	bags    []*bag
	weather *weather
	// tellsLevel says that it has a sensor of its level.
	tellsLevel bool

	Time  time.Time
	X     vector
	P     matrix
	Built float64 // L that it holds full, by the site file that it was kept with

	// Bags as they would be without their probes: the draw that physics makes
	// of the demand, free of the probes' noise. Warm is the same at a higher
	// common factor.
	Shadow, Warm []float64 // cm³

	Diurnal diurnal
	Tally   tally     // what the bags drew beyond what was booked as they drew it
	Lifts   []float64 // L that each bag drew, over about a day

	Sieve      sieve
	Noise      noise // of the level, mm
	Readings   int
	LastGood   time.Time
	Heard      time.Time // of the last level looked at
	Doubt      track
	Stand      stand
	Filling    filling
	Draw       history    // L since the start, by the hour
	Drawn      float64    // L since the start, by the volume's own course
	Hours      []hourDraw // the last full hours, oldest first
	HourEnd    time.Time  // of the last of Hours
	HourMark   float64    // Drawn − Loose at HourEnd
	Loose      float64    // L of Drawn that no bag explains
	Idle       float64    // L since the start that plants over dry channels would have drawn
	IdleMark   float64    // Idle at HourEnd
	Asked      float64    // L since the start that its bags would draw at a common factor of one, and the air
	Wanted     float64    // L since the start that climate and crops alone make expect of bags whose wicks work
	WantedMark float64    // Wanted at HourEnd; 0: kept by an older version
	Mending    float64    // L that bags whose probes say nothing would lift beyond what they do, were what ails them mended
	Before     []remembered
	Evening    float64 // mean draw of the last hours, L/h, the latest weighing most
	Daily      daily
	Wicks      float64 // ln of the wick health that sound bags have in common
	Thirst     float64 // L of Lifted that a change of demand would move, over about a day
	Lifted     float64 // L that bags drew, over about a day
	Warmth     float64 // of the air over about a day, K above neutral

	Refilled time.Time
	Breaches []breach
	Nightly  nightly
	Found    known // before a change of the unexplained draw that was taken over
	Resets   int
	Lately   []gauging // the levels of the last two hours
	Gush     float64   // L/h at which it empties, faster than any plants would; 0: it does not
	News     bool      // what it will do is another thing than was forecast

	EC, PH, Temperature track
	Solution            solutionWatch

	Kept *reservoir `json:",omitempty"` // as it was at its last level; nil: no tick has carried it on
}

func newReservoir(p *design.Reservoir, w *weather) *reservoir {
	level := func(s model.Sensor) bool { return s.Quantity == model.Level }
	return &reservoir{Built: p.Full(), physics: p, weather: w, Noise: newNoise(startLevel), tellsLevel: slices.ContainsFunc(p.Reservoir.Sensors, level)}
}

// common is the demand factor that the bags of this reservoir share.
func (r *reservoir) common() float64 { return math.Exp(r.X[jHouse] + r.X[jDay]) }

// commonVariance is of its logarithm.
func (r *reservoir) commonVariance() float64 {
	return r.P[jHouse][jHouse] + 2*r.P[jHouse][jDay] + r.P[jDay][jDay]
}

func (r *reservoir) begin(t time.Time) {
	r.Time = t
	r.X[jVolume] = r.physics.Full() + r.floor() - r.physics.Empty()
	r.P = r.prior()
	r.Filling.Holds = r.holds()
	r.Wanted, r.WantedMark = leastWanted, leastWanted
	r.rest()
}

// prior is what is known of any reservoir.
func (r *reservoir) prior() (p matrix) {
	p[jVolume][jVolume] = sq(math.Max(1, r.physics.Full()))
	p[jHouse][jHouse] = sq(priorHouse)
	p[jUnexplained][jUnexplained] = sq(priorUnexplained * r.scale())
	p[jWarm][jWarm] = sq(priorWarmLevel)
	return p
}

// rest has every bag at rest over its channel.
func (r *reservoir) rest() {
	r.Shadow, r.Warm, r.Lifts = make([]float64, len(r.bags)), make([]float64, len(r.bags)), make([]float64, len(r.bags))
	for i, b := range r.bags {
		r.Shadow[i] = b.physics.Hydraulic.Store.Equilibrium(b.physics.Lift)
		r.Warm[i] = r.Shadow[i]
	}
}

// hourDraw is what left in one without leaking, L, by the bags and into the air, what
// bags over a dry channel would have lifted, and what climate and crops alone make expect.
type hourDraw struct{ Lifted, Idle, Wanted float64 }

// asked is what would have left had all channels held water.
func (h hourDraw) asked() float64 { return h.Lifted + h.Idle }

// scale is the mean draw, L/h: what unexplained draw is measured against.
func (r *reservoir) scale() float64 {
	const fallback = 0.01 // L/h for each bag, until a day has been seen
	if n := len(r.Hours); n >= 24 {
		sum := 0.0
		for _, h := range r.Hours {
			sum += h.Lifted
		}
		return math.Max(0.005, sum/float64(n))
	}
	return math.Max(0.005, fallback*float64(len(r.bags)))
}

func (r *reservoir) advance(t time.Time) {
	if r.Time.IsZero() {
		r.begin(t)
	}
	for r.Time.Before(t) {
		next := r.Time.Add(stride(t.Sub(r.Time)))
		// The book of an hour is closed at its end, also when nobody ticked then.
		for _, stop := range []time.Time{t, r.Time.Truncate(time.Hour).Add(time.Hour)} {
			if next.After(stop) {
				next = stop
			}
		}
		r.step(next)
	}
}

func (r *reservoir) step(t time.Time) {
	dt := t.Sub(r.Time).Hours()
	mm, rung := r.weather.reference(r.Time, t)
	lifted, air, slope := r.draw(mm, dt)
	drawn := lifted + air + r.course(dt, rung)
	fade := math.Exp(-dt / eveningMemory)
	lasts := math.Exp(-dt / limitMemory)
	r.Thirst, r.Lifted = lasts*r.Thirst+slope, lasts*r.Lifted+lifted
	r.Warmth = lasts*r.Warmth + (1-lasts)*r.weather.warmth.excess(t)
	r.Evening = fade*r.Evening + (1-fade)*drawn/math.Max(dt, 1e-9)

	keep := math.Exp(-dt / dayMemory)
	f := transition{first: vector{1, -slope, -slope, -dt, 0}, keep: vector{0, 1, keep, 1, 1}}
	days := dt / 24
	thirst, other := r.drawNoise(drawn, dt, rung)
	q := vector{
		thirst + other + sq(levelWander)*dt,
		sq(driftHouse) * days,
		sq(r.Daily.sd(rung)) * (1 - keep*keep),
		(sq(driftUnexplained*r.scale()) + sq(courseDrift*r.Diurnal.height()*r.lastDay())) * days,
	}
	r.carryBreaches(f, q, drawn, slope, dt, thirst)
	next := r.Tally.carry(r.P, f, slope, r.unbooked(dt), thirst)
	next.More += r.X[jUnexplained] * r.unbooked(dt)
	r.book(next)
	r.P = r.P.propagate(f, q)
	loose := r.X[jUnexplained] * dt
	r.Diurnal.Booked += drawn + loose
	r.X[jVolume] = math.Max(0, r.X[jVolume]-drawn-loose)
	r.Drawn += drawn + loose
	r.Loose += loose
	r.X[jHouse] = clamp(r.X[jHouse], minLnDemand, maxLnHouse)
	r.X[jDay] *= keep
	r.Time = t
	r.endHour(t)
	r.learnNightly(dt)
	r.Daily.observe(t, r.Drawn-r.Loose, r.Asked, 24*r.scale(), rung, r.tells() && t.Sub(r.LastGood) <= staleAfter)
	// Its level tells the draw in portions that do not end with the day.
	r.Daily.Known = r.Daily.Known && !r.feedsAtTimes()
	r.centre(t)
	r.Draw.record(t, r.Drawn, 0, 0)
}

// readable says that the probe of another bag than one on one of its channels tells
// something.
func (r *reservoir) readable(channel string, but *bag) bool {
	return slices.ContainsFunc(r.bags, func(b *bag) bool {
		return b != but && b.physics.Channel.ID == channel && b.Readings > 0 && !b.Lost && r.Time.Sub(b.LastGood) <= staleAfter
	})
}

// bagsOn counts the bags on one of its channels.
func (r *reservoir) bagsOn(channel string) int {
	n := 0
	for _, b := range r.bags {
		if b.physics.Channel.ID == channel {
			n++
		}
	}
	return n
}
