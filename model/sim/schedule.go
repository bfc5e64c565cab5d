package sim

import (
	"math"
	"time"

	"wickd/model"
)

// schedule answers what the faults do to a thing at a time.
type schedule []Fault

// on lists the faults of a kind on a subject that are active at t.
func (s schedule) on(kind FaultKind, subject model.Subject, t time.Time) []Fault {
	var found []Fault
	for _, f := range s {
		if f.Kind == kind && (f.Subject == subject || f.Subject == "") && f.active(t) {
			found = append(found, f)
		}
	}
	return found
}

func (s schedule) active(kind FaultKind, subject model.Subject, t time.Time) bool {
	return len(s.on(kind, subject, t)) > 0
}

// starting lists the faults of a kind on a subject that begin in [from, to).
func (s schedule) starting(kind FaultKind, subject model.Subject, from, to time.Time) []Fault {
	var found []Fault
	for _, f := range s {
		if f.Kind == kind && f.Subject == subject && f.within(from, to) {
			found = append(found, f)
		}
	}
	return found
}

// total adds up the sizes of the active faults of a kind.
func (s schedule) total(kind FaultKind, subject model.Subject, t time.Time) float64 {
	sum := 0.0
	for _, f := range s.on(kind, subject, t) {
		sum += f.Size
	}
	return sum
}

// wick is the share of wick health that faults leave.
func (s schedule) wick(bag model.Subject, t time.Time) float64 {
	left := 1.0
	for _, f := range s {
		if f.Subject != bag || t.Before(f.Start) {
			continue
		}
		switch {
		case f.Kind == WickLostContact && f.active(t):
			left *= f.Size
		case f.Kind == WickClogging:
			until := t
			if !f.End.IsZero() && f.End.Before(t) {
				until = f.End
			}
			left *= math.Max(f.Floor, math.Exp(-f.Size*until.Sub(f.Start).Hours()))
		}
	}
	return left
}

// demand is the factor that faults put on a bag's demand.
func (s schedule) demand(bag model.Subject, t time.Time) float64 {
	if s.active(PlantsGone, bag, t) {
		return 0
	}
	factor := 1.0
	for _, f := range s.on(DemandChange, bag, t) {
		factor *= f.Size
	}
	return factor
}
