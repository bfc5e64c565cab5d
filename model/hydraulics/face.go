package hydraulics

import "math"

// face is the boundary between two cells, or between an end cell and the
// outside: the flow upward through it, cm³/h, and its slopes in the head on
// either side, cm²/h. In a Picard iteration the slopes leave K as it is.
type face struct {
	flow, below, above float64
}

// half is a conductor between two heads a (below) and b (above) some distance
// apart, of one material.
type half struct {
	potential *potential
	factor    float64 // area/distance × contact, cm
	distance  float64
}

// face is the flow by Darcy's law with the mean conductivity over the heads
// between the two ends.
func (l half) face(a, b, ka, kb float64, newton bool) face {
	k, da, db := l.potential.mean(a, b, ka, kb)
	drop := a - b - l.distance
	f := face{flow: l.factor * k * drop, below: l.factor * k, above: -l.factor * k}
	if newton {
		f.below += l.factor * da * drop
		f.above += l.factor * db * drop
	}
	return f
}

// faces fills the flows and slopes at the iterate.
func (c *Column) faces(f Forcing) {
	w := &c.work
	n := len(c.cells)
	for i := 1; i < n; i++ {
		if c.uniform[i] {
			a, b := &c.cells[i-1], &c.cells[i]
			l := half{c.potentials[i], c.contact(i, f) / (0.5*a.Thickness/a.Area + 0.5*b.Thickness/b.Area), 0.5 * (a.Thickness + b.Thickness)}
			w.face[i] = l.face(w.h[i-1], w.h[i], w.conduct[i-1], w.conduct[i], w.newton)
			continue
		}
		w.face[i] = c.junction(i, f)
	}
	w.face[0], w.face[n] = face{flow: fixed(f.Bottom) * c.cells[0].Area}, face{flow: fixed(f.Top) * c.cells[n-1].Area}
	if f.Bottom.Kind == FixedHead {
		w.face[0] = c.outer(0, f).face(f.Bottom.Value, w.h[0], c.cells[0].Material.Conductivity(f.Bottom.Value), w.conduct[0], w.newton)
	}
	if f.Top.Kind == FixedHead {
		w.face[n] = c.outer(n-1, f).face(w.h[n-1], f.Top.Value, w.conduct[n-1], c.cells[n-1].Material.Conductivity(f.Top.Value), w.newton)
	}
}

func fixed(b Boundary) float64 {
	if b.Kind == FixedFlux {
		return b.Value
	}
	return 0
}

func (c *Column) contact(i int, f Forcing) float64 {
	if c.cells[i].Wick {
		return f.Contact
	}
	return 1
}

// outer is the half of cell i towards one of its faces.
func (c *Column) outer(i int, f Forcing) half {
	cell := &c.cells[i]
	return half{c.potentials[i], c.contact(i, f) * cell.Area / (cell.Thickness / 2), cell.Thickness / 2}
}

// junction is the face between two materials: the head on it is the one at
// which both half cells pass the same flow.
func (c *Column) junction(i int, f Forcing) face {
	w := &c.work
	lower, upper := c.outer(i-1, f), c.outer(i, f)
	if lower.factor == 0 || upper.factor == 0 {
		return face{}
	}
	a, b := w.h[i-1], w.h[i]
	// The lower half passes nothing at lo, the upper half nothing at hi.
	lo, hi := a-lower.distance, b+upper.distance
	if lo > hi {
		lo, hi = hi, lo
	}
	h := math.Max(lo, math.Min(hi, w.junction[i]))
	var below, above face
	for range 60 {
		below = lower.face(a, h, w.conduct[i-1], lower.potential.material.Conductivity(h), true)
		above = upper.face(h, b, upper.potential.material.Conductivity(h), w.conduct[i], true)
		miss := below.flow - above.flow // falls as h rises
		if miss > 0 {
			lo = h
		} else {
			hi = h
		}
		next := h - miss/(below.above-above.below)
		if !(next >= lo && next <= hi) {
			next = 0.5 * (lo + hi)
		}
		moved := math.Abs(next - h)
		h = next
		if moved <= 1e-10*(1+math.Abs(h)) {
			break
		}
	}
	w.junction[i] = h
	return series(below, above, w.newton)
}

// series joins two conductors whose flows agree but for the last error of the
// head between them. That error is eliminated: where one side conducts a
// million times better, its flow alone would be nothing but error.
func series(below, above face, newton bool) face {
	sum := above.below - below.above
	if sum <= 0 {
		return face{flow: 0.5 * (below.flow + above.flow)}
	}
	f := face{flow: (below.flow*above.below - above.flow*below.above) / sum}
	f.below = below.below * above.below / sum
	f.above = below.above * -above.above / sum
	if !newton {
		g := math.Min(f.below, -f.above)
		f.below, f.above = g, -g
	}
	return f
}
