package estimate

import (
	"math"
	"time"

	"wickd/model"
	"wickd/model/design"
)

// The state of a reservoir; the package comment has its legend.
const (
	jVolume = iota
	jCommon
	jUnexplained
	reservoirStates
)

type (
	rvector [reservoirStates]float64
	rmatrix [reservoirStates][reservoirStates]float64
)

const (
	priorCommon = 0.40 // ln: the demand of a whole house against climate and crop tables
	startLevel  = 1.5  // mm: white noise of a level sensor
	leastLevel  = 0.2  // mm: its resolution

	// The common factor drifts with what the reference leaves out: by this per
	// √d when the climate is measured in full, more on poorer rungs.
	driftCommon     = 0.08
	driftCommonRung = 0.6

	// Unexplained draw as a share of the mean draw: its prior, and its drift
	// per √d.
	priorUnexplained = 0.03
	driftUnexplained = 0.04

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

	Time time.Time
	X    rvector
	P    rmatrix

	// Bags as they would be without their probes: the draw that physics makes
	// of the demand, free of the probes' noise. Warm is the same at a higher
	// common factor.
	Shadow, Warm []float64 // cm³

	Noise    noise // of the level, mm
	Readings int
	LastGood time.Time
	Doubt    track
	Draw     history   // L since the start, by the hour
	Drawn    float64   // L since the start, by the volume's own course
	Hours    []float64 // L drawn in each of the last full hours, oldest first
	HourEnd  time.Time // of the last of Hours
	HourMark float64   // Drawn at HourEnd
	Slow     float64   // ln C averaged over days, for the bags' forecast

	Refilled time.Time
	NIS      float64

	EC, PH, Temperature track
}

func newReservoir(p *design.Reservoir, w *weather) *reservoir {
	r := &reservoir{physics: p, weather: w, Noise: newNoise(startLevel)}
	return r
}

func (r *reservoir) hasLevel() bool {
	for _, s := range r.physics.Reservoir.Sensors {
		if s.Quantity == model.Level {
			return true
		}
	}
	return false
}

// common is the demand factor that the bags of this reservoir share.
func (r *reservoir) common() float64 { return math.Exp(r.X[jCommon]) }

func (r *reservoir) begin(t time.Time) {
	r.Time = t
	r.X[jVolume] = r.physics.Full()
	r.P[jVolume][jVolume] = sq(math.Max(1, r.physics.Full()))
	r.P[jCommon][jCommon] = sq(priorCommon)
	r.Shadow = make([]float64, len(r.bags))
	r.Warm = make([]float64, len(r.bags))
	for i, b := range r.bags {
		r.Shadow[i] = b.physics.Hydraulic.Store.Equilibrium(b.physics.Lift)
		r.Warm[i] = r.Shadow[i]
	}
	r.P[jUnexplained][jUnexplained] = sq(priorUnexplained * r.scale())
}

// scale is the mean draw, L/h: what unexplained draw is measured against.
func (r *reservoir) scale() float64 {
	const fallback = 0.01 // L/h for each bag, until a day has been seen
	if n := len(r.Hours); n >= 24 {
		sum := 0.0
		for _, h := range r.Hours {
			sum += h
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
		if next.After(t) {
			next = t
		}
		r.step(next)
	}
}

func (r *reservoir) step(t time.Time) {
	dt := t.Sub(r.Time).Hours()
	mm, rung := r.weather.reference(r.Time, t)
	drawn, slope := r.draw(mm, dt)

	f := rmatrix{{1, -slope, -dt}, {0, 1, 0}, {0, 0, 1}}
	days := dt / 24
	scatter := math.Max(demandScatter, rung.RelativeError())
	persist := scatterPersist.Hours() / math.Max(dt, scatterPersist.Hours())
	q := rvector{
		sq(scatter*drawn)*persist + sq(0.02)*dt,
		sq(math.Max(driftCommon, driftCommonRung*rung.RelativeError())) * days,
		sq(driftUnexplained*r.scale()) * days,
	}
	r.P = r.P.propagate(f, q)
	r.X[jVolume] = math.Max(0, r.X[jVolume]-drawn-r.X[jUnexplained]*dt)
	r.Drawn += drawn + r.X[jUnexplained]*dt
	r.Slow += (r.X[jCommon] - r.Slow) * math.Min(1, days/slowDays)
	r.X[jCommon] = clamp(r.X[jCommon], minLnDemand, maxLnDemand)
	r.Time = t
	r.endHour(t)
	r.Draw.record(t, r.Drawn, 0, 0)
}

// slowDays is the memory of the common factor that forecasts rest on.
const slowDays = 2.0

// draw is what the bags lift over the next dt hours, L, and how that changes
// with ln C.
func (r *reservoir) draw(mm, dt float64) (drawn, slope float64) {
	var warm float64
	for i, b := range r.bags {
		rate := b.physics.Demand(r.Time, mm) * r.common() * math.Exp(b.Roll.X[iDemand]) / dt
		health := b.health(b.Roll.X[iHealth])
		h := b.physics.Hydraulic
		now := h.Step(r.Shadow[i], rate, health, dt)
		hot := h.Step(r.Warm[i], rate*(1+hotter), health, dt)
		r.Shadow[i], r.Warm[i] = now.Storage, hot.Storage
		drawn += now.Wicked / 1000
		warm += hot.Wicked / 1000
	}
	return drawn, (warm - drawn) / math.Log1p(hotter)
}

// endHour closes the book of an hour's draw. Ticks stop at every full hour,
// so none is missed while the estimator is driven.
func (r *reservoir) endHour(t time.Time) {
	if !t.Equal(t.Truncate(time.Hour)) || !r.HourEnd.Before(t) {
		return
	}
	if t.Sub(r.HourEnd) == time.Hour {
		r.Hours = append(r.Hours, math.Max(0, r.Drawn-r.HourMark))
	} else {
		// A gap: the hours before it say nothing of the hour of the day.
		r.Hours = nil
	}
	if len(r.Hours) > maxHours {
		r.Hours = r.Hours[len(r.Hours)-maxHours:]
	}
	r.HourEnd, r.HourMark = t, r.Drawn
}

// maxHours of draw are remembered: ten days.
const maxHours = 240

// observeLevel takes a good reading of the level, mm.
func (r *reservoir) observeLevel(t time.Time, level float64) (late bool) {
	if r.Time.IsZero() {
		r.begin(t)
	}
	if t.Before(r.Time) && r.Time.Sub(t) > neighbours {
		return true
	}
	r.Noise.observe(t, level, leastLevel)
	r.advance(t)
	v := r.physics.Volume(level)
	litres := r.physics.AreaAt(level) // per mm
	noiseV := r.Noise.Variance * sq(litres)
	if r.Readings == 0 {
		r.setVolume(t, v, noiseV)
		return false
	}
	nu := v - r.X[jVolume]
	s := r.P[jVolume][jVolume] + noiseV
	if math.Abs(nu) > math.Max(refillSigma*math.Sqrt(s), refillFloor*litres) {
		r.jump(t, v, nu, noiseV)
		return false
	}
	r.Doubt = track{}
	r.NIS += (nu*nu/s - r.NIS) / nisMemory
	r.fuse(nu, s, noiseV)
	r.Readings++
	r.LastGood = t
	return false
}

// jump waits for a second reading before it believes a refill, a spill or a
// change of the solution.
func (r *reservoir) jump(t time.Time, v, nu, noiseV float64) {
	if r.Doubt.Doubts > 0 && math.Abs(v-r.Doubt.Value) > 4*math.Sqrt(2*noiseV)+refillFloor {
		r.Doubt = track{}
	}
	r.Doubt.Doubts++
	r.Doubt.Value = v
	if r.Doubt.Doubts < 2 {
		return
	}
	r.Doubt = track{}
	if nu > 0 {
		r.Refilled = t
	}
	r.setVolume(t, v, noiseV)
}

func (r *reservoir) setVolume(t time.Time, v, variance float64) {
	r.X[jVolume] = v
	for j := range reservoirStates {
		r.P[jVolume][j], r.P[j][jVolume] = 0, 0
	}
	r.P[jVolume][jVolume] = variance
	r.Readings++
	r.LastGood = t
}

func (r *reservoir) fuse(nu, s, noiseV float64) {
	var gain rvector
	for i := range reservoirStates {
		gain[i] = r.P[i][jVolume] / s
		r.X[i] += gain[i] * nu
	}
	r.Drawn -= gain[jVolume] * nu
	a := rmatrix{{1 - gain[0], 0, 0}, {-gain[1], 1, 0}, {-gain[2], 0, 1}}
	r.P = r.P.propagate(a, rvector{})
	for i := range reservoirStates {
		for j := range reservoirStates {
			r.P[i][j] += gain[i] * noiseV * gain[j]
		}
	}
	r.X[jVolume] = math.Max(0, r.X[jVolume])
}

func (p rmatrix) propagate(f rmatrix, q rvector) rmatrix {
	var fp, out rmatrix
	for i := range reservoirStates {
		for j := range reservoirStates {
			for k := range reservoirStates {
				fp[i][j] += f[i][k] * p[k][j]
			}
		}
	}
	for i := range reservoirStates {
		for j := range i + 1 {
			for k := range reservoirStates {
				out[i][j] += fp[i][k] * f[j][k]
			}
			out[j][i] = out[i][j]
		}
		out[i][i] += q[i]
	}
	return out
}
