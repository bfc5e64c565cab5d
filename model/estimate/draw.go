package estimate

import (
	"math"
	"time"

	"wickd/model/climate"
	"wickd/model/solution"
)

// draw is what the bags lift and what the air takes over the next dt hours, L, and
// how the former changes with the logarithm of the common factor. It keeps the
// books of what was asked for.
func (r *reservoir) draw(mm, dt float64) (lifted, air, slope float64) {
	var warm float64
	r.Mending = 0
	for i, b := range r.bags {
		wants := b.physics.Demand(r.Time, mm)
		if !b.wickGone() {
			r.Wanted += wants / 1000
		}
		rate := wants * r.common() * math.Exp(b.Roll.X[iDemand]) / dt
		health := b.health(b.Roll.X[iHealth])
		h := b.physics.Hydraulic
		now := h.Step(r.Shadow[i], rate, health, dt)
		if b.Cut {
			r.Idle += math.Max(0, rate*dt-now.Wicked) / 1000
		}
		if b.failing() && b.unseen(r.Time) {
			r.Mending += math.Max(0, h.Step(r.Shadow[i], rate, 1, dt).Wicked-now.Wicked) / 1000
		}
		hot := h.Step(r.Warm[i], rate*(1+hotter), health, dt)
		r.Shadow[i], r.Warm[i] = now.Storage, hot.Storage
		r.lifts(i, now.Wicked/1000, dt)
		lifted += now.Wicked / 1000
		warm += hot.Wicked / 1000
	}
	slope = (warm - lifted) / math.Log1p(hotter)
	air = r.evaporates(mm)
	r.Asked += lifted/r.common() + air
	r.Wanted += air
	return lifted, air, slope
}

// course is what the day's own course adds to the draw of the next dt hours, L:
// nothing where nobody measures the sky, for there it is another one every day.
func (r *reservoir) course(dt float64, rung climate.Rung) float64 {
	if !ownCourse(rung) {
		return 0
	}
	return r.Diurnal.share(r.Time) * r.lastDay() * dt
}

// lastDay is the draw of the last 24 full hours, L; 0: they are not known.
func (r *reservoir) lastDay() (litres float64) {
	n := len(r.Hours)
	if n < 24 {
		return 0
	}
	for _, h := range r.Hours[n-24:] {
		litres += h.Lifted
	}
	return litres
}

// ownCourse says that what departs from a reference over the hours of a day is the
// house's own, for the sky is measured.
func ownCourse(rung climate.Rung) bool {
	return rung.RelativeError() <= climate.RadiationOnly.RelativeError()
}

// seesSky says that it is so just before t.
func (r *reservoir) seesSky(t time.Time) bool {
	_, rung := r.weather.reference(t.Add(-10*time.Minute), t)
	return ownCourse(rung)
}

// recall sets what a bag draws to start from what its own filter knows: when a
// channel or a wick turns out to have failed or to work again, that began hours
// ago, and what the bag did since is no part of the draw to come. It returns by
// how much, L, the bag holds more than was thought.
func (b *bag) recall() (more float64) {
	if b.source.Shadow == nil {
		return 0
	}
	b.source.Kept = nil
	for i, o := range b.source.bags {
		if o == b {
			more = (b.Base.X[iStorage] - b.source.Shadow[i]) / 1000
			b.source.Shadow[i], b.source.Warm[i] = b.Base.X[iStorage], b.Base.X[iStorage]
		}
	}
	return more
}

// profile is how the draw of a day is shared out among its hours, about each full hour
// of UTC, as it was of late.
func (r *reservoir) profile() (share [24]float64) {
	sum := 0.0
	for i, h := range r.Hours {
		begins := r.HourEnd.Add(time.Duration(i-len(r.Hours)) * time.Hour).UTC().Hour()
		lifted := math.Max(0, h.Lifted)
		share[begins] += lifted / 2
		share[(begins+1)%24] += lifted / 2
		sum += lifted
	}
	for i := range share {
		share[i] /= math.Max(sum, 1e-9)
	}
	return share
}

// evaporates is the water, L, that leaves the open surface while the reference
// evapotranspiration is mm.
func (r *reservoir) evaporates(mm float64) float64 {
	return solution.Evaporation(r.physics.Reservoir.Open, mm, 1)
}

// endHour closes the book of an hour's draw. Steps stop at every full hour, in a time
// that nobody ticked in too, so that only the first, which is none, is left out.
func (r *reservoir) endHour(t time.Time) {
	if !t.Equal(t.Truncate(time.Hour)) || !r.HourEnd.Before(t) {
		return
	}
	if !r.HourEnd.IsZero() {
		h := hourDraw{Lifted: math.Max(0, r.Drawn-r.Loose-r.HourMark), Idle: r.Idle - r.IdleMark}
		if r.WantedMark > 0 {
			h.Wanted = math.Max(leastWanted, r.Wanted-r.WantedMark)
		}
		r.Hours = append(r.Hours, h)
	}
	if len(r.Hours) > maxHours {
		r.Hours = r.Hours[len(r.Hours)-maxHours:]
	}
	r.HourEnd, r.HourMark, r.IdleMark, r.WantedMark = t, r.Drawn-r.Loose, r.Idle, r.Wanted
	r.Diurnal.Profile = r.profile()
	r.remember(t)
	for _, b := range r.bags {
		b.told(r.house())
	}
	r.Wicks = r.usualWicks(t)
}

// maxHours of draw are remembered: ten days.
const maxHours = 240

// drawNoise is the variance of the draw of dt hours, L²: of what plants may take
// otherwise than expected, and of what bags may do that is no thirst.
func (r *reservoir) drawNoise(drawn, dt float64, rung climate.Rung) (thirst, other float64) {
	mean := r.scale() * dt
	// Whims of single bags average out; what the reference misses does not.
	scatter := math.Hypot(demandScatter/math.Sqrt(math.Max(1, float64(len(r.bags)))), rungDaily(rung))
	shape := shapeError * rung.RelativeError() * dt
	thirst = sq(scatter*drawn) + sq(shape*r.Evening)
	if rate := drawn / math.Max(dt, 1e-9); rate > r.Evening && rate > dawn*r.scale() {
		thirst += sq(shape * r.scale())
	}
	// Wicks may be laid anew at any moment, and where no probe shows it the bag
	// drinks its fill unseen.
	other = sq(r.Mending)
	if r.exhausted() {
		other += sq(mean)
	}
	lasts := scatterPersist.Hours() / math.Max(dt, 1e-9)
	return thirst * lasts, other * lasts
}

// exhausted says that the level is so low that nobody knows whether the outlet
// still takes anything. What a float valve fills is, by the level alone.
func (r *reservoir) exhausted() bool {
	if r.physics.Reservoir.FloatValve && r.Time.Sub(r.LastGood) > staleAfter {
		return false
	}
	return r.Readings > 0 && r.X[jVolume] <= r.physics.Volume(r.physics.Reservoir.Empty+dregs)
}
