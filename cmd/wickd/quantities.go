package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"wickd/model/unit"
)

// quantity is a figure on the command line that may be left out.
type quantity struct {
	value float64 // canonical
	given bool
}

// read takes what may have any sign.
func (q *quantity) read(text []byte, d *unit.Dimension) error {
	v, err := unit.Parse(string(text), d)
	if err != nil {
		return err
	}
	q.value, q.given = v.Canonical(), true
	return nil
}

// fromZero takes 0 and above.
func (q *quantity) fromZero(text []byte, d *unit.Dimension) error {
	if err := q.read(text, d); err != nil {
		return err
	}
	if q.value < 0 {
		return fmt.Errorf("%q is below 0; write it without the minus, for example %s", text, strings.TrimLeft(string(text), " -"))
	}
	return nil
}

// parse takes what is above 0.
func (q *quantity) parse(text []byte, d *unit.Dimension) error {
	if err := q.fromZero(text, d); err != nil {
		return err
	}
	if !(q.value > 0) {
		return fmt.Errorf("%q is not above 0", text)
	}
	return nil
}

// negatives joins a number below 0 to the flag before it, as no flag of wickd
// is a digit: --latitude -33.9 then means what it says, and --volume -120L is
// refused for what it is.
func negatives(args []string) []string {
	var out []string
	for _, a := range args {
		last := len(out) - 1
		if last >= 0 && len(a) > 1 && a[0] == '-' && a[1] >= '0' && a[1] <= '9' && strings.HasPrefix(out[last], "--") && !strings.Contains(out[last], "=") && out[last] != "--" {
			out[last] += "=" + a
			continue
		}
		out = append(out, a)
	}
	return out
}

// The quantities of the command line, each of one dimension.
type (
	lengthFlag  struct{ quantity } // mm
	areaFlag    struct{ quantity } // m²
	sectionFlag struct{ quantity } // cm²
	volumeFlag  struct{ quantity } // L
	flowFlag    struct{ quantity } // L/d
	shareFlag   struct{ quantity } // 0–1; may be 0
	daysFlag    struct{ quantity } // d

	ecFlag          struct{ quantity } // mS/cm; may be 0
	alkalinityFlag  struct{ quantity } // meq/L; may be 0
	temperatureFlag struct{ quantity } // °C
)

func (f *lengthFlag) UnmarshalText(b []byte) error  { return f.parse(b, unit.Length) }
func (f *areaFlag) UnmarshalText(b []byte) error    { return f.parse(b, unit.Area) }
func (f *sectionFlag) UnmarshalText(b []byte) error { return f.parse(b, unit.Section) }
func (f *volumeFlag) UnmarshalText(b []byte) error  { return f.parse(b, unit.Volume) }
func (f *flowFlag) UnmarshalText(b []byte) error    { return f.parse(b, unit.Flow) }

// restFlag is a volume that may be 0, L.
type restFlag struct{ quantity }

func (f *restFlag) UnmarshalText(b []byte) error { return f.fromZero(b, unit.Volume) }

func (f *ecFlag) UnmarshalText(b []byte) error          { return f.fromZero(b, unit.EC) }
func (f *alkalinityFlag) UnmarshalText(b []byte) error  { return f.fromZero(b, unit.Alkalinity) }
func (f *temperatureFlag) UnmarshalText(b []byte) error { return f.read(b, unit.Temperature) }

// UnmarshalText takes a share, 0 too.
func (f *shareFlag) UnmarshalText(b []byte) error {
	if err := f.read(b, unit.Ratio); err != nil {
		return err
	}
	if f.value < 0 || f.value > 1 {
		return fmt.Errorf("%q is not between 0 and 100 %%", b)
	}
	return nil
}

// UnmarshalText takes days, with or without their unit.
func (f *daysFlag) UnmarshalText(b []byte) error {
	const seconds = 86400
	if n, err := unit.Number(string(b)); err == nil {
		f.value, f.given = n, true
	} else if err := f.parse(b, unit.Duration); err != nil {
		return err
	} else {
		f.value /= seconds
	}
	if !(f.value > 0) {
		return fmt.Errorf("%q is not above 0", b)
	}
	return nil
}

// countFlag is a number of things, at least one; 0 is left out.
type countFlag int

// UnmarshalText takes a whole number above 0.
func (f *countFlag) UnmarshalText(b []byte) error {
	const most = 1_000_000
	n, err := strconv.Atoi(strings.TrimSpace(string(b)))
	if err != nil || n < 1 || n > most {
		return fmt.Errorf("%q is no count: give a whole number from 1 to %d, for example 12", b, most)
	}
	*f = countFlag(n)
	return nil
}

// numberFlag is a plain number above 0.
type numberFlag struct{ quantity }

// UnmarshalText takes a number without a unit.
func (f *numberFlag) UnmarshalText(b []byte) error {
	n, err := unit.Number(string(b))
	if err != nil {
		return err
	}
	f.value, f.given = n, true
	if !(n > 0) {
		return fmt.Errorf("%q is not above 0", b)
	}
	return nil
}

// latitudeFlag is degrees, north positive: 47, 47N, -33.9 or 33.9 S.
type latitudeFlag struct{ quantity }

// UnmarshalText takes degrees with a sign or with N or S.
func (f *latitudeFlag) UnmarshalText(b []byte) error {
	text := strings.ToUpper(strings.TrimSpace(string(b)))
	sign := 1.0
	switch {
	case strings.HasSuffix(text, "N"):
		text = strings.TrimSuffix(text, "N")
	case strings.HasSuffix(text, "S"):
		text, sign = strings.TrimSuffix(text, "S"), -1
	}
	n, err := unit.Number(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "°")))
	if err != nil || math.Abs(n) > 90 || sign < 0 && n < 0 {
		return fmt.Errorf("%q is not a latitude, for example 47 or 33.9S", b)
	}
	f.value, f.given = sign*n, true
	return nil
}

// monthFlag is a month by its name, the start of it, or its number.
type monthFlag time.Month

// UnmarshalText takes June, jun or 6.
func (f *monthFlag) UnmarshalText(b []byte) error {
	text := strings.ToLower(strings.TrimSpace(string(b)))
	for m := time.January; m <= time.December; m++ {
		name := strings.ToLower(m.String())
		if text == strconv.Itoa(int(m)) || len(text) >= 3 && strings.HasPrefix(name, text) {
			*f = monthFlag(m)
			return nil
		}
	}
	return fmt.Errorf("%q is not a month, for example June or 6", b)
}
