package twin

import (
	"time"

	"wickd/model"
	"wickd/model/sim"
)

// showing is the water content, m³/m³, that plants must have taken from a bag
// without supply before anything can be seen of it: half the noise of a
// capacitive probe. By night that may be half a day after the fault.
const showing = 0.005

// shows is when a lost supply could be seen first; false: the faults are of
// another kind, or it never could.
func (w *witness) shows() (time.Time, bool) {
	then, ok := w.truthAt(w.at)
	if !ok || len(w.faults) == 0 || !starves(w.faults[0].Kind) {
		return time.Time{}, false
	}
	for _, now := range w.truth {
		if now.Time.After(w.at) && w.missed(then, now) >= showing {
			return now.Time, true
		}
	}
	return time.Time{}, false
}

func starves(k sim.FaultKind) bool { return k == sim.WickLostContact || k == sim.ChannelDry }

// dries is how long after a fault of its supply a bag is dry that was not near
// it when the fault began; 0: none is.
func (w *witness) dries() time.Duration {
	then, ok := w.truthAt(w.at)
	if !ok {
		return 0
	}
	for _, now := range w.truth {
		if !now.Time.After(w.at) {
			continue
		}
		for i, b := range now.Bags {
			limit := w.limits[b.ID]
			if w.concerns(model.BagSubject(b.ID)) && then.Bags[i].WaterContent > limit+near && b.WaterContent < limit {
				return now.Time.Sub(w.at)
			}
		}
	}
	return 0
}

// InTime says that a fault of the supply was found before a bag was dry of it.
func (o Outcome) InTime() bool { return o.Dries == 0 || o.Found && o.Delay <= o.Dries }

// missed is what the bags that a fault hits took up between two times, as the
// mean share of their volume.
func (w *witness) missed(then, now sim.Truth) float64 {
	sum, n := 0.0, 0
	for i, b := range now.Bags {
		if w.concerns(model.BagSubject(b.ID)) && b.Storage > 0 {
			sum += (b.Uptake - then.Bags[i].Uptake) * b.WaterContent / b.Storage
			n++
		}
	}
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}
