package hydraulics

import "math"

// haverkamp is the sand of Haverkamp et al. 1977 (Soil Sci. Soc. Am. J.
// 41:285).
type haverkamp struct{ thetaR, thetaS, a, b, ks, kb, kg float64 }

func (m haverkamp) Saturated() float64 { return m.thetaS }
func (m haverkamp) Residual() float64  { return m.thetaR }
func (m haverkamp) Theta(h float64) float64 {
	if h >= 0 {
		return m.thetaS
	}
	return m.thetaR + m.a*(m.thetaS-m.thetaR)/(m.a+math.Pow(-h, m.b))
}
func (m haverkamp) Capacity(h float64) float64 {
	if h >= 0 {
		return 0
	}
	p := math.Pow(-h, m.b)
	return m.a * (m.thetaS - m.thetaR) * m.b * p / (-h) / ((m.a + p) * (m.a + p))
}
func (m haverkamp) Conductivity(h float64) float64 {
	if h >= 0 {
		return m.ks
	}
	return m.ks * m.kb / (m.kb + math.Pow(-h, m.kg))
}

// gardner is the exponential medium of Gardner 1958, for which Srivastava & Yeh
// and others have closed solutions.
type gardner struct{ thetaR, thetaS, alpha, ks float64 }

func (m gardner) Saturated() float64 { return m.thetaS }
func (m gardner) Residual() float64  { return m.thetaR }
func (m gardner) Theta(h float64) float64 {
	return m.thetaR + (m.thetaS-m.thetaR)*math.Exp(m.alpha*math.Min(0, h))
}
func (m gardner) Conductivity(h float64) float64 { return m.ks * math.Exp(m.alpha*math.Min(0, h)) }
func (m gardner) Capacity(h float64) float64 {
	if h >= 0 {
		return 0
	}
	return m.alpha * (m.thetaS - m.thetaR) * math.Exp(m.alpha*h)
}

// uniformColumn is depth cm of one medium, 1 cm² across, at one head.
func uniformColumn(m Material, depth float64, n int, h0 float64) ColumnOptions {
	o := ColumnOptions{}
	for range n {
		o.Cells = append(o.Cells, Cell{Thickness: depth / float64(n), Area: 1, Material: m})
		o.Initial = append(o.Initial, h0)
	}
	return o
}

// headAt interpolates a column's head at a height above its bottom.
func headAt(c *Column, z float64) float64 {
	zs, hs := c.Heights(), c.Heads()
	for i := range zs {
		if zs[i] >= z {
			return hs[i-1] + (hs[i]-hs[i-1])*(z-zs[i-1])/(zs[i]-zs[i-1])
		}
	}
	return math.NaN()
}

// powerLaw is Gardner's K = a/(sⁿ + b), with a retention that is only there to
// make it a Material.
type powerLaw struct{ a, b, n float64 }

func (m powerLaw) Saturated() float64 { return 0.4 }
func (m powerLaw) Residual() float64  { return 0.1 }
func (m powerLaw) Theta(h float64) float64 {
	return 0.1 + 0.3/(1-math.Min(0, h))
}
func (m powerLaw) Capacity(h float64) float64 {
	if h >= 0 {
		return 0
	}
	return 0.3 / ((1 - h) * (1 - h))
}
func (m powerLaw) Conductivity(h float64) float64 {
	return m.a / (math.Pow(math.Max(0, -h), m.n) + m.b)
}
