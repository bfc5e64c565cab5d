package payload

import (
	"errors"
	"fmt"
	"strings"
)

// Reason is why a payload was refused: a stable label for counting.
type Reason string

// The reasons.
const (
	Empty          Reason = "empty"            // nothing but white space
	TooLarge       Reason = "too-large"        // longer than MaxSize
	CommaDecimal   Reason = "comma-decimal"    // "5,8"
	NaN            Reason = "nan"              // not a number, and says so
	Infinite       Reason = "infinite"         // "inf"
	Null           Reason = "null"             // null, none
	Unavailable    Reason = "unavailable"      // a word by which a sensor says that it has no value
	NotANumber     Reason = "not-a-number"     // anything else that is no number
	Overflow       Reason = "overflow"         // beyond a float64
	WrongFormat    Reason = "wrong-format"     // a format that this sensor is not set up for
	BadJSON        Reason = "bad-json"         // not JSON
	BadCBOR        Reason = "bad-cbor"         // not CBOR
	DuplicateKey   Reason = "duplicate-key"    // an object names a member twice
	TooDeep        Reason = "too-deep"         // nested deeper than any sensor needs
	NotFound       Reason = "pointer-misses"   // the pointer leads nowhere
	BadTime        Reason = "bad-time"         // the named time is no time
	BadSenML       Reason = "bad-senml"        // a pack that RFC 8428 forbids
	SenMLVersion   Reason = "senml-version"    // newer than RFC 8428
	MustUnderstand Reason = "must-understand"  // a field that may not be ignored and is not known
	NoRecord       Reason = "no-record"        // no numeric record of that name
	Ambiguous      Reason = "ambiguous-record" // several records would fit
)

// Refusal is the error of every function here: a reason to count and an error
// to read.
type Refusal struct {
	Reason Reason
	Err    error
}

// Error is the text of Err.
func (r *Refusal) Error() string { return "read payload: " + r.Err.Error() }

// Unwrap gives Err.
func (r *Refusal) Unwrap() error { return r.Err }

// ReasonOf finds the reason of an error of this package; empty for others.
func ReasonOf(err error) Reason {
	var r *Refusal
	if errors.As(err, &r) {
		return r.Reason
	}
	return ""
}

// within says where in the payload a refusal came from and keeps its reason.
func within(err error, format string, args ...any) *Refusal {
	where := fmt.Sprintf(format, args...)
	var r *Refusal
	if errors.As(err, &r) {
		return refuse(r.Reason, "%s: %w", where, r.Err)
	}
	return refuse("", "%s: %w", where, err)
}

func refuse(reason Reason, format string, args ...any) *Refusal {
	return &Refusal{Reason: reason, Err: fmt.Errorf(format, args...)}
}

// clip shortens what is quoted in an error.
func clip(s string) string {
	const most = 40
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "") + "…"
}
