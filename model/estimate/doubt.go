package estimate

import (
	"math"
	"time"

	"wickd/model"
)

// doubt is a failure of wicks that has no name yet: of those that lost contact
// what is left stays as it is, those that clog lift less every day.
type doubt struct {
	At       time.Time // last asked
	LnHealth float64   // then
	Days     int       // asked since the failure was found
}

const (
	doubtEvery = 24 * time.Hour
	// declines is what wicks that clog lose in a day, ln: two thirds of what the
	// slowest of the twin study lose, 1 %/h.
	declines = 0.16
	// touching is the most, of the usual, that wicks out of contact lift: between
	// lostShare and half, beyond which a bag is hardly short of water.
	touching = 0.25
)

// decide names wicks that failed as time tells. Where no other bag lies on the
// channel it never does.
func (b *bag) decide() {
	if b.Cause != model.CauseUndecided || b.source.bagsOn(b.physics.Channel.ID) < 2 {
		b.Doubt = doubt{}
		return
	}
	d, s := &b.Doubt, b.Base
	if d.At.IsZero() {
		*d = doubt{At: s.Time}
	}
	if s.Time.Sub(d.At) < doubtEvery {
		return
	}
	health, sd := s.X[iHealth], math.Sqrt(s.P[iHealth][iHealth])
	fell := d.LnHealth - health
	*d = doubt{At: s.Time, LnHealth: health, Days: d.Days + 1}
	if d.Days < 2 {
		return // what it is compared with was assumed
	}
	switch {
	case fell > math.Max(declines, keenSigma*sd):
		b.Cause = model.CauseWickClogging
	case fell < declines && health+keenSigma*sd < math.Log(touching*b.usualHealth()):
		b.Cause = model.CauseWickLostContact
	}
}
