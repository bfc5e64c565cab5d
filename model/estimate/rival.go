package estimate

import (
	"math"
	"time"

	"wickd/model"
)

// rival is a competing explanation of a bag's readings: the bag as it was at
// Start, carried on under another assumption, without learning.
type rival struct {
	Start    time.Time
	At       time.Time
	Kind     model.Cause
	From     float64 // storage at Start, cm³
	S        float64 // storage, cm³
	LnHealth float64
	Was      float64 // LnHealth of the filter at Start
	LnDemand float64
	Offset   float64
	Warm     float64 // what the probe reads by its warmth, m³/m³ per K
	Keen     float64 // ln of the most wick health that the keen filter could believe at Start
	Booked   uptakes // the filter's at Start; zero: not to be taken over
	Taken    uptakes // since then, L
	LLR      float64 // log-likelihood of the readings since Start, less the filter's
	Still    float64 // the same of a bag that stays as it was at Start
}

// uptakes are what the plants took, and what they would have taken unstressed, L
// since the start.
type uptakes struct{ Uptake, Potential float64 }

// causeRestored is the rival of a fault: all is well again.
const causeRestored model.Cause = "restored"

// compareAnew ends all explanations that compete with the filter: they began from
// another state than the one that is believed now.
func (b *bag) compareAnew() {
	b.Rivals, b.Dips, b.Knocks, b.Keen = nil, nil, nil, keen{State: b.Base}
}

// weigh carries every rival on to t and weighs the reading against it.
func (b *bag) weigh(t time.Time, y, nu, variance float64) {
	kept := b.Rivals[:0]
	w := weight(t.Sub(b.Spoke))
	for _, r := range b.Rivals {
		if t.Sub(r.Start) > rivalLife {
			continue
		}
		r = b.carry(r, t)
		miss := y - b.reads(r)
		// Both by the filter's innovation variance: a rival may not buy
		// likelihood with vagueness. Huber's bound keeps one glitch from
		// deciding.
		r.LLR += w * (huber(nu*nu/variance) - huber(miss*miss/variance)) / 2
		stays := miss + (r.S-r.From)/b.volume()
		r.Still += w * (huber(nu*nu/variance) - huber(stays*stays/variance)) / 2
		kept = append(kept, r)
	}
	b.Rivals = kept
	b.weighKnocks(t, y, nu, variance, w)
	b.Weighed, b.Spoke = true, t
}

// reads is what the probe of a rival's bag would say.
func (b *bag) reads(r rival) float64 {
	return r.S/b.volume() + r.Offset + r.Warm*b.excess(r.At)
}

func huber(square float64) float64 {
	const bound = 9.0 // 3 sd
	if square <= bound {
		return square
	}
	return 2*math.Sqrt(bound*square) - bound
}

func (b *bag) carry(r rival, t time.Time) rival {
	for r.At.Before(t) {
		next := r.At.Add(stride(t.Sub(r.At)))
		if next.After(t) {
			next = t
		}
		dt := next.Sub(r.At).Hours()
		mm, _ := b.weather.reference(r.At, next)
		rate := b.physics.Demand(r.At, mm) * b.common() * math.Exp(r.LnDemand) / dt
		out := b.physics.Hydraulic.Step(r.S, rate, math.Exp(r.LnHealth), dt)
		r.S = out.Storage
		r.Taken.Uptake += out.TakenUp / 1000
		r.Taken.Potential += rate * dt / 1000
		r.At = next
	}
	return r
}

// best is the rival of a kind that explains the readings best. Of those that do
// so about equally well it is the youngest: before a fault shows, rivals of
// every earlier start agree, and the last of them began nearest to it.
func (b *bag) best(kind model.Cause) (rival, bool) {
	var out rival
	found := false
	for _, r := range b.Rivals {
		if r.Kind == kind && (!found || r.LLR > out.LLR) {
			out, found = r, true
		}
	}
	if !found {
		return out, false
	}
	for _, r := range b.Rivals {
		if r.Kind == kind && r.LLR > out.LLR-equal && r.Start.After(out.Start) {
			r.LLR = out.LLR
			out = r
		}
	}
	return out, true
}

// equal is the difference in log-likelihood that decides nothing (e² to one).
const equal = 2.0
