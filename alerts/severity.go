package alerts

import (
	"slices"
	"time"

	"wickd/model"
)

// Severity says how bad the consequence of a condition is.
type Severity string

// The severities.
const (
	Slight   Severity = "slight"   // nothing that grows is harmed
	Moderate Severity = "moderate" // growth is set back, or a judgement is blinded
	Severe   Severity = "severe"   // the plants of a bag are lost, or nothing is watched
	Grave    Severity = "grave"    // the plants of many bags are lost
)

// row is the place of a severity in the table of priorities; −1: it has none.
func (s Severity) row() int {
	return slices.Index([]Severity{Slight, Moderate, Severe, Grave}, s)
}

// priorities is consequence against time to respond, as alarm-management
// practice draws the table (IEC 62682, clause on rationalisation). The columns
// are what a person can still do: drop everything (3 h), go before the day is
// over (12 h), go on the next visit (48 h), plan it (longer).
var priorities = [4][4]model.Priority{
	{model.PriorityMedium, model.PriorityLow, model.PriorityLow, model.PriorityLow},
	{model.PriorityHigh, model.PriorityMedium, model.PriorityMedium, model.PriorityLow},
	{model.PriorityUrgent, model.PriorityHigh, model.PriorityMedium, model.PriorityLow},
	{model.PriorityUrgent, model.PriorityUrgent, model.PriorityHigh, model.PriorityMedium},
}

// Prioritise gives the priority that a rationale asks for.
func Prioritise(r Rationale) model.Priority {
	row := r.Severity.row()
	if row < 0 {
		return ""
	}
	column := 0
	for _, within := range []time.Duration{3 * time.Hour, 12 * time.Hour, 48 * time.Hour} {
		if r.Respond > within {
			column++
		}
	}
	return priorities[row][column]
}
