package payload

import (
	"math"
	"slices"
	"time"
)

// senMLVersion is the version of RFC 8428 (section 4.4: "bver" is 10 when
// absent; a higher one must not be processed).
const senMLVersion = 10

// absoluteTime separates times since 1970 from times relative to now
// (RFC 8428, section 4.5.3).
const absoluteTime = 1 << 28

// record is one SenML record as written, with what was there (section 4.1 to
// 4.3). A nil pointer is an absent field.
type record struct {
	baseName, baseUnit             *string
	baseTime, baseValue, baseSum   *float64
	version                        *float64
	name, unit                     *string
	value, sum, time, update       *float64
	hasString, hasBool, hasDataVal bool
}

// base is what records inherit from those before them (section 4.1).
type base struct {
	name, unit  string
	time, value float64
}

// resolve turns records into samples with absolute names, units and times
// (section 4.6), oldest first. Records without a numeric value are checked and
// left out.
func resolve(records []record, now time.Time) ([]Sample, error) {
	if len(records) == 0 {
		return nil, refuse(BadSenML, "the pack has no record")
	}
	var (
		inherited base
		samples   []Sample
	)
	for i, r := range records {
		inherited.inherit(r)
		if r.version != nil && (*r.version > senMLVersion || *r.version <= 0) {
			return nil, refuse(SenMLVersion, "record %d has version %g; %d is the highest known", i, *r.version, senMLVersion)
		}
		sample, numeric, err := inherited.sample(r, now)
		if err != nil {
			return nil, within(err, "record %d", i)
		}
		if numeric {
			samples = append(samples, sample)
		}
	}
	slices.SortStableFunc(samples, func(a, b Sample) int { return moment(a, now).Compare(moment(b, now)) })
	return samples, nil
}

// moment places samples without a time at now.
func moment(s Sample, now time.Time) time.Time {
	if s.Time.IsZero() {
		return now
	}
	return s.Time
}

func (b *base) inherit(r record) {
	if r.baseName != nil {
		b.name = *r.baseName
	}
	if r.baseUnit != nil {
		b.unit = *r.baseUnit
	}
	if r.baseTime != nil {
		b.time = *r.baseTime
	}
	if r.baseValue != nil {
		b.value = *r.baseValue
	}
}

// sample resolves one record; numeric is false when it has no "v" to read.
func (b *base) sample(r record, now time.Time) (s Sample, numeric bool, err error) {
	fields := count(r.value != nil, r.hasString, r.hasBool, r.hasDataVal)
	if fields > 1 {
		return Sample{}, false, refuse(BadSenML, "it has %d values; one is allowed", fields)
	}
	// Section 4.2 asks for a value or a sum in every record; a record that only
	// sets bases is common and harmless.
	if fields == 0 && r.sum == nil {
		return Sample{}, false, nil
	}
	s.Name = b.name + valueOr(r.name, "")
	if !validName(s.Name) {
		return Sample{}, false, refuse(BadSenML, "%q is not a SenML name", clip(s.Name))
	}
	s.Unit = valueOr(r.unit, b.unit)
	seconds := b.time + valueOr(r.time, 0)
	if s.Time, err = absolute(seconds, now); err != nil {
		return Sample{}, false, err
	}
	s.Relative = seconds != 0 && seconds < absoluteTime
	if r.value == nil {
		return Sample{}, false, nil
	}
	s.Value = b.value + *r.value
	if math.IsInf(s.Value, 0) {
		return Sample{}, false, refuse(Overflow, "base value and value add up to no number")
	}
	return s, true, nil
}

// absolute is the time of section 4.5.3: seconds since 1970 from 2**28 on, else
// relative to now. Zero means that the sensor knows no time: none is given.
func absolute(seconds float64, now time.Time) (time.Time, error) {
	if seconds == 0 {
		return time.Time{}, nil
	}
	if seconds >= absoluteTime {
		return unixTime(seconds)
	}
	if seconds <= -absoluteTime {
		return time.Time{}, refuse(BadTime, "%g is not a time", seconds)
	}
	return now.Add(time.Duration(math.Round(seconds*1e6)) * time.Microsecond).UTC(), nil
}

// validName checks section 4.5.1: letters, digits and -:./_, a letter or digit
// first.
func validName(name string) bool {
	for i, c := range []byte(name) {
		alphanumeric := c >= '0' && c <= '9' || c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z'
		punctuation := c == '-' || c == ':' || c == '.' || c == '/' || c == '_'
		if !alphanumeric && (i == 0 || !punctuation) {
			return false
		}
	}
	return name != ""
}

func valueOr[T any](p *T, otherwise T) T {
	if p == nil {
		return otherwise
	}
	return *p
}

func count(conditions ...bool) int {
	n := 0
	for _, c := range conditions {
		if c {
			n++
		}
	}
	return n
}
