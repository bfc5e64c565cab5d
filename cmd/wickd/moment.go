package main

import (
	"errors"
	"fmt"
	"strings"
	"time"
)

// moment is a date or time on the command line. Without a zone of its own it is
// one of the site's.
type moment struct {
	at    time.Time // without a zone: its wall clock as if it were UTC
	given bool
	zoned bool
	day   bool // a whole day
}

// momentLayouts are what is understood besides RFC 3339.
var momentLayouts = []string{
	time.DateOnly, "2006-01-02T15:04:05", "2006-01-02T15:04", time.DateTime, "2006-01-02 15:04",
}

// UnmarshalText reads a date, a date and time, or RFC 3339.
func (m *moment) UnmarshalText(text []byte) error {
	s := strings.TrimSpace(string(text))
	if t, err := time.Parse(time.RFC3339Nano, s); err == nil {
		*m = moment{at: t, given: true, zoned: true}
		return nil
	}
	for _, layout := range momentLayouts {
		t, err := time.Parse(layout, s)
		var problem *time.ParseError
		switch {
		case err == nil:
			*m = moment{at: t, given: true, day: layout == time.DateOnly}
			return nil
		case errors.As(err, &problem) && strings.Contains(problem.Message, "out of range"):
			return fmt.Errorf("%.40q: there is no such day or time", s)
		}
	}
	return fmt.Errorf(`%.40q is no date or time, for example 2026-06-01, "2026-06-01 08:30" or 2026-06-01T08:30:00+02:00`, s)
}

// from is its time, of a day the beginning; zero: it was not given.
func (m moment) from(zone *time.Location) time.Time {
	if !m.given || m.zoned {
		return m.at
	}
	t := m.at
	return time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), t.Nanosecond(), zone)
}

// to is its time, of a day the end; zero: it was not given.
func (m moment) to(zone *time.Location) time.Time {
	if m.day {
		m.at = m.at.AddDate(0, 0, 1)
	}
	return m.from(zone)
}
