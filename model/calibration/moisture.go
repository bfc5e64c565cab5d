package calibration

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"wickd/model"
)

// Reading pairs what a probe sent with the water content of the bag then.
type Reading struct {
	Raw   float64
	Water float64 // 0–1
}

// Moisture is the calibration of a moisture probe.
type Moisture struct {
	Points    []model.CalibrationPoint // raw and water content, rising in raw
	Residuals []float64                // of each reading, in the order given
	Scatter   float64                  // standard deviation of the residuals; NaN: too few readings
	// Confidence is half of the 95 % band of the line where it is widest within
	// the readings; NaN: too few readings.
	Confidence float64
	R2         float64
	Curved     bool // a parabola fits credibly better than a line
	Notes      []string
	// Unfit is why it must not be used, and what to measure again; empty: it
	// serves.
	Unfit string
}

// What a litre of dry medium weighs with its tube, g: expanded perlite has 50 and
// more, wet sand 1600 (bulk densities, common practice).
const lightest, heaviest = 30.0, 1800.0

// WaterOf is the water content of a bag by its weight: (weight − dry)/volume, g
// and L. Its error is a bag that no medium fills.
func WaterOf(weight, dry, volume float64) (float64, error) {
	if !(volume > 0) {
		return 0, fmt.Errorf("water content: a volume of %g L; give that of the medium in the bag", volume)
	}
	if each := dry / volume; !(each >= lightest && each <= heaviest) {
		return 0, fmt.Errorf("water content: %g g of dry bag for %g L of medium is %.3g g for a litre, and no medium has less than %.0f or more than %.0f; check the weight, its unit and the volume",
			dry, volume, each, lightest, heaviest)
	}
	w := (weight - dry) / (1000 * volume)
	if !(w > -0.02 && w < 1.02) {
		return 0, fmt.Errorf("water content: %g g with %g g dry in %g L is %.0f %%; check the weights, their unit and the volume", weight, dry, volume, 100*w)
	}
	return math.Max(0, math.Min(1, w)), nil
}

// FitMoisture fits a calibration to two readings or more. Two are dry and wet
// points: a line through them, whose error nothing shows. With six or more a
// parabola is tried, and taken where an F test at 1 % asks for it and it keeps
// rising or falling over the readings; its points then follow it closely.
func FitMoisture(readings []Reading) (Moisture, error) {
	if err := check(readings); err != nil {
		return Moisture{}, err
	}
	line, err := polynomial(readings, 1)
	if err != nil {
		return Moisture{}, err
	}
	best := line
	m := Moisture{}
	if len(readings) >= 6 {
		if curve, err := polynomial(readings, 2); err == nil && curve.monotone() && curve.beats(line) {
			best, m.Curved = curve, true
		}
	}
	m.Residuals, m.R2 = best.residuals(readings), best.r2
	m.Scatter, m.Confidence = best.scatter(), best.confidence()
	m.Points = best.points()
	m.note(readings)
	m.Unfit = m.judge(readings, !m.Curved)
	return m, nil
}

// mostRaw is more than any converter counts: they have 24 bits at most.
const mostRaw = 1e9

func check(readings []Reading) error {
	if len(readings) < 2 {
		return fmt.Errorf("calibrate a probe: two readings are the least, one dry and one wet; there is only %d", len(readings))
	}
	low, high, moves := 1.0, 0.0, false
	for i, r := range readings {
		if !(math.Abs(r.Raw) <= mostRaw) || !(r.Water >= 0 && r.Water <= 1) {
			return fmt.Errorf("calibrate a probe: reading %d (%g, %g): raw has to be a number within ±%g and water a share from 0 to 1", i+1, r.Raw, r.Water, mostRaw)
		}
		low, high, moves = math.Min(low, r.Water), math.Max(high, r.Water), moves || r.Raw != readings[0].Raw
	}
	if !moves {
		return errors.New("calibrate a probe: it sent the same number every time; is it stuck")
	}
	const least = 0.05
	if high-low < least {
		return fmt.Errorf("calibrate a probe: the readings lie between %.0f and %.0f %% water; let the bag dry further, at least 5 %% apart", 100*low, 100*high)
	}
	return nil
}

func (m *Moisture) note(readings []Reading) {
	low, high := readings[0].Water, readings[0].Water
	for _, r := range readings {
		low, high = math.Min(low, r.Water), math.Max(high, r.Water)
	}
	if len(readings) == 2 {
		m.Notes = append(m.Notes, "Two points show no error of their own; weigh the bag on three more days while it dries.")
	}
	if high-low < 0.2 {
		m.Notes = append(m.Notes, fmt.Sprintf("The readings span %.0f to %.0f %% water only; beyond them the line is a guess.", 100*low, 100*high))
	}
	if m.R2 >= leastR2 && m.R2 < 0.9 {
		m.Notes = append(m.Notes, fmt.Sprintf("R² is %.2f: the probe and the balance do not agree well. Press the probe in anew, without air beside it, and repeat.", m.R2))
	}
}

// fit is a polynomial in the scaled raw value u = (raw − middle)/half, −1 to 1.
type fit struct {
	coefficients []float64
	middle, half float64
	n            int
	rest         float64 // sum of squares left
	r2           float64
	covariance   *mat.Dense // of the coefficients, per unit of variance
}

func polynomial(readings []Reading, degree int) (fit, error) {
	low, high := readings[0].Raw, readings[0].Raw
	mean := 0.0
	for _, r := range readings {
		low, high = math.Min(low, r.Raw), math.Max(high, r.Raw)
		mean += r.Water / float64(len(readings))
	}
	f := fit{middle: (low + high) / 2, half: (high - low) / 2, n: len(readings)}
	a := mat.NewDense(f.n, degree+1, nil)
	b := mat.NewDense(f.n, 1, nil)
	for i, r := range readings {
		for k := range degree + 1 {
			a.Set(i, k, math.Pow(f.scaled(r.Raw), float64(k)))
		}
		b.Set(i, 0, r.Water)
	}
	var x, normal, inverse mat.Dense
	if err := x.Solve(a, b); err != nil {
		return fit{}, fmt.Errorf("calibrate a probe: %w; use readings at more different moistures", err)
	}
	normal.Mul(a.T(), a)
	if err := inverse.Inverse(&normal); err != nil {
		return fit{}, fmt.Errorf("calibrate a probe: %w; use readings at more different moistures", err)
	}
	f.covariance = &inverse
	f.coefficients = append(f.coefficients, x.RawMatrix().Data...)
	total := 0.0
	for _, r := range readings {
		f.rest += math.Pow(r.Water-f.at(r.Raw), 2)
		total += math.Pow(r.Water-mean, 2)
	}
	f.r2 = 1 - f.rest/total
	return f, nil
}

func (f fit) scaled(raw float64) float64 { return (raw - f.middle) / f.half }

func (f fit) at(raw float64) float64 {
	u, sum := f.scaled(raw), 0.0
	for k := len(f.coefficients) - 1; k >= 0; k-- {
		sum = sum*u + f.coefficients[k]
	}
	return sum
}

func (f fit) free() int { return f.n - len(f.coefficients) }

func (f fit) residuals(readings []Reading) []float64 {
	var all []float64
	for _, r := range readings {
		all = append(all, r.Water-f.at(r.Raw))
	}
	return all
}

func (f fit) scatter() float64 {
	if f.free() < 1 {
		return math.NaN()
	}
	return math.Sqrt(f.rest / float64(f.free()))
}

// confidence is half of the widest 95 % band of the mean within the readings.
func (f fit) confidence() float64 {
	if f.free() < 1 {
		return math.NaN()
	}
	t := distuv.StudentsT{Nu: float64(f.free()), Sigma: 1}.Quantile(0.975)
	widest := 0.0
	for _, u := range []float64{-1, -0.5, 0, 0.5, 1} {
		variance := 0.0
		for i := range f.coefficients {
			for j := range f.coefficients {
				variance += math.Pow(u, float64(i+j)) * f.covariance.At(i, j)
			}
		}
		widest = math.Max(widest, variance)
	}
	return t * f.scatter() * math.Sqrt(widest)
}

// monotone says that a parabola has its turning point outside the readings.
func (f fit) monotone() bool {
	b, c := f.coefficients[1], f.coefficients[2]
	return math.Abs(b) > 2*math.Abs(c)
}

// beats is the F test of one more coefficient at 1 %.
func (f fit) beats(simpler fit) bool {
	const level = 0.99
	if f.rest <= 1e-12 {
		return simpler.rest > 1e-6
	}
	ratio := (simpler.rest - f.rest) / (f.rest / float64(f.free()))
	return ratio > distuv.F{D1: 1, D2: float64(f.free())}.Quantile(level)
}

// points are the ends of a line, or five points of a parabola, which straight
// pieces between them leave by less than 1/64 of its bend.
func (f fit) points() []model.CalibrationPoint {
	steps := 1
	if len(f.coefficients) > 2 {
		steps = 4
	}
	var all []model.CalibrationPoint
	for i := range steps + 1 {
		raw := f.middle + f.half*(2*float64(i)/float64(steps)-1)
		all = append(all, model.CalibrationPoint{Raw: raw, Value: f.at(raw)})
	}
	return all
}
