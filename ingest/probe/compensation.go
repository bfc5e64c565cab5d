package probe

import (
	"fmt"
	"sort"
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

// naturalWater is the factor f25 of ISO 7888/EN 27888 for natural waters, as
// meter manuals reprint it.
var naturalWater = []struct{ temperature, factor float64 }{
	{0, 1.918}, {5, 1.643}, {10, 1.428}, {15, 1.256}, {20, 1.116}, {22, 1.067},
	{25, 1.000}, {28, 0.940}, {30, 0.903}, {35, 0.822},
}

// Compensation brings the electrical conductivity of a solution to 25 °C.
type Compensation struct {
	coefficient float64 // 1/K; 0: the natural-water table
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
func NaturalWater() Compensation { return Compensation{} }

// To25 is the conductivity at 25 °C of a solution that has ec (mS/cm) at
// temperature (°C). Outside the range of the method it is an error.
func (c Compensation) To25(ec, temperature float64) (float64, error) {
	factor, err := c.factor(temperature)
	if err != nil {
		return 0, err
	}
	if c.coefficient == 0 && (ec < naturalWaterLowest || ec > naturalWaterHighest) {
		return 0, fmt.Errorf("compensate EC: %g mS/cm is outside 0.06–1 mS/cm, for which the natural-water table is made", ec)
	}
	return ec * factor, nil
}

// factor is EC25/EC.
func (c Compensation) factor(temperature float64) (float64, error) {
	highest := 50.0
	if c.coefficient == 0 {
		highest = 35
	}
	if !(temperature >= 0 && temperature <= highest) {
		return 0, fmt.Errorf("compensate EC: %g °C is outside 0–%g °C", temperature, highest)
	}
	if c.coefficient != 0 {
		return 1 / (1 + c.coefficient*(temperature-25)), nil
	}
	i := sort.Search(len(naturalWater), func(i int) bool { return naturalWater[i].temperature >= temperature })
	i = max(i, 1)
	a, b := naturalWater[i-1], naturalWater[i]
	share := (temperature - a.temperature) / (b.temperature - a.temperature)
	return a.factor*(1-share) + b.factor*share, nil
}
