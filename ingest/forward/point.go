package forward

import (
	"math"
	"strings"
	"time"
	"unicode"

	"github.com/influxdata/influxdb-client-go/v2/api/write"
)

// Point is what is written for one moment of one series.
type Point struct {
	Measurement string
	Tags        []Tag
	Fields      []Field
	Time        time.Time
}

// Tag names a series; a tag with an empty value is left out.
type Tag struct{ Key, Value string }

// Field is one value. NaN and infinities are left out.
type Field struct {
	Key   string
	Value float64
}

// The years that nanoseconds in 64 bits hold whole. The client does not look.
const firstYear, lastYear = 1678, 2261

// encode makes the client's point, and says how many fields were left out. A
// point without any field left is nil.
func (p Point) encode() (_ *write.Point, skipped int) {
	if year := p.Time.UTC().Year(); year < firstYear || year > lastYear {
		return nil, len(p.Fields)
	}
	point := write.NewPointWithMeasurement(clean(p.Measurement)).SetTime(p.Time)
	for _, tag := range p.Tags {
		if value := clean(tag.Value); value != "" {
			point.AddTag(clean(tag.Key), value)
		}
	}
	for _, field := range p.Fields {
		if math.IsNaN(field.Value) || math.IsInf(field.Value, 0) {
			skipped++
			continue
		}
		point.AddField(clean(field.Key), field.Value)
	}
	if len(point.FieldList()) == 0 {
		return nil, skipped
	}
	return point.SortTags(), skipped
}

// clean keeps a name from breaking its line: line protocol knows no escape for
// a backslash, so one before a comma, a space or the end of a tag takes the
// separator away; a line break ends the line in any case.
func clean(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\\':
			return '/'
		case unicode.IsControl(r), r == unicode.ReplacementChar:
			return '_'
		}
		return r
	}, strings.TrimSpace(text))
}
