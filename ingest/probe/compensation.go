package probe

import (
	"fmt"

	"gonum.org/v1/gonum/interp"
)

// DefaultCoefficient of linear temperature compensation, 1/K: "about 2.0 %/K
// are most common" (meter manuals [P]).
const DefaultCoefficient = 0.02

// Bounds of the natural-water table (ISO 7888:1985, EN 27888:1993): below the
// strength of most nutrient solutions.
const (
	naturalWaterLowest  = 0.060 // mS/cm
	naturalWaterHighest = 1.000 // mS/cm
)

// naturalWater is, over the temperature, the factor f25 of ISO 7888/EN 27888 for natural waters, as
// meter manuals reprint it.
func naturalWater() (celsius, factor []float64) {
	return []float64{0, 5, 10, 15, 20, 22, 25, 28, 30, 35},
		[]float64{1.918, 1.643, 1.428, 1.256, 1.116, 1.067, 1.000, 0.940, 0.903, 0.822}
}

// Compensation brings the electrical conductivity of a solution to 25 °C.
type Compensation struct {
	coefficient float64                 // 1/K
	table       *interp.PiecewiseLinear // f25 over °C, in place of the coefficient; nil: none
}

// Linear compensates by EC25 = EC/(1 + a·(T − 25)) with a in 1/K, which has to
// lie in 0.005–0.05; 0 stands for DefaultCoefficient. Valid for 0–50 °C.
func Linear(a float64) (Compensation, error) {
	if a == 0 {
		a = DefaultCoefficient
	}
	if a < 0.005 || a > 0.05 {
		return Compensation{}, fmt.Errorf("temperature coefficient of EC is %g per K; solutions have 0.015 to 0.025, for example 2 %%/K", a)
	}
	return Compensation{coefficient: a}, nil
}

// NaturalWater compensates by the table of ISO 7888, for 0–35 °C and a
// conductivity of 60–1000 µS/cm at the temperature measured. It is interpolated
// linearly, which between its points 5 K apart is off by 0.5 % at most.
func NaturalWater() Compensation {
	var table interp.PiecewiseLinear
	_ = table.Fit(naturalWater()) // panics on a table that does not rise, and has no other error
	return Compensation{table: &table}
}

// To25 is the conductivity at 25 °C of a solution that has ec (mS/cm) at
// temperature (°C). Outside the range of the method it is an error.
func (c Compensation) To25(ec, temperature float64) (float64, error) {
	factor, err := c.factor(temperature)
	if err != nil {
		return 0, err
	}
	if c.table != nil && (ec < naturalWaterLowest || ec > naturalWaterHighest) {
		return 0, fmt.Errorf("compensate EC: %g mS/cm is outside 0.06–1 mS/cm, for which the natural-water table is made", ec)
	}
	return ec * factor, nil
}

// factor is EC25/EC.
func (c Compensation) factor(temperature float64) (float64, error) {
	highest := 50.0
	if c.table != nil {
		highest = 35
	}
	if !(temperature >= 0 && temperature <= highest) {
		return 0, fmt.Errorf("compensate EC: %g °C is outside 0–%g °C", temperature, highest)
	}
	if c.table != nil {
		return c.table.Predict(temperature), nil
	}
	return 1 / (1 + c.coefficient*(temperature-25)), nil
}
