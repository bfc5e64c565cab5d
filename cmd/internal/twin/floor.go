package twin

import (
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/mat"

	"wickd/model/design"
	"wickd/model/sim"
)

// What a bag drank can be known no better than its probe tells it, whoever reads
// the probe. For a mean of normal errors the least of them is the information of
// the readings and of what was known before (van Trees, Detection, Estimation, and
// Modulation Theory, part I, 1968, section 2.4, "Bayesian Cramér–Rao bound").
//
// The reader supposed here knows far more than wickd: the true demand of every step
// but for a factor of each bag, the true model, what all plants and wicks of the
// house have in common, the size of every scatter, what all sound bags drank
// together, and at the beginning already all that is read until the end.

// Unknowns of a bag to that reader.
const (
	byDemand = iota // ln of its plants' demand
	byHealth        // ln of its wicks' health
	byOffset        // of its probe, m³/m³
	byWarmth        // what its probe follows the air's temperature, m³/m³ per K
	unknowns
)

// followsWarmth is how far a probe may follow its temperature, m³/m³ per K, as a
// standard deviation: capacitive ones are reported with 0.0003 and more [M]. Those
// of the simulated site do not, which its readings have to show.
const (
	followsWarmth  = 0.0003
	followsNothing = 1e-6 // next to it
)

// calibrated is the temperature, °C, of the room that probes are calibrated in.
const calibrated = 20.0

// nudge is the step of the differences, of a logarithm.
const nudge = 0.005

// meanOfNormal is the mean absolute value of a standard normal variable.
var meanOfNormal = math.Sqrt(2 / math.Pi)

// course is what a bag with given plants and wicks does.
type course struct {
	water  []float64 // after every step, m³/m³
	uptake float64   // in the judged time, L
}

// fed is the error of the uptake of a sound bag whose supply never failed, and the
// least that it could be expected to have, relative.
type fed struct {
	bag   int // its index
	Miss  float64
	Least float64 // of probes that may follow their temperature
	Cool  float64 // of probes that are known not to
}

// alwaysFed says that a bag had a supply all along. One that had none tells what it
// drinks by what it loses.
func (w *witness) alwaysFed(i int) bool {
	return !slices.ContainsFunc(w.truth, func(t sim.Truth) bool { return !t.Bags[i].Fed })
}

// floor gives the bags that were always fed the least error that they could have.
func (w *witness) floor(o *Outcome) error {
	least, err := w.least(o.Fed, followsWarmth)
	if err != nil {
		return err
	}
	cool, err := w.least(o.Fed, followsNothing)
	if err != nil {
		return err
	}
	for k := range o.Fed {
		o.Fed[k].Least, o.Fed[k].Cool = least[k], cool[k]
	}
	return nil
}

// least is the least mean error, relative, with which the uptake of each bag can be
// told by a reader to whom probes may follow their temperature by so much.
func (w *witness) least(bags []fed, warmth float64) ([]float64, error) {
	first, last, _ := w.judged()
	variances, took := make([]float64, len(bags)), make([]float64, len(bags))
	total := 0.0
	for k, f := range bags {
		v, err := w.boundOf(f.bag, warmth, first, last)
		if err != nil {
			return nil, err
		}
		variances[k], took[k] = v, w.truth[last].Bags[f.bag].Uptake-w.truth[first].Bags[f.bag].Uptake
		total += v * sq(took[k])
	}
	errs := make([]float64, len(bags))
	for k, v := range variances {
		// What all drank together is known: their errors add up to nothing.
		errs[k] = meanOfNormal * math.Sqrt(math.Max(0, v-sq(v*took[k])/total))
	}
	return errs, nil
}

// boundOf is the least variance of a bag's relative error.
func (w *witness) boundOf(i int, warmth float64, first, last int) (float64, error) {
	p := w.physics.Bags[i]
	usual := w.course(i, p, 0, 0, first, last)
	demand := w.course(i, p, nudge, 0, first, last)
	health := w.course(i, p, 0, nudge, first, last)
	known := sim.TypicalScatter()
	priors := [unknowns]float64{
		byDemand: math.Hypot(known.Demand, known.Canopy),
		byHealth: known.Wick,
		byOffset: known.Offset,
		byWarmth: warmth,
	}
	information := mat.NewSymDense(unknowns, nil)
	for x, sd := range priors {
		information.SetSym(x, x, 1/sq(sd))
	}
	readings := (1 - w.loss) / sq(sim.MoistureNoise) // per step
	for k := range last + 1 {
		row := mat.NewVecDense(unknowns, []float64{
			byDemand: (demand.water[k] - usual.water[k]) / nudge,
			byHealth: (health.water[k] - usual.water[k]) / nudge,
			byOffset: 1,
			byWarmth: w.truth[k].Air.Temperature - calibrated,
		})
		information.SymRankOne(information, readings, row)
	}
	gradient := mat.NewVecDense(unknowns, []float64{
		byDemand: (demand.uptake - usual.uptake) / nudge / usual.uptake,
		byHealth: (health.uptake - usual.uptake) / nudge / usual.uptake,
		byOffset: 0,
		byWarmth: 0,
	})
	var c mat.Cholesky
	if !c.Factorize(information) {
		return 0, fmt.Errorf("the information on bag %s is not positive definite", p.Bag.ID)
	}
	var solved mat.VecDense
	if err := c.SolveVecTo(&solved, gradient); err != nil {
		return 0, fmt.Errorf("invert the information on bag %s: %w", p.Bag.ID, err)
	}
	return mat.Dot(gradient, &solved), nil
}

// course runs the quick model of a bag through the truth, with plants and wicks that
// differ by a little.
func (w *witness) course(i int, p *design.Bag, lnDemand, lnHealth float64, first, last int) course {
	h := p.Hydraulic
	s := h.Store.Equilibrium(p.Lift)
	out := course{water: make([]float64, last+1)}
	for k := range last + 1 {
		b := w.truth[k].Bags[i]
		health := 0.0
		if b.Fed {
			health = b.WickHealth * math.Exp(lnHealth)
		}
		step := h.Step(s, 1000*b.Demand*math.Exp(lnDemand), health, w.every.Hours())
		s = step.Storage
		out.water[k] = h.Store.WaterContent(s)
		if k > first {
			out.uptake += step.TakenUp / 1000
		}
	}
	return out
}

// judged are the steps of the truth between which uptake is judged.
func (w *witness) judged() (first, last int, ok bool) {
	n := len(w.hours)
	if n <= judgedFrom {
		return 0, 0, false
	}
	first, ok = w.stepAt(w.hours[judgedFrom].Time)
	if !ok {
		return 0, 0, false
	}
	last, ok = w.stepAt(w.hours[n-1].Time)
	return first, last, ok
}

// persistence is for how long the forecaster of [witness.persists] looks back: the
// days that there are before the first forecast is judged.
const persistence = judgedFrom * time.Hour

// persists is how far off, relative to the time left, a forecast lies that knows
// the reservoir's true volume, what is left in it at the end, and what was truly
// drawn, and lets the last days go on as they were. What it misses lies in the days
// ahead.
func (w *witness) persists(i int, now, at time.Time) (float64, bool) {
	then, ok := w.truthAt(now.Add(-persistence))
	is, ok2 := w.truthAt(now)
	end, ok3 := w.truthAt(at)
	if !ok || !ok2 || !ok3 {
		return 0, false
	}
	drew := then.Reservoirs[i].Volume - is.Reservoirs[i].Volume // nobody refills before the end
	left := is.Reservoirs[i].Volume - end.Reservoirs[i].Volume
	if drew <= 0 {
		return 0, false
	}
	said := left / drew * is.Time.Sub(then.Time).Hours()
	return math.Abs(said/at.Sub(now).Hours() - 1), true
}

func sq(x float64) float64 { return x * x }
