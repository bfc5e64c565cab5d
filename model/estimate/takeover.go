package estimate

import (
	"math"
	"time"

	"wickd/model"
)

// challenge lets a rival take over that explains the readings decisively
// better. A lost wick is left to the channel to judge first: see channel.go.
func (b *bag) challenge() {
	if r, ok := b.best(causeRestored); ok && r.LLR > decisive/2 && !b.Cut && !b.parched(r) {
		failed := b.failing() || b.weak()
		if more := b.yield(r); failed {
			b.source.mended(r.Start, more, b)
		}
		b.Cause, b.Mended, b.Dried = "", b.Base.Time, r.From
		return
	}
	if b.Cause == model.CauseNotDrinking && b.Base.X[iDemand] > math.Log(drinksAgain) {
		b.Cause = ""
	}
	if k, ok := b.touched(false); ok {
		b.reseat(k)
		return
	}
	if r, ok := b.stopped(); ok {
		b.yield(r)
		b.Cause, b.Since = model.CauseNotDrinking, r.Start
	}
}

// parched says that a bag below its dry limit is as well explained by staying as it
// was when a rival began. Plants that wilt drink less, by how much nobody knows well,
// and a bag that falls no more for that looks fed; one that is fed rises.
func (b *bag) parched(r rival) bool {
	return r.From < b.physics.DryLimit*b.volume() && r.LLR < r.Still+decisive/2
}

// drinksAgain is the demand, as a share of what the other bags' plants ask for,
// at which plants that had stopped are known to drink.
const drinksAgain = 0.5

// wickFault reports a lost wick that explains the readings decisively better
// than all being well, and what to call it.
func (b *bag) wickFault() (rival, model.Cause, bool) {
	r, ok := b.best(model.CauseWickLostContact)
	if b.wickGone() {
		return r, "", false
	}
	if ok && r.LLR > decisive && b.perhapsTouched(r) {
		return r, "", false
	}
	if !ok || r.LLR <= decisive {
		found, ok := b.starved()
		found.LLR += decisive - decisiveDips
		return found.rival, found.cause(), ok
	}
	before := b.healthBefore(r)
	switch {
	case before < math.Log(weakened*b.usualHealth()):
		return r, model.CauseWickClogging, true
	case before < math.Log(weakening*b.usualHealth()):
		return r, model.CauseUndecided, true
	}
	return r, model.CauseWickLostContact, true
}

// Wick health of the usual as the keen filter saw it before a loss: below weakened the loss
// is the end of a decline, above weakening it came at once, and between them
// it cannot be told.
const weakened, weakening = 0.7, 0.8

// yield takes over a rival's view: its storage, wicks and demand, with wide
// variances, since its figures were assumed and not learnt. It returns by how
// much, L, the bag holds more than its reservoir thought.
func (b *bag) yield(r rival) (more float64) {
	if r.Kind == model.CauseWickLostContact || r.Kind == model.CauseChannelDry {
		b.keepSound(r)
	}
	s := b.Base
	// Nothing may have been heard of the bag of late, or readings that were not believed.
	r = b.carry(r, s.Time)
	if s.Time.Before(r.At) { // what the filter booked by then is what the rival's takes the place of
		ahead := b.advance(s, r.At, driftHealth)
		s.Uptake, s.Potential = ahead.Uptake, ahead.Potential
	}
	s.Time = r.At
	v := b.volume()
	s.X[iStorage], s.X[iHealth], s.X[iDemand] = r.S, r.LnHealth, r.LnDemand
	s.P = s.P.forget(iStorage, sq(0.01*v)).forget(iHealth, sq(0.5)).forget(iDemand, sq(priorDemand)+b.House)
	s.X[iOffset] = b.offsetBefore(r)
	s.With = vector{}
	switch r.Kind {
	case model.CauseNotDrinking:
		s.P[iDemand][iDemand] = sq(0.7)
	case causeRestored:
		// What was laid on the probe in a bag that dried out is not its own.
		s.P[iOffset][iOffset] += sq(priorProbe)
		if b.Cut {
			s.X[iHealth] = b.Base.X[iHealth]
		}
		s = b.resumed(s)
	}
	b.rebook(&s, r)
	b.Base, b.Roll = s, s
	if !b.Lost && b.Suspect.Fall && b.Suspect.Count >= doubtsToAct {
		b.Base = b.tells(b.Base, b.Suspect.Last)
		b.Roll = b.Base
	}
	b.Suspect = suspicion{}
	b.compareAnew()
	return b.recall()
}

// keepSound keeps what is known of a bag as it was when its supply failed.
func (b *bag) keepSound(r rival) {
	if b.failing() {
		return
	}
	b.Sound = b.Base
	b.Sound.Time = r.Start
	b.Sound.X[iHealth], b.Sound.X[iDemand], b.Sound.X[iOffset], b.Sound.X[iWarm] = r.Was, r.LnDemand, r.Offset, r.Warm
}

// starves is how long a supply that fails is none of the false ones: those end with
// the bright hours that made them.
const starves = 24 * time.Hour

// resumed is the state of a bag whose supply is back after it had failed for long: with
// what was known of plants, probe and, where a channel was dry, wicks before, for what a
// bag that dries out tells of them is bent by how its plants wilt. A failure of some hours
// may have been none, and what misled the filter then would do so again.
func (b *bag) resumed(s state) state {
	sound := b.Sound
	b.Sound = state{}
	b.Starved = !sound.Time.IsZero() && s.Time.Sub(sound.Time) >= starves
	if !b.Starved {
		return s
	}
	days := s.Time.Sub(sound.Time).Hours() / 24
	drift := vector{iHealth: driftHealth, iDemand: driftDemand, iOffset: driftOffset}
	known := []int{iDemand, iOffset, iWarm}
	if b.Cut {
		known = append(known, iHealth)
	}
	for _, i := range known {
		s.X[i], s.P = sound.X[i], s.P.forget(i, 0)
	}
	for _, i := range known {
		for _, j := range known {
			s.P[i][j] = sound.P[i][j]
		}
		s.P[i][i] += sq(drift[i]) * days
	}
	return s
}

// rebook takes over what the plants took since the rival's start: a filter
// without the right explanation had taken what did not come in for thirst.
func (b *bag) rebook(s *state, r rival) {
	if r.Booked == (uptakes{}) {
		return
	}
	was, now := uptakes{s.Uptake - r.Booked.Uptake, s.Potential - r.Booked.Potential}, r.Taken
	for i := range b.History.Hours {
		if h := &b.History.Hours[i]; h.At.After(r.Start) {
			h.Uptake = rescaled(h.Uptake, r.Booked.Uptake, was.Uptake, now.Uptake)
			h.Potential = rescaled(h.Potential, r.Booked.Potential, was.Potential, now.Potential)
		}
	}
	s.Uptake, s.Potential = r.Booked.Uptake+now.Uptake, r.Booked.Potential+now.Potential
}

// rescaled is a figure between from and from + was, of which now is true.
func rescaled(x, from, was, now float64) float64 {
	if was <= 0 {
		return from
	}
	return from + (x-from)*now/was
}

// offsetBefore is the probe's offset before a filter without the right
// explanation began to lay on it what it could not explain.
func (b *bag) offsetBefore(r rival) float64 {
	for _, o := range b.Rivals {
		if o.Start.Before(r.Start) {
			r = o
		}
	}
	return r.Offset
}

// healthBefore is the logarithm of wick health that the keen filter allowed before
// a loss: at the oldest start that explains the readings about as well, for the
// keen filter follows the loss itself soon.
func (b *bag) healthBefore(r rival) float64 {
	for _, o := range b.Rivals {
		if o.Kind == r.Kind && o.LLR > r.LLR-equal && o.Start.Before(r.Start) {
			r = o
		}
	}
	return r.Keen
}
