package hydraulics

import (
	"errors"
	"fmt"
	"math"
)

// checkMaterial refuses a material whose curves could not be tabulated.
func checkMaterial(m Material) error {
	if m == nil {
		return errors.New("no material given; name a medium or give its retention figures")
	}
	if v, ok := m.(interface{ Validate() error }); ok {
		if err := v.Validate(); err != nil {
			return err
		}
	}
	for _, h := range []float64{0, -1, -100, -DriestSuction} {
		theta, c, k := stateOf(m, h)
		if bad(theta) || bad(c) || bad(k) || theta < 0 || theta > 1 || k < 0 || c < 0 {
			return fmt.Errorf("material gives θ %g, C %g, K %g at head %g cm; all must be finite and not negative", theta, c, k, h)
		}
	}
	if !(m.Conductivity(0) > 0 && m.Saturated() > m.Residual()) {
		return errors.New("material neither holds nor passes water; check saturated content and conductivity")
	}
	return nil
}

func bad(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) }
