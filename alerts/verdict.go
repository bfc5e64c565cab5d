package alerts

import (
	"fmt"
	"time"

	"wickd/model"
)

// Finding says whether a condition holds.
type Finding string

// The findings.
const (
	Clear   Finding = "clear"
	Holds   Finding = "holds"
	Unknown Finding = "unknown" // the input is stale or bad: the alert stays as it is

	// absent: the snapshot says nothing of the subject.
	absent Finding = ""
)

// Verdict is a condition decided for one subject at one time.
type Verdict struct {
	State   Finding
	Since   time.Time  // when it began, if the evidence says so; zero: when first seen
	Due     *time.Time // when harm is expected, if known
	Soon    bool       // harm is nearer than the on-delay is worth
	Cause   model.Cause
	Message model.Message // of the trouble if it holds, of the relief if it is clear
}

// relief is the verdict that all is well. The message is for an alert that
// stands; of what was never wrong there is nothing to say.
func relief(held bool, format string, args ...any) Verdict {
	v := Verdict{State: Clear}
	if held {
		v.Message.Headline = fmt.Sprintf(format, args...)
	}
	return v
}

// above decides value > limit, cleared only once value < limit − deadband.
// Between the two it stays as it was.
func above(value, limit, deadband float64, held bool) Finding {
	if value > limit || held && value >= limit-deadband {
		return Holds
	}
	return Clear
}

// below decides value < limit, cleared only once value > limit + deadband.
func below(value, limit, deadband float64, held bool) Finding {
	return above(-value, -limit, deadband, held)
}

// fresh reports whether a figure may decide anything.
func fresh(m model.Measured) bool { return m.Quality == model.Fresh }
