package solution

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"
)

// kclTemperatures are those of the tables of KCl, °C.
func kclTemperatures() []float64 { return []float64{0, 5, 10, 15, 20, 25, 35} }

// StandardKCl is the EC at a temperature, 0–35 °C, of a potassium chloride
// standard whose bottle states label at 25 °C, mS/cm (0.1 to 20: 1.413 and 12.88
// are usual). The course with temperature is that of primary data for 0.01 and
// 0.1 mol/kg (Pratt et al. 2001, Pure Appl. Chem. 73:1783 [P]), by a spline
// between the temperatures and by the logarithm of the strength between and
// beyond the two, which differ by 1.2 % at 0 °C.
func StandardKCl(label, celsius float64) (float64, error) {
	if !(label >= 0.1 && label <= 20) {
		return 0, fmt.Errorf("KCl standard of %g mS/cm: the tables serve 0.1 to 20 mS/cm, for example 1.413", label)
	}
	if !(celsius >= 0 && celsius <= 35) {
		return 0, fmt.Errorf("KCl standard at %g °C: the tables serve 0 to 35 °C", celsius)
	}
	weak, err := relative([]float64{772.92, 890.96, 1013.95, 1141.45, 1273.03, 1408.23, 1687.79}, celsius)
	if err != nil {
		return 0, err
	}
	strong, err := relative([]float64{7116.85, 8183.70, 9291.72, 10437.1, 11615.9, 12824.6, 15316.0}, celsius)
	if err != nil {
		return 0, err
	}
	const weakEC, strongEC = 1.40823, 12.8246
	share := math.Log(label/weakEC) / math.Log(strongEC/weakEC)
	share = math.Max(-1, math.Min(1.2, share))
	return label * (weak + share*(strong-weak)), nil
}

// relative is a column of the table at a temperature over that at 25 °C.
func relative(column []float64, celsius float64) (float64, error) {
	var spline interp.NaturalCubic
	if err := spline.Fit(kclTemperatures(), column); err != nil {
		return 0, fmt.Errorf("KCl standard: %w", err)
	}
	return spline.Predict(celsius) / spline.Predict(25), nil
}

// buffer is a table of a pH buffer against temperature.
type buffer struct {
	name string
	pH   []float64 // at bufferTemperatures
}

func bufferTemperatures() []float64 { return []float64{10, 15, 20, 25, 30, 35, 40} }

// buffers are the reference buffers of NIST (phthalate, phosphate, borax; also
// DIN 19266) and the round ones that colour-coded bottles hold. From memory [M],
// good to 0.01; the table on the bottle goes first.
func buffers() []buffer {
	return []buffer{
		{"4.01", []float64{4.00, 4.00, 4.00, 4.01, 4.015, 4.02, 4.03}},
		{"6.86", []float64{6.923, 6.900, 6.881, 6.865, 6.853, 6.844, 6.838}},
		{"7.00", []float64{7.06, 7.04, 7.02, 7.00, 6.99, 6.98, 6.97}},
		{"9.18", []float64{9.332, 9.276, 9.225, 9.180, 9.139, 9.102, 9.068}},
		{"10.01", []float64{10.18, 10.12, 10.06, 10.01, 9.97, 9.93, 9.89}},
	}
}

// BufferPH is the pH of a buffer, known by its value at 25 °C, at a temperature,
// 10–40 °C: 4.01, 6.86, 7.00, 9.18 or 10.01, give or take 0.02.
func BufferPH(nominal, celsius float64) (float64, error) {
	at := bufferTemperatures()
	if !(celsius >= at[0] && celsius <= at[len(at)-1]) {
		return 0, fmt.Errorf("buffer at %g °C: bring it to 10 to 40 °C", celsius)
	}
	for _, b := range buffers() {
		if math.Abs(b.pH[3]-nominal) > 0.021 {
			continue
		}
		var line interp.PiecewiseLinear
		if err := line.Fit(at, b.pH); err != nil {
			return 0, fmt.Errorf("buffer: %w", err)
		}
		return line.Predict(celsius), nil
	}
	return 0, fmt.Errorf("a buffer of pH %.2f has no table here; there are 4.01, 6.86, 7.00, 9.18 and 10.01", nominal)
}

// NernstSlope is the voltage of an ideal glass electrode, mV for each unit of
// pH: ln 10·R·T/F, 59.16 at 25 °C.
func NernstSlope(celsius float64) float64 {
	const gas, faraday = 8.314462618, 96485.33212 // J/(mol·K), C/mol; exact since 2019
	return math.Ln10 * gas * (celsius + 273.15) / faraday * 1000
}
