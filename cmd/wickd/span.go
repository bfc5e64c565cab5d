package main

import (
	"fmt"
	"time"

	"wickd/model/unit"
)

// spanFlag is a length of time on the command line, as Go writes it (1h30m) or
// with its unit (2 d).
type spanFlag struct {
	time.Duration
	text  string // as it was written
	given bool
}

// UnmarshalText takes what is above 0.
func (f *spanFlag) UnmarshalText(b []byte) error {
	if n, err := unit.Number(string(b)); err == nil && n > 0 {
		return fmt.Errorf("%q needs a unit, for example %ss, %sm, %sh or %sd", b, b, b, b, b)
	}
	d, err := time.ParseDuration(string(b))
	if err != nil {
		v, err := unit.Parse(string(b), unit.Duration)
		if err != nil {
			return fmt.Errorf("%q is no length of time, for example 90m, 8h or 2d", b)
		}
		d = time.Duration(v.Canonical() * float64(time.Second))
	}
	if d <= 0 {
		return fmt.Errorf("%s: give a time to come, for example 8h", b)
	}
	*f = spanFlag{d, string(b), true}
	return nil
}
