package calibration

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"

	"wickd/model/hydraulics"
)

// DrainTest is a pot of medium as it was weighed. The pot's own weight cancels,
// as long as it is in every weight.
type DrainTest struct {
	Height    float64 // of the medium in the pot, cm
	Volume    float64 // of the medium, L
	Saturated float64 // g, filled from below to the brim, outlet shut
	Dry       float64 // g, dried until it no longer loses weight
	Drained   []Drained
	ScaleSD   float64 // g; 0: 5, a kitchen balance and drops on the pot
}

// Drained is one weight after it came to rest.
type Drained struct {
	Table  float64 // cm from the pot's base down to the water table; 0: drained freely in air
	Weight float64 // g
}

// Medium is what a drain test shows.
type Medium struct {
	Porosity  Estimated // all pores that filled
	Container Estimated // water left in this pot after draining freely
	Air       Estimated // air in this pot then
	// Curve is the retention; its conductivity is not measured by draining and is
	// left at 0.
	Curve                   hydraulics.VanGenuchten
	Residual, LnAlpha, LnN1 Estimated // θr, ln α (1/cm), ln(n − 1)
	AirAt1kPa, Easy, Buffer Estimated // De Boodt & Verdonck
	Misfit                  float64   // root mean square, water content
	Notes                   []string
	Unfit                   string        // why it must not be used, and what to do again; empty: it serves
	covariance              *mat.SymDense // of θr, ln α, ln(n − 1)
}

// Estimated is a figure with its standard deviation.
type Estimated struct{ Value, SD float64 }

// The prior: potting media from peat to perlite as the literature has them,
// typical order only [M]: residual 0–0.2, α 0.05–0.4 /cm, n 1.2–2.5.
const (
	priorResidual, priorResidualSD = 0.09, 0.05
	priorAlpha, priorAlphaSD       = 0.15, 0.7 // /cm; of its logarithm
	priorN1, priorN1SD             = 0.5, 0.6  // of ln(n − 1)

	scaleSD = 5.0   // g
	modelSD = 0.006 // water content: a pot is not packed evenly, and no curve fits quite
)

// FitDrain fits a retention curve to a drain test. Each drained weight is the
// mean of the curve over the pot's height above the water table,
// θ̄ = 1/H ∫ θ(−z) dz from Table to Table + H, so that tall pots and low water
// tables show the dry end. The fit is the most probable curve under the prior and
// the weighings; standard deviations come from its curvature there.
func FitDrain(t DrainTest) (Medium, error) {
	if err := t.check(); err != nil {
		return Medium{}, err
	}
	m := Medium{}
	sd := t.weighing()
	m.Porosity = Estimated{t.water(t.Saturated), math.Sqrt2 * sd}
	free := t.freely()
	if free >= 0 {
		m.Container = Estimated{t.water(t.Drained[free].Weight), math.Sqrt2 * sd}
		m.Air = Estimated{m.Porosity.Value - m.Container.Value, math.Sqrt2 * sd}
	}
	if err := m.fit(t); err != nil {
		return Medium{}, err
	}
	m.derive()
	m.note(t)
	m.Unfit = m.judge(t)
	return m, nil
}

func (t DrainTest) check() error {
	switch {
	case !(t.Height >= 2 && t.Height <= 100):
		return fmt.Errorf("drain test: a pot of %g cm; 2 to 100 cm of medium serve, 10 to 30 are best", t.Height)
	case !(t.Volume >= 0.1 && t.Volume <= 100):
		return fmt.Errorf("drain test: %g L of medium; 0.1 to 100 L serve", t.Volume)
	case len(t.Drained) == 0:
		return errors.New("drain test: no drained weight; let it drain for two hours, outlet open, and weigh")
	case !(t.water(t.Saturated) > 0.3 && t.water(t.Saturated) <= 1):
		return fmt.Errorf("drain test: saturated holds %.0f %% of the volume; check weights (g) and volume (L)", 100*t.water(t.Saturated))
	case t.ScaleSD < 0 || math.IsNaN(t.ScaleSD):
		return fmt.Errorf("drain test: a balance of ± %g g", t.ScaleSD)
	}
	for _, d := range t.Drained {
		if !(d.Table >= 0 && d.Table <= 300) {
			return fmt.Errorf("drain test: a water table %g cm below the pot; 0 to 300 serve", d.Table)
		}
		if w := t.water(d.Weight); !(w > 0.01 && w < t.water(t.Saturated)) {
			return fmt.Errorf("drain test: drained at %g cm it weighs %g g, which does not lie between dry and saturated", d.Table, d.Weight)
		}
	}
	return nil
}

func (t DrainTest) water(weight float64) float64 { return (weight - t.Dry) / (1000 * t.Volume) }

// weighing is the standard deviation of one weight as water content.
func (t DrainTest) weighing() float64 {
	sd := t.ScaleSD
	if sd == 0 {
		sd = scaleSD
	}
	return sd / (1000 * t.Volume)
}

// freely finds the weight with the table at the base; −1: none.
func (t DrainTest) freely() int {
	for i, d := range t.Drained {
		if d.Table == 0 {
			return i
		}
	}
	return -1
}

// curve turns parameters (θr, ln α, ln(n−1)) into a retention curve.
func curve(x []float64, saturated float64) hydraulics.VanGenuchten {
	residual := math.Max(0, math.Min(x[0], 0.9*saturated))
	return hydraulics.VanGenuchten{
		ResidualTheta: residual, SaturatedTheta: saturated,
		Alpha: math.Exp(clamp(x[1], -6.9, 1.6)), N: 1 + math.Exp(clamp(x[2], -2.5, 2)),
	}
}

func clamp(x, low, high float64) float64 { return math.Max(low, math.Min(high, x)) }

// potMean is the mean water content of a pot, by Simpson's rule.
func potMean(v hydraulics.VanGenuchten, table, height float64) float64 {
	const steps = 60
	sum := 0.0
	for i := range steps + 1 {
		weight := 2.0
		switch {
		case i == 0 || i == steps:
			weight = 1
		case i%2 == 1:
			weight = 4
		}
		sum += weight * v.Theta(-(table + height*float64(i)/steps))
	}
	return sum / (3 * steps)
}

// fit minimises −ln of the posterior probability, up to a constant.
func (m *Medium) fit(t DrainTest) error {
	saturated := m.Porosity.Value
	sd := math.Hypot(math.Sqrt2*t.weighing(), modelSD)
	cost := func(x []float64) float64 {
		v := curve(x, saturated)
		sum := square((x[0]-priorResidual)/priorResidualSD) +
			square((x[1]-math.Log(priorAlpha))/priorAlphaSD) + square((x[2]-math.Log(priorN1))/priorN1SD)
		for _, d := range t.Drained {
			sum += square((potMean(v, d.Table, t.Height) - t.water(d.Weight)) / sd)
		}
		// θr below 0 is no content; the wall keeps the minimum inside.
		return (sum + square(math.Min(0, x[0])/0.005)) / 2
	}
	start := []float64{priorResidual, math.Log(priorAlpha), math.Log(priorN1)}
	found, err := optimize.Minimize(optimize.Problem{Func: cost}, start, &optimize.Settings{
		MajorIterations: 4000, Converger: &optimize.FunctionConverge{Absolute: 1e-9, Iterations: 40},
	}, &optimize.NelderMead{})
	if err != nil && !errors.Is(err, optimize.ErrLinesearcherFailure) {
		return fmt.Errorf("drain test: fit the retention: %w", err)
	}
	x := found.X
	m.Curve = curve(x, saturated)
	for _, d := range t.Drained {
		m.Misfit += square(potMean(m.Curve, d.Table, t.Height)-t.water(d.Weight)) / float64(len(t.Drained))
	}
	m.Misfit = math.Sqrt(m.Misfit)
	return m.uncertainty(cost, x)
}

func square(x float64) float64 { return x * x }

// uncertainty is the inverse of the curvature of the cost at its minimum.
func (m *Medium) uncertainty(cost func([]float64) float64, x []float64) error {
	hessian := mat.NewSymDense(len(x), nil)
	fd.Hessian(hessian, cost, x, &fd.Settings{Step: 1e-3})
	var cholesky mat.Cholesky
	if !cholesky.Factorize(hessian) {
		return errors.New("drain test: the weights leave the retention undetermined; add a drained weight at another height of the pot above the water")
	}
	m.covariance = mat.NewSymDense(len(x), nil)
	if err := cholesky.InverseTo(m.covariance); err != nil {
		return fmt.Errorf("drain test: uncertainty of the retention: %w", err)
	}
	at := func(i int) Estimated { return Estimated{x[i], math.Sqrt(m.covariance.At(i, i))} }
	m.Residual, m.LnAlpha, m.LnN1 = at(0), at(1), at(2)
	return nil
}
