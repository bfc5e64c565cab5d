package estimate

import (
	"math"
	"time"

	"wickd/model"
)

// emptyAt is when the volume reaches the empty mark. What a float valve fills never
// does, unless the valve has failed.
func (r *reservoir) emptyAt(t time.Time, c course) *model.Quantiles {
	if r.Readings == 0 || r.physics.Reservoir.FloatValve && !r.valveFails() {
		return nil
	}
	q := r.fallsTo(r.floor(), t, c)
	if q == nil || !r.feedsAtTimes() || r.contents() <= r.physics.Volume(r.physics.Reservoir.Empty+dregs) {
		return q
	}
	for _, at := range []*time.Time{q.P05, q.P50, q.P95} {
		if at != nil {
			*at = r.Filling.next(*at)
		}
	}
	return q
}

// suppliesUntil is when its channels come to be dry, given when its level comes to the
// mark of empty.
func (r *reservoir) suppliesUntil(t time.Time, c course, empty *model.Quantiles) *model.Quantiles {
	if empty == nil || !r.feedsAtTimes() {
		return empty
	}
	return r.fallsTo(r.physics.Empty(), t, c)
}

// fallsTo is when its volume comes to be so many litres; nil: not within the horizon.
func (r *reservoir) fallsTo(floor float64, t time.Time, c course) *model.Quantiles {
	reaches := func(z, mended float64) *time.Time { return r.reaches(floor, t, r.expectedDraw(t, c, mended), z) }
	q := &model.Quantiles{P05: reaches(z95, 0), P50: reaches(0, mendIn), P95: reaches(-z95, math.Inf(1))}
	if q.P50 == nil && q.P05 == nil {
		return nil
	}
	return q
}

// valveFails says that the level lies below the mark that a float valve keeps it above.
// Where nobody reads the level, the volume falls by what is drunk, and the valve fills it.
func (r *reservoir) valveFails() bool {
	low := r.physics.Reservoir.Low
	return low > 0 && r.X[jVolume] < r.physics.Volume(low) && r.Time.Sub(r.LastGood) <= staleAfter
}

// A dry channel is filled again by somebody, and its bags then drink their fill
// and go on: within a day as a rule, at once or never at the outer quantiles. Both
// figures are assumptions.
const (
	mendIn = 24.0 // h
	fillIn = 6.0  // h in which what dried out is full again
)

// expectedDraw is the draw, L, of each hour of the next days: the usual day of
// the last ones, the present departure from it, dying away, and what leaks.
// Dry channels are taken to be filled after mended hours.
func (r *reservoir) expectedDraw(t time.Time, c course, mended float64) func(h int) float64 {
	fed, lacking := r.fed(t)
	dry := func(h int, all float64) float64 {
		switch since := float64(h) - mended; {
		case since < 0:
			return all * fed
		case since < fillIn:
			return all + lacking/fillIn
		}
		return all
	}
	leak := math.Max(0, r.X[jUnexplained])
	trend := r.trend()
	usual, ok := r.usualDay(trend)
	if !ok {
		first := r.firstDay(t, c)
		return func(h int) float64 { return dry(h, first[h%24]) + leak }
	}
	ratio := r.departure(usual)
	return func(h int) float64 {
		ahead := (float64(h) + 0.5) / 24
		spell := math.Pow(persistence, ahead+0.5)
		return dry(h, usual[h%24]*trend.ahead(ahead)*(1+(ratio-1)*spell)) + leak
	}
}

// fed is the share of the demand whose channels hold water, and what the bags
// over the others lack, L.
func (r *reservoir) fed(t time.Time) (share, lacking float64) {
	var wet, all float64
	for _, b := range r.bags {
		ask := b.physics.Demand(t, 1) * math.Exp(b.Roll.X[iDemand])
		all += ask
		if b.Cut {
			lacking += math.Max(0, b.physics.Hydraulic.Store.Equilibrium(b.physics.Lift)-b.Roll.X[iStorage]) / 1000
		} else {
			wet += ask
		}
	}
	if !(all > 0) {
		return 1, lacking
	}
	return wet / all, lacking
}

// usualDay is what all bags ask for by now in the hours of the day, beginning with the
// next hour: the mean of recent days, grown since; false before a full day was seen.
func (r *reservoir) usualDay(w trend) (usual [24]float64, ok bool) {
	n := len(r.Hours)
	if n < 24 {
		return usual, false
	}
	var weights float64
	for day := 0; 24*(day+1) <= n; day++ {
		weight := math.Exp(-float64(day) / forgetDays)
		weights += weight
		for h := range usual {
			usual[h] += weight * w.since(day) * r.Hours[n-24*(day+1)+h].asked()
		}
	}
	for h := range usual {
		usual[h] /= weights
	}
	return usual, true
}

// departure is the draw of the last hours over the usual one of the same hours
// of the day, the latest weighing most: a house that heats up shows within
// hours, a night says little.
func (r *reservoir) departure(usual [24]float64) float64 {
	const window, memory = 24, 8.0 // h
	n := len(r.Hours)
	var seen, expected float64
	for age := range window {
		w := math.Exp(-float64(age) / memory)
		seen += w * r.Hours[n-1-age].asked()
		expected += w * usual[23-age]
	}
	if expected <= 0 {
		return 1
	}
	return clamp(seen/expected, 0.25, 4)
}

// firstDay is what climate and crops alone make expect.
func (r *reservoir) firstDay(t time.Time, c course) [24]float64 {
	var out [24]float64
	common := r.common()
	for h := range out {
		out[h] = r.evaporates(c[h])
		for _, b := range r.bags {
			out[h] += b.physics.Demand(t, c[h]) * common * math.Exp(b.Roll.X[iDemand]) / 1000
		}
	}
	return out
}

// reaches is when the volume falls to a floor, L, at z standard deviations above the
// expected draw.
func (r *reservoir) reaches(floor float64, t time.Time, hourly func(h int) float64, z float64) *time.Time {
	left := r.X[jVolume] - z*math.Sqrt(r.P[jVolume][jVolume]) - floor
	trend := r.trend()
	scatter := r.scatter(trend)
	total := 0.0
	for h := 0; h < int(reservoirHorizon.Hours()); h++ {
		grown := math.Exp(z * r.relative(scatter, trend, float64(h)/24))
		before := left - total*grown
		total += hourly(h)
		after := left - total*grown
		if after > 0 {
			continue
		}
		part := 0.0
		if before > after {
			part = clamp(before/(before-after), 0, 1)
		}
		at := t.Add(time.Duration((float64(h) + part) * float64(time.Hour)))
		return &at
	}
	return nil
}

// relative is the standard deviation of the mean draw over the next days,
// relative to what is expected. Days correlate with their neighbours by ρ, so
// the mean of n has the variance
//
//	σ²/n² · [n + 2 Σₖ (n−k) ρᵏ],  k = 1…n−1
//
// (any text on time series), never more than σ²; the mean of the days that the
// expectation rests on adds half of its own, for the days ahead follow the last
// of them (set on the twin). What the draw wanders by from day to day, it wanders by on
// the mean of the days ahead with a third of the variance of their end.
func (r *reservoir) relative(scatter float64, w trend, days float64) float64 {
	n := math.Max(1, days)
	sum := n
	for k := 1.0; k < n; k++ {
		sum += 2 * (n - k) * math.Pow(persistence, k)
	}
	seen := math.Max(1, float64(len(r.Hours))/24)
	own := (1 + persistence) / (1 - persistence) / seen
	spells := scatter * math.Sqrt(math.Min(1, sum/sq(n))+math.Min(1, own)/2)
	grows := math.Sqrt(w.Variance) * (days + math.Min(seen, forgetDays)) / 2
	return math.Sqrt(sq(spells) + sq(grows) + sq(driftDraw)*days/3)
}

// scatter is the relative standard deviation of a day's draw, but for its growth.
func (r *reservoir) scatter(w trend) float64 {
	days := len(r.Hours) / 24
	if days < 2 {
		return dayScatter
	}
	totals := make([]float64, days)
	mean := 0.0
	for i, h := range r.Hours[len(r.Hours)-24*days:] {
		asked := h.asked() * math.Exp(w.Growth*float64(days-1-i/24)) // as of now
		totals[i/24] += asked
		mean += asked / float64(days)
	}
	sum := 0.0
	for _, d := range totals {
		sum += sq(d - mean)
	}
	rel := sum / math.Max(1e-9, sq(mean))
	return math.Sqrt((rel + priorDays*sq(dayScatter)) / (float64(days-1) + priorDays))
}
