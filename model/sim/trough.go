package sim

import (
	"math"
	"math/rand/v2"
	"time"

	"wickd/model"
)

// fillHours are when the grower fills the channels of a reservoir that feeds at times,
// local time, and fillMark how well to the same mark, as a share of what they hold
// (invented).
var fillHours = [...]int{8, 18}

const fillMark = 0.02

// trough is a channel: what its bags drink from.
type trough struct {
	design  model.Channel
	subject model.Subject
	from    *reservoir
	own     bool // it stands on what it holds, and is filled at times
	rng     *rand.Rand

	water float64 // L of its own
	salt  float64 // mS/cm × L
	draw  float64 // L in the last step
	fed   bool    // its bags get solution in this step
}

func newTrough(c model.Channel, from *reservoir, seed uint64) *trough {
	t := &trough{design: c, subject: model.ChannelSubject(c.ID), from: from, rng: stream(seed, "channel/"+c.ID), own: from.design.Reservoir.FeedsAtTimes}
	if t.own {
		t.water, t.salt = c.Holds, from.ec()*c.Holds
	}
	return t
}

// ec is that of what the wicks lift, mS/cm at 25 °C.
func (t *trough) ec() float64 {
	switch {
	case !t.own:
		return t.from.ec()
	case t.water <= 0:
		return 0
	}
	return t.salt / t.water
}

// feeds says that there is enough left for a step like the last.
func (t *trough) feeds() bool {
	if !t.own {
		return t.from.feeds()
	}
	return t.water > 2*t.draw
}

// settle begins a step; where there is nothing to draw from, what was drawn last is
// still what would be.
func (t *trough) settle() {
	if t.fed {
		t.draw, t.from.draw = 0, 0
	}
}

// take is what the wicks drew in a step.
func (t *trough) take(f flow) {
	if !t.own {
		t.from.take(f)
		return
	}
	t.water -= f.water
	t.salt -= f.salt
	t.draw += f.water
	t.from.drawn += f.water
}

// fill has the grower come by, if an hour of theirs passed.
func (t *trough) fill(from, to time.Time) {
	if !t.own || !comesBy(from.In(t.from.zone), to.In(t.from.zone)) {
		return
	}
	r := t.from
	full := t.design.Holds * (1 + fillMark*t.rng.NormFloat64())
	litres := math.Max(0, math.Min(full-t.water, r.volume-r.design.Empty()))
	salt := litres * r.ec()
	r.volume, r.salt = r.volume-litres, r.salt-salt
	t.water, t.salt = t.water+litres, t.salt+salt
}

// comesBy says that one of fillHours lies after from and not after to.
func comesBy(from, to time.Time) bool {
	for _, hour := range fillHours {
		if at := time.Date(to.Year(), to.Month(), to.Day(), hour, 0, 0, 0, to.Location()); at.After(from) && !at.After(to) {
			return true
		}
	}
	return false
}
