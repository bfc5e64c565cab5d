package estimate

import (
	"math"
	"time"

	"wickd/model"
)

// emptyAt is when the volume reaches the empty mark.
func (r *reservoir) emptyAt(t time.Time, c course) *model.Quantiles {
	if r.Readings == 0 || r.physics.Reservoir.FloatValve {
		return nil
	}
	hourly := r.expectedDraw(t, c)
	q := &model.Quantiles{
		P05: r.reaches(t, hourly, z95), P50: r.reaches(t, hourly, 0), P95: r.reaches(t, hourly, -z95),
	}
	if q.P50 == nil && q.P05 == nil {
		return nil
	}
	return q
}

// expectedDraw is the draw, L, of each hour of the next days: the usual day of
// the last ones, the present departure from it, dying away, and what leaks.
func (r *reservoir) expectedDraw(t time.Time, c course) func(h int) float64 {
	leak := math.Max(0, r.X[jUnexplained])
	usual, ok := r.usualDay()
	if !ok {
		first := r.firstDay(t, c)
		return func(h int) float64 { return first[h%24] + leak }
	}
	ratio := r.departure(usual)
	return func(h int) float64 {
		spell := math.Pow(persistence, (float64(h)+12)/24)
		return usual[h%24]*(1+(ratio-1)*spell) + leak
	}
}

// usualDay is what bags draw in the hours of the day, beginning with the next
// hour: the mean of recent days; false before a full day was seen.
func (r *reservoir) usualDay() (usual [24]float64, ok bool) {
	n := len(r.Hours)
	if n < 24 {
		return usual, false
	}
	var weights float64
	for day := 0; 24*(day+1) <= n; day++ {
		w := math.Exp(-float64(day) / forgetDays)
		weights += w
		for h := range usual {
			usual[h] += w * r.Hours[n-24*(day+1)+h]
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
		seen += w * r.Hours[n-1-age]
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
			if !b.Cut {
				out[h] += b.physics.Demand(t, c[h]) * common * math.Exp(b.Roll.X[iDemand]) / 1000
			}
		}
	}
	return out
}

// reaches is when the empty mark is passed at z standard deviations above the
// expected draw.
func (r *reservoir) reaches(t time.Time, hourly func(h int) float64, z float64) *time.Time {
	left := r.X[jVolume] - z*math.Sqrt(r.P[jVolume][jVolume]) - r.physics.Empty()
	scatter := r.scatter()
	total := 0.0
	for h := 0; h < int(reservoirHorizon.Hours()); h++ {
		grown := math.Exp(z * r.relative(scatter, float64(h)/24))
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
// expectation rests on adds its own.
func (r *reservoir) relative(scatter, days float64) float64 {
	n := math.Max(1, days)
	sum := n
	for k := 1.0; k < n; k++ {
		sum += 2 * (n - k) * math.Pow(persistence, k)
	}
	seen := math.Max(1, float64(len(r.Hours))/24)
	own := (1 + persistence) / (1 - persistence) / seen
	return scatter * math.Sqrt(math.Min(1, sum/sq(n))+math.Min(1, own)/2)
}

// scatter is the relative standard deviation of a day's draw.
func (r *reservoir) scatter() float64 {
	days := len(r.Hours) / 24
	if days < 2 {
		return dayScatter
	}
	totals := make([]float64, days)
	mean := 0.0
	for i, h := range r.Hours[len(r.Hours)-24*days:] {
		totals[i/24] += h
		mean += h / float64(days)
	}
	sum := 0.0
	for _, d := range totals {
		sum += sq(d - mean)
	}
	rel := sum / math.Max(1e-9, sq(mean))
	return math.Sqrt((rel + priorDays*sq(dayScatter)) / (float64(days-1) + priorDays))
}
