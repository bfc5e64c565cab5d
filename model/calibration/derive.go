package calibration

import (
	"fmt"
	"math"

	"wickd/model/hydraulics"
)

// derive gives the figures after De Boodt & Verdonck, with the standard
// deviations that the parameters and the porosity leave them.
func (m *Medium) derive() {
	m.AirAt1kPa = m.through(func(a hydraulics.Aeration) float64 { return a.AirSpace })
	m.Easy = m.through(func(a hydraulics.Aeration) float64 { return a.EasilyAvailable })
	m.Buffer = m.through(func(a hydraulics.Aeration) float64 { return a.Buffer })
}

// through carries the covariance of the parameters into a figure by its slopes.
func (m *Medium) through(figure func(hydraulics.Aeration) float64) Estimated {
	x := []float64{m.Residual.Value, m.LnAlpha.Value, m.LnN1.Value}
	of := func(x []float64) float64 { return figure(hydraulics.AerationOf(curve(x, m.Porosity.Value))) }
	const by = 0.01
	slope := make([]float64, len(x))
	for i := range x {
		up, down := append([]float64(nil), x...), append([]float64(nil), x...)
		up[i], down[i] = x[i]+by, x[i]-by
		slope[i] = (of(up) - of(down)) / (2 * by)
	}
	variance := 0.0
	for i := range x {
		for j := range x {
			variance += slope[i] * slope[j] * m.covariance.At(i, j)
		}
	}
	return Estimated{of(x), math.Sqrt(math.Max(0, variance))}
}

func (m *Medium) note(t DrainTest) {
	heights := map[float64]bool{}
	for _, d := range t.Drained {
		heights[d.Table] = true
	}
	if len(heights) < 3 {
		few := "One height of the pot above the water leaves"
		if len(heights) == 2 {
			few = "Two heights of the pot above the water leave"
		}
		m.Notes = append(m.Notes, few+" α and n partly to what is usual of potting media; hang it 10, 20 and 40 cm above the water on a wick of felt as well.")
	}
	if m.Misfit > 0.02 && m.Misfit <= mostMisfit {
		m.Notes = append(m.Notes, fmt.Sprintf("The curve misses the weights by %.1f %% of the volume; was each weighed only when it no longer lost water?", 100*m.Misfit))
	}
	if m.Air.Value > 0 && m.Air.Value < 0.1 {
		m.Notes = append(m.Notes, "In this pot less than 10 % of the medium is air after draining: too wet for most crops.")
	}
}

// Alpha is α with the band of ± one standard deviation, 1/cm.
func (m Medium) Alpha() (value, low, high float64) { return band(m.LnAlpha, 0) }

// N is n with the band of ± one standard deviation.
func (m Medium) N() (value, low, high float64) { return band(m.LnN1, 1) }

func band(e Estimated, add float64) (value, low, high float64) {
	return add + math.Exp(e.Value), add + math.Exp(e.Value-e.SD), add + math.Exp(e.Value+e.SD)
}

// PotMean is the mean water content of a pot of a height, cm, whose base hangs
// table cm above the water, by the fitted curve.
func (m Medium) PotMean(table, height float64) float64 { return potMean(m.Curve, table, height) }
