package calibration

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

const (
	// flat is the chance, two-sided, that a flat line shows such a slope, above
	// which the slope counts for nothing.
	flat = 0.05
	// leastR2 is the share of what the balance saw that a probe has to show: below
	// four fifths a probe is usually not pressed in well (common practice).
	leastR2 = 0.8
	// mostScatter, as water content, is a quarter of the 20 to 30 % of the volume
	// that is easily available in a good medium (De Boodt & Verdonck 1972 [M]): a
	// probe that errs by more cannot tell a bag that is fine from a dry one.
	mostScatter = 0.05
	// mostMisfit, as water content, is when no retention curve joins the weights
	// of a pot: half of what the same medium differs by from pot to pot (common
	// practice).
	mostMisfit = 0.05
	// leastMove is the share of its own value by which a probe moves over the whole
	// range at the least: less is noise or a loose plug.
	leastMove = 0.01
)

// judge says why a calibration must not be used; empty: it serves.
func (m Moisture) judge(readings []Reading, line bool) string {
	const again = "Press the probe in anew, without air beside it, let the bag rest for an hour before each weighing, and weigh it on six days or more while it dries"
	n := len(readings)
	low, high := readings[0].Raw, readings[0].Raw
	for _, r := range readings {
		low, high = math.Min(low, r.Raw), math.Max(high, r.Raw)
	}
	if high-low < leastMove*math.Max(math.Abs(low), math.Abs(high)) {
		return fmt.Sprintf("what the probe sends moves by less than 1 %%, from %.6g to %.6g, while the bag dries: see that it is plugged in and that its value reaches this file with all its digits. %s", low, high, again)
	}
	if n < 3 {
		return ""
	}
	worst := m.worst()
	first := fmt.Sprintf("reading %d lies farthest off, by %+.1f %%: look at that one first", worst+1, 100*m.Residuals[worst])
	if p := chanceOfFlat(m.R2, n); line && p > flat {
		return fmt.Sprintf("what the probe sends does not follow the water: with %d readings so scattered (R² %.2f) a flat line does as well; %s. %s", n, m.R2, first, again)
	}
	if m.R2 < leastR2 || m.Scatter > mostScatter {
		return fmt.Sprintf("the readings lie ±%.1f %% of the volume off the line (R² %.2f), too much to tell a moist bag from a dry one; %s. %s", 100*m.Scatter, m.R2, first, again)
	}
	return ""
}

// worst is the reading that lies farthest off.
func (m Moisture) worst() int {
	at := 0
	for i, r := range m.Residuals {
		if math.Abs(r) > math.Abs(m.Residuals[at]) {
			at = i
		}
	}
	return at
}

// chanceOfFlat is the two-sided chance that n readings without any slope show
// one of such an R²: Student's t with t² = R²(n−2)/(1−R²).
func chanceOfFlat(r2 float64, n int) float64 {
	if r2 >= 1 {
		return 0
	}
	free := float64(n - 2)
	t := math.Sqrt(math.Max(0, r2) * free / (1 - r2))
	return 2 * distuv.StudentsT{Nu: free, Sigma: 1}.Survival(t)
}

func (m Medium) judge(t DrainTest) string {
	const again = "Weigh the pot again at each height, and only when it has lost no more water for an hour"
	for _, a := range t.Drained {
		for _, b := range t.Drained {
			// Both are weighed, and a pot is not packed evenly.
			if more := t.water(b.Weight) - t.water(a.Weight); b.Table > a.Table && more > 3*math.Hypot(math.Sqrt2*t.weighing(), modelSD) {
				return fmt.Sprintf("hung %g cm above the water it weighs %g g, more than the %g g at %g cm: a pot cannot gain water when it hangs higher; have two weights been swapped? %s", b.Table, b.Weight, a.Weight, a.Table, again)
			}
		}
	}
	if m.Misfit > mostMisfit {
		return fmt.Sprintf("no retention curve comes nearer to these weights than %.1f %% of the volume. %s", 100*m.Misfit, again)
	}
	return ""
}
