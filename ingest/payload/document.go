package payload

import (
	"encoding/json"
	"fmt"
	"math"
	"time"
)

// milliseconds is the smallest number that is read as milliseconds since 1970
// and not as seconds: 1e11 s lies in the year 5138, 1e11 ms in 1973.
const milliseconds = 1e11

// sampleAt reads the number that pointer names in a JSON document, and the
// time that clock names; clock may be nil.
//
// The number may be a JSON number or a string that Number accepts, with its
// unit. The time may be an RFC 3339 string or a number of seconds (from 1e11
// on: milliseconds) since 1970-01-01 UTC. A member that is absent or null is no
// time; anything else there is refused.
func sampleAt(document any, pointer Pointer, clock *Pointer) (Sample, error) {
	value, err := pointer.lookup(document)
	if err != nil {
		return Sample{}, err
	}
	sample, err := scalar(value, pointer)
	if err != nil || clock == nil {
		return sample, err
	}
	moment, err := clock.lookup(document)
	if err != nil || moment == nil {
		return sample, nil // a sensor that has not set its clock yet
	}
	if sample.Time, err = timeOf(moment); err != nil {
		return Sample{}, err
	}
	return sample, nil
}

// scalar reads a JSON value as a number.
func scalar(value any, pointer Pointer) (Sample, error) {
	switch v := value.(type) {
	case json.Number:
		x, err := parseFloat(v.String())
		return Sample{Value: x}, err
	case string:
		return Number(v)
	case nil:
		return Sample{}, refuse(Null, "it has null at %q", clip(pointer.String()))
	}
	return Sample{}, refuse(NotANumber, "it has no number at %q", clip(pointer.String()))
}

func timeOf(value any) (time.Time, error) {
	switch v := value.(type) {
	case json.Number:
		x, err := parseFloat(v.String())
		if err != nil {
			return time.Time{}, err
		}
		if math.Abs(x) >= milliseconds {
			x /= 1000
		}
		return unixTime(x)
	case string:
		t, err := time.Parse(time.RFC3339Nano, v)
		if err != nil {
			return time.Time{}, refuse(BadTime, "%s", noTime(v))
		}
		return t.UTC(), nil
	}
	return time.Time{}, refuse(BadTime, "its time is neither a number nor a string")
}

// noTime says why a string is no time.
func noTime(v string) string {
	for _, local := range []string{"2006-01-02T15:04:05", "2006-01-02T15:04", time.DateTime, "2006-01-02 15:04"} {
		if _, err := time.Parse(local, v); err == nil {
			return fmt.Sprintf("%q does not say of which zone it is: end it with Z for UTC, or with its offset, for example +01:00", clip(v))
		}
	}
	return fmt.Sprintf("%q is not a time, for example %q", clip(v), "2026-04-10T06:00:00Z")
}

// unixTime is the time of a number of seconds since 1970 UTC, to the
// microsecond, which is what a float64 of today's seconds resolves.
func unixTime(seconds float64) (time.Time, error) {
	const longest = 1 << 38 // seconds; year 10680, past RFC 3339
	if math.IsNaN(seconds) || math.Abs(seconds) >= longest {
		return time.Time{}, refuse(BadTime, "%g is not a time", seconds)
	}
	return time.UnixMicro(int64(math.Round(seconds * 1e6))).UTC(), nil
}
