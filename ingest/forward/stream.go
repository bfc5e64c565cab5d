package forward

import (
	"context"
	"strconv"
	"time"

	"wickd/ingest"
	"wickd/model"
)

// Stream is one sequence of rows that is forwarded with a cursor of its own.
type Stream struct {
	Cursor string // its name in the journal
	// Next gives the points of up to limit rows after a Seq, and the last of
	// these rows; the Seq that it was given: there are no more.
	Next func(ctx context.Context, after int64, limit int) (points []Point, through int64, err error)
	// Pending is how many rows lie after a Seq, and the time of the first.
	Pending func(ctx context.Context, after int64) (rows int64, since time.Time, err error)
}

// ReadingsCursor is the name of the cursor of Readings.
const ReadingsCursor = "influxdb/readings"

// Source is the journal's messages.
type Source interface {
	Read(ctx context.Context, after int64, limit int) ([]ingest.Record, error)
	Pending(ctx context.Context, after int64) (rows int64, since time.Time, err error)
}

// Readings is the stream of all readings, good or not. Each becomes a point of
// the measurement "reading" with the field "value" in the unit of its quantity
// and the tags
//
//	sensor         the sensor's subject: bag/a4/moisture
//	owner          what it belongs to: bag/a4
//	quantity       what it measures: moisture
//	verdict        good, or why it was not used
//	reconstructed  true, where a backlog was laid out; otherwise absent
//
// What the journal has as two readings is two points, see apart.
func Readings(source Source) Stream {
	return Stream{
		Cursor:  ReadingsCursor,
		Pending: source.Pending,
		Next: func(ctx context.Context, after int64, limit int) ([]Point, int64, error) {
			records, err := source.Read(ctx, after, limit)
			if err != nil {
				return nil, after, err
			}
			var points []Point
			for _, record := range records {
				after = record.Seq
				points = append(points, readingPoints(record)...)
			}
			return points, after, nil
		},
	}
}

func readingPoints(record ingest.Record) []Point {
	points := make([]Point, len(record.Readings))
	for i, r := range record.Readings {
		r.Time = apart(record, r.Time, repeats(record.Readings[:i], r))
		points[i] = readingPoint(r)
	}
	return points
}

func readingPoint(r model.Reading) Point {
	tags := []Tag{
		{"sensor", string(r.Sensor)},
		{"owner", string(r.Sensor.Owner())},
		{"quantity", string(r.Sensor.Quantity())},
		{"verdict", string(r.Verdict)},
	}
	if r.Reconstructed {
		tags = append(tags, Tag{"reconstructed", strconv.FormatBool(true)})
	}
	return Point{Measurement: "reading", Tags: tags, Fields: []Field{{"value", r.Value}}, Time: r.Time}
}

// repeats is how many earlier readings of a message have the sensor and time of
// one.
func repeats(earlier []model.Reading, r model.Reading) (n int) {
	for _, e := range earlier {
		if e.Sensor == r.Sensor && e.Time.Equal(r.Time) {
			n++
		}
	}
	return n
}

// apart keeps readings apart that have one series and one time: a sensor with a
// clock that counts seconds may send two in one, and of two points of one time
// the database keeps the later. Arrivals are apart already. A time that came
// with the payload is moved by less than a millisecond, which depends on the
// journal's row alone: a row that is sent again is the same point. Rows 100,000
// apart are moved alike, and so are the tenth and later ones of a message; for
// them to be one point, a sensor's clock must have stood still for days.
func apart(record ingest.Record, t time.Time, repeats int) time.Time {
	const rows, inOne = 100_000, 10
	m := record.Message
	if repeats == 0 && (t.Equal(m.Arrived) || t.Equal(m.Taken)) {
		return t
	}
	return t.Add(time.Duration(record.Seq%rows*inOne) + time.Duration(min(repeats, inOne-1)))
}
