package estimate

import (
	"math"
	"time"
)

// Plants grow and are cut back, so that the draw to come is not the mean of recent days.
// By how much they did shows in what was drawn against what climate and crops make
// expect, which the weather moves little.
const (
	// priorGrowth is the standard deviation of the growth of a house's draw, per day:
	// young crops double within two weeks, old ones within months or never (common
	// practice).
	priorGrowth = 0.02
	// driftDraw is by how much a house's draw comes to differ, relative, per √d, beyond
	// spells of weather and growth: by half within a month, for the season, pruning and
	// picking (assumption).
	driftDraw = 0.1
	// growthLasts is how long plants go on growing as they do (assumption).
	growthLasts = 7.0 // d
	// growthLeast is how many days must have been seen.
	growthLeast = 3
	// leastWanted tells an hour of the night, L, from one that an older version kept.
	leastWanted = 1e-9
)

// trend is how the draw of a house departs from what climate and crops make expect.
type trend struct {
	Growth, Variance float64   // of the logarithm of the draw, per day
	Days             []float64 // the logarithm of the draw against what is expected, of each day, the last first; NaN: it is not known
	Now              float64   // the same as of now
	Known            bool      // enough days were seen for Growth and Now
}

// trend looks at the days that are remembered. Its growth is the slope of a straight line
// through their departures, each of which errs by as much as days were seen to, the
// neighbour of a day alike, with its prior. Plants do not shrink from day to day: a line
// that falls is that of a cut.
func (r *reservoir) trend() (out trend) {
	var n, at, squares, sum, by float64
	for day := range len(r.Hours) / 24 {
		ln, ok := r.departed(day)
		if !ok {
			out.Days = append(out.Days, math.NaN())
			continue
		}
		out.Days = append(out.Days, ln)
		x := -float64(day) - 0.5
		n, at, squares, sum, by = n+1, at+x, squares+x*x, sum+ln, by+x*ln
	}
	out.Variance = sq(priorGrowth)
	if n < growthLeast {
		return out
	}
	_, rung := r.weather.reference(r.Time.Add(-24*time.Hour), r.Time)
	err := sq(r.Daily.sd(rung))
	lasting := err * (1 + persistence) / (1 - persistence)
	told := (squares - at*at/n) / lasting
	out.Variance = 1 / (told + 1/sq(priorGrowth))
	out.Growth = math.Max(0, (by-at*sum/n)/lasting*out.Variance)
	out.Now, out.Known = out.level(sq(driftHouse)/err), true
	return out
}

// level is the mean of the days, as of now, with the weights that a level has that
// wanders by a variance a day, as a share of that of a day's error (the steady gain of
// that filter: Muth 1960, Journal of the American Statistical Association 55:299).
func (w *trend) level(wanders float64) float64 {
	gain := (math.Sqrt(sq(wanders)+4*wanders) - wanders) / 2
	var weights, sum float64
	for day, ln := range w.Days {
		if !math.IsNaN(ln) {
			weight := math.Pow(1-gain, float64(day))
			weights, sum = weights+weight, sum+weight*(ln+w.Growth*(float64(day)+0.5))
		}
	}
	return sum / weights
}

// since is the factor by which the draw of a day is more by now, a number of days ago;
// one where that is not known.
func (w *trend) since(day int) float64 {
	if !w.Known || math.IsNaN(w.Days[day]) {
		return 1
	}
	return math.Exp(w.Now - w.Days[day])
}

// ahead is the factor by which the draw will have grown in so many days.
func (w *trend) ahead(days float64) float64 {
	return math.Exp(w.Growth * growthLasts * -math.Expm1(-days/growthLasts))
}

// departed is the logarithm of what was asked for a number of days ago against what
// climate and crops make expect; it is not ok where next to nothing was.
func (r *reservoir) departed(day int) (ln float64, ok bool) {
	var asked, wanted float64
	n := len(r.Hours)
	for _, h := range r.Hours[n-24*(day+1) : n-24*day] {
		if h.Wanted < leastWanted {
			return 0, false
		}
		asked, wanted = asked+h.asked(), wanted+h.Wanted
	}
	if asked <= leastDay*24*r.scale() {
		return 0, false
	}
	return math.Log(asked / wanted), true
}
