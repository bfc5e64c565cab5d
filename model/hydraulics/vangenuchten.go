package hydraulics

import (
	"errors"
	"fmt"
	"math"
)

// DefaultConnectivity is Mualem's pore connectivity L, the mean over 45 soils
// (Mualem 1976, Water Resour. Res. 12:513).
const DefaultConnectivity = 0.5

// VanGenuchten is the retention function of van Genuchten (1980, Soil Sci.
// Soc. Am. J. 44:892) with the conductivity of Mualem (1976) in closed form,
// m = 1 − 1/n:
//
//	Se = (1 + (α s)ⁿ)^−m,  θ = θr + (θs − θr) Se
//	K  = Ks Se^L [1 − (1 − Se^(1/m))^m]²
//
// with s = −h the suction in cm.
type VanGenuchten struct {
	ResidualTheta  float64 // θr, cm³/cm³, 0 ≤ θr < θs
	SaturatedTheta float64 // θs, cm³/cm³, ≤ 1
	Alpha          float64 // α, 1/cm, > 0
	N              float64 // n, > 1
	Ks             float64 // saturated conductivity, cm/h, > 0
	L              float64 // pore connectivity; 0 means DefaultConnectivity
}

var _ Material = VanGenuchten{}

// Validate names every parameter that is out of range, with a hint.
func (v VanGenuchten) Validate() error {
	var errs []error
	refuse := func(bad bool, format string, args ...any) {
		if bad {
			errs = append(errs, fmt.Errorf(format, args...))
		}
	}
	refuse(!(v.ResidualTheta >= 0 && v.ResidualTheta < 1),
		"residual water content %g: must be at least 0 and below the saturated one, for example 0.08", v.ResidualTheta)
	refuse(!(v.SaturatedTheta > 0 && v.SaturatedTheta <= 1),
		"saturated water content %g: must be a fraction up to 1, for example 0.85 (not per cent)", v.SaturatedTheta)
	refuse(!(v.SaturatedTheta > v.ResidualTheta),
		"saturated water content %g must exceed the residual %g", v.SaturatedTheta, v.ResidualTheta)
	refuse(!(v.Alpha >= minAlpha && v.Alpha <= maxAlpha),
		"alpha %g 1/cm: must lie in %g to %g; 0.05 to 0.4 is usual for potting media", v.Alpha, minAlpha, maxAlpha)
	refuse(!(v.N >= minN && v.N <= maxN),
		"n %g: must lie in %g to %g; 1.3 to 4 is usual for potting media", v.N, minN, maxN)
	refuse(!(v.Ks >= minKs && v.Ks <= maxKs),
		"saturated conductivity %g cm/h: must lie in %g to %g; 10 to 1000 is usual for potting media", v.Ks, minKs, maxKs)
	refuse(!(v.L >= -2 && v.L <= 20),
		"pore connectivity %g: must lie in -2 to 20; 0.5 is usual", v.L)
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("van Genuchten parameters: %w", err)
	}
	return nil
}

// The range in which the tables are tested not to overflow or lose monotony.
// It is far wider than any growing medium.
const (
	minAlpha, maxAlpha = 1e-4, 10.0
	minN, maxN         = 1.05, 12.0
	minKs, maxKs       = 1e-6, 1e6
)

// leastSuction, cm, is as good as none; below it the powers of the curve leave
// the range of a float64.
const leastSuction = 1e-12

func (v VanGenuchten) Saturated() float64 { return v.SaturatedTheta }
func (v VanGenuchten) Residual() float64  { return v.ResidualTheta }

func (v VanGenuchten) Theta(h float64) float64 {
	if h >= 0 {
		return v.SaturatedTheta
	}
	m := 1 - 1/v.N
	se := math.Exp(-m * math.Log1p(math.Pow(-v.Alpha*h, v.N)))
	return v.ResidualTheta + (v.SaturatedTheta-v.ResidualTheta)*se
}

func (v VanGenuchten) Capacity(h float64) float64 {
	_, c, _ := v.state(h)
	return c
}

func (v VanGenuchten) Conductivity(h float64) float64 {
	_, _, k := v.state(h)
	return k
}

// state is θ, C and K with x = (αs)ⁿ. Written so that nothing cancels near
// saturation (x → 0) or overflows when dry (x → ∞): Se^(1/m) = 1/(1+x), hence
// 1 − (1 − Se^(1/m))^m = −expm1(−m·log1p(1/x)).
func (v VanGenuchten) state(h float64) (theta, capacity, conductivity float64) {
	if h > -leastSuction {
		return v.SaturatedTheta, 0, v.Ks
	}
	m, s := 1-1/v.N, -h
	lnx := v.N * math.Log(v.Alpha*s)
	x := math.Exp(lnx)
	ln1x := math.Log1p(x)
	if math.IsInf(x, 1) {
		ln1x = lnx
	}
	se := math.Exp(-m * ln1x)
	span := v.SaturatedTheta - v.ResidualTheta
	theta = v.ResidualTheta + span*se
	capacity = span * m * v.N / s * se * math.Exp(lnx-ln1x)
	pores := -math.Expm1(m * (lnx - ln1x))
	if x > 1 {
		pores = -math.Expm1(-m * math.Log1p(1/x))
	}
	conductivity = v.Ks * math.Exp(-m*v.connectivity()*ln1x) * pores * pores
	return theta, capacity, conductivity
}

func (v VanGenuchten) connectivity() float64 {
	if v.L == 0 {
		return DefaultConnectivity
	}
	return v.L
}
