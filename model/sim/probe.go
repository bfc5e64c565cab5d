package sim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"time"

	"wickd/model"
	"wickd/model/unit"
)

// noise is how a kind of sensor errs, in the canonical unit of its quantity.
type noise struct {
	absolute   float64 // standard deviation
	relative   float64 // of the value
	resolution float64 // of what it prints
}

// MoistureNoise is the standard deviation of the white noise of a moisture probe,
// m³/m³ (common practice).
const MoistureNoise = 0.008

// noiseOf are figures of inexpensive sensors (common practice: data sheets give
// such repeatabilities; no single source).
func noiseOf(q model.Quantity) noise {
	switch q {
	case model.Moisture:
		return noise{absolute: MoistureNoise, resolution: 0.001}
	case model.Level:
		return noise{absolute: 1, resolution: 0.1}
	case model.EC:
		return noise{relative: 0.015, resolution: 0.001}
	case model.PH:
		return noise{absolute: 0.03, resolution: 0.01}
	case model.Temperature:
		return noise{absolute: 0.2, resolution: 0.1}
	case model.Humidity:
		return noise{absolute: 0.015, resolution: 0.01}
	default:
		return noise{relative: 0.02, resolution: 1}
	}
}

// probe is one sensor with its own errors.
type probe struct {
	sensor   model.Sensor
	unit     unit.Unit
	noise    noise
	decimals int
	offset   float64 // of this probe, canonical unit
	rng      *rand.Rand
	read     func() float64 // the truth, canonical unit
	last     string         // number sent last
	held     float64        // what it measured last, but for noise
}

func newProbe(s model.Sensor, read func() float64, o Options) (*probe, error) {
	p := &probe{sensor: s, noise: noiseOf(s.Quantity), rng: stream(o.Seed, "probe/"+string(s.ID)), read: read}
	dimension := unit.Of(s.Quantity)
	if dimension == nil {
		return nil, fmt.Errorf("sensor %s: %q cannot be simulated", s.ID, s.Quantity)
	}
	p.unit = dimension.Canonical()
	if s.Unit != "" {
		var err error
		if p.unit, err = dimension.Lookup(s.Unit); err != nil {
			return nil, fmt.Errorf("sensor %s: %w", s.ID, err)
		}
	}
	if s.Quantity == model.Moisture {
		p.offset = o.Scatter.Offset * p.rng.NormFloat64()
	}
	p.decimals = decimals(p.noise.resolution * p.unit.Div / p.unit.Mul * steepness(s.Calibration))
	return p, nil
}

// decimals is how many places a number needs to show a resolution.
func decimals(resolution float64) int {
	const rounding = 1e-9
	return int(math.Min(6, math.Max(0, math.Ceil(-math.Log10(resolution)-rounding))))
}

// number is what the probe sends at t. The noise is drawn whatever else is
// wrong, so that a fault changes nothing beyond itself.
func (p *probe) number(faults schedule, t time.Time) string {
	white := p.rng.NormFloat64()
	id := p.sensor.ID
	if faults.active(ProbeStuck, id, t) && p.last != "" {
		return p.last
	}
	p.last = p.print(p.sense(white, faults, t))
	if failed := faults.on(ProbeError, id, t); len(failed) > 0 {
		p.last = strconv.FormatFloat(orElse(failed[0].Size, errorNumber), 'f', -1, 64)
	}
	return p.last
}

// sense is the value in the canonical unit with all its errors.
func (p *probe) sense(white float64, faults schedule, t time.Time) float64 {
	id := p.sensor.ID
	value := p.read() + p.offset
	if faults.active(ProbeJammed, id, t) && p.last != "" {
		value = p.held
	}
	p.held = value
	for _, f := range faults.on(ProbeLostContact, id, t) {
		value *= f.Size
	}
	for _, f := range faults.on(ProbeDrift, id, t) {
		value += f.Size * t.Sub(f.Start).Hours() / 24
	}
	value += white * (p.noise.absolute + p.noise.relative*math.Abs(value))
	low, high := unit.Plausible(p.sensor.Quantity)
	if p.sensor.Quantity == model.Radiation {
		low = 0
	}
	return math.Min(high, math.Max(low, value))
}

// print turns a value into what the sensor sends: in its unit, before its
// calibration, rounded.
func (p *probe) print(value float64) string {
	raw := rawOf(p.sensor.Calibration, p.unit.FromCanonical(value))
	scale := math.Pow(10, float64(p.decimals))
	// Adding 0 turns −0 into 0.
	return strconv.FormatFloat(math.Round(raw*scale)/scale+0, 'f', p.decimals, 64)
}

// rawOf is the number that a calibration turns into value: linear between the
// points and, along the nearest two, beyond them.
func rawOf(points []model.CalibrationPoint, value float64) float64 {
	if len(points) < 2 {
		return value
	}
	rising := points[len(points)-1].Value > points[0].Value
	i := 1
	for i < len(points)-1 && (points[i].Value < value) == rising {
		i++
	}
	a, b := points[i-1], points[i]
	return a.Raw + (value-a.Value)*(b.Raw-a.Raw)/(b.Value-a.Value)
}

// steepness is the least change of raw per change of value; 1 uncalibrated.
func steepness(points []model.CalibrationPoint) float64 {
	if len(points) < 2 {
		return 1
	}
	least := math.Inf(1)
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		least = math.Min(least, math.Abs((b.Raw-a.Raw)/(b.Value-a.Value)))
	}
	return least
}
