package web

import (
	"context"
	"time"
)

// Series names one figure of the hourly estimates.
type Series struct {
	Kind  string // "bag" or "reservoir"
	ID    string
	Value string // key of the record, for example "water_content"
	SD    string // key of its standard deviation; empty: it has none
}

// Point is one hour of a series.
type Point struct {
	Time  time.Time
	Value float64
	SD    float64 // 0: not known
}

// History gives a series from a time on, the oldest point first.
type History func(ctx context.Context, s Series, from time.Time) ([]Point, error)

func (p Point) when() time.Time { return p.Time }
