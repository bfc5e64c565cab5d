package sim

import (
	"errors"
	"fmt"
	"math"
	"time"

	"wickd/model"
)

// FaultKind is what goes wrong.
type FaultKind string

// The kinds, with what Fault.Subject names and what Fault.Size means. Those
// marked "at once" happen in the step that holds Start and ignore End.
const (
	WickLostContact  FaultKind = "wick-lost-contact"  // bag; share of wick health left, 0–1
	WickClogging     FaultKind = "wick-clogging"      // bag; loss of wick health, 1/h, down to Floor; what clogged stays clogged
	ChannelDry       FaultKind = "channel-dry"        // channel; no size
	Leak             FaultKind = "leak"               // reservoir; L/h
	DemandChange     FaultKind = "demand-change"      // bag, or none for all; factor on demand
	HeatWave         FaultKind = "heat-wave"          // none; K on the air, under a clear sky
	PlantsGone       FaultKind = "plants-gone"        // bag; no size
	ProbeStuck       FaultKind = "probe-stuck"        // sensor; no size: it repeats its last number
	ProbeJammed      FaultKind = "probe-jammed"       // sensor; no size: what it measures stays where it is, as under a float that jams, and its noise goes on
	ProbeLostContact FaultKind = "probe-lost-contact" // sensor; gain, 0–1: an air gap lowers the reading
	ProbeSilent      FaultKind = "probe-silent"       // sensor; no size
	ProbeDrift       FaultKind = "probe-drift"        // sensor; per day, in the quantity's canonical unit
	ProbeError       FaultKind = "probe-error"        // sensor; the number it sends, 0 stands for −127
	WrongRefill      FaultKind = "wrong-refill"       // reservoir, at once; EC, mS/cm, that it has after filling to full
	SaltDose         FaultKind = "salt-dose"          // reservoir, at once; mS/cm × L of concentrate
	PHDrift          FaultKind = "ph-drift"           // reservoir; per day, either way
	ECDrift          FaultKind = "ec-drift"           // reservoir; mS/cm per day, either way: roots that reach the channel take more water than feed, or less
	NoRefill         FaultKind = "no-refill"          // reservoir; no size: nobody comes to refill
	WateredFromAbove FaultKind = "watered-from-above" // bag, at once; L
)

// Fault is one thing that goes wrong.
type Fault struct {
	Kind    FaultKind
	Subject model.Subject
	Start   time.Time
	End     time.Time // zero: it is never mended
	Size    float64
	Floor   float64 // of WickClogging: the share of wick health left at last, 0–1
}

// errorNumber is what a common digital thermometer sends when its bus fails.
const errorNumber = -127

func (f Fault) active(t time.Time) bool {
	return !t.Before(f.Start) && (f.End.IsZero() || t.Before(f.End))
}

// within says that the fault begins in [from, to).
func (f Fault) within(from, to time.Time) bool {
	return !f.Start.Before(from) && f.Start.Before(to)
}

// requirement is what a kind asks of its fault.
type requirement struct {
	subject  string // kind of subject, or "sensor"
	optional bool   // no subject stands for everything
	atOnce   bool
	low      float64 // bounds of Size
	high     float64
}

const (
	anySensor  = "sensor"
	everything = "everything"
)

// requirements of each kind; ok is false for a kind that there is not.
func (k FaultKind) requirements() (r requirement, ok bool) {
	bag, channel, tank := model.KindBag, model.KindChannel, model.KindReservoir
	none := math.Inf(1)
	switch k {
	case WickLostContact:
		return requirement{subject: bag, high: 1}, true
	case WickClogging:
		return requirement{subject: bag, low: 1e-6, high: 10}, true
	case PlantsGone:
		return requirement{subject: bag, high: none}, true
	case WateredFromAbove:
		return requirement{subject: bag, atOnce: true, low: 1e-3, high: 100}, true
	case DemandChange:
		return requirement{subject: bag, optional: true, high: 10}, true
	case HeatWave:
		return requirement{subject: everything, optional: true, high: 20}, true
	case ChannelDry:
		return requirement{subject: channel, high: none}, true
	case Leak:
		return requirement{subject: tank, low: 1e-6, high: 1000}, true
	case WrongRefill:
		return requirement{subject: tank, atOnce: true, high: 20}, true
	case SaltDose:
		return requirement{subject: tank, atOnce: true, high: 1e5}, true
	case PHDrift, ECDrift:
		return requirement{subject: tank, low: -10, high: 10}, true
	case NoRefill:
		return requirement{subject: tank, high: none}, true
	case ProbeLostContact:
		return requirement{subject: anySensor, high: 1}, true
	case ProbeStuck, ProbeJammed, ProbeSilent:
		return requirement{subject: anySensor, high: none}, true
	case ProbeDrift, ProbeError:
		return requirement{subject: anySensor, low: -none, high: none}, true
	}
	return requirement{}, false
}

func (f Fault) validate(site *model.Site, start time.Time) error {
	r, ok := f.Kind.requirements()
	if !ok {
		return errors.New("there is no such fault")
	}
	if !(f.Size >= r.low && f.Size <= r.high) || math.IsNaN(f.Floor) || f.Floor < 0 || f.Floor > 1 {
		return fmt.Errorf("size %g must lie in %g to %g, and floor %g in 0 to 1", f.Size, r.low, r.high, f.Floor)
	}
	if f.Start.IsZero() || (!f.End.IsZero() && !f.End.After(f.Start)) {
		return errors.New("it needs a start, and an end after it or none")
	}
	if r.atOnce && f.Start.Before(start) {
		return fmt.Errorf("it starts at %v, before the simulation", f.Start)
	}
	if f.Subject == "" && r.optional {
		return nil
	}
	if !names(site, r.subject, f.Subject) {
		return fmt.Errorf("the site has no %s %q; write it like bag/a4, channel/b, reservoir/tank or bag/a4/moisture", r.subject, f.Subject)
	}
	return nil
}

func names(site *model.Site, kind string, subject model.Subject) bool {
	found := false
	switch kind {
	case anySensor:
		for _, s := range site.AllSensors() {
			found = found || s.ID == subject
		}
	case model.KindBag:
		_, found = site.BagByID(subject.ID())
		found = found && subject == model.BagSubject(subject.ID())
	case model.KindChannel:
		_, found = site.ChannelByID(subject.ID())
		found = found && subject == model.ChannelSubject(subject.ID())
	case model.KindReservoir:
		_, found = site.ReservoirByID(subject.ID())
		found = found && subject == model.ReservoirSubject(subject.ID())
	}
	return found
}
