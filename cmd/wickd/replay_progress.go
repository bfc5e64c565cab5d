package main

import (
	"fmt"
	"io"
	"time"
)

// progress tells how far a long replay has come.
type progress struct {
	out   io.Writer
	quiet bool
	began time.Time
	told  time.Time
	lines int
	first time.Time
	last  time.Time
}

// tellEvery keeps short replays silent and long ones from looking stuck.
const tellEvery = 2 * time.Second

func (p *progress) line(at time.Time) {
	p.lines++
	p.last = at
	if p.first.IsZero() {
		p.first = at
	}
	const lookEvery = 1000 // lines between looks at the clock
	if p.quiet || p.lines%lookEvery != 0 {
		return
	}
	now := time.Now()
	if p.told.IsZero() {
		p.told = p.began
	}
	if now.Sub(p.told) >= tellEvery {
		p.told = now
		fmt.Fprintf(p.out, "%s: %d messages, %.0f days\n", at.UTC().Format(time.DateTime), p.lines, p.days())
	}
}

func (p *progress) days() float64 { return p.last.Sub(p.first).Hours() / 24 }

func (p *progress) done(found *chronicle) {
	if p.quiet {
		return
	}
	alerts := plural(len(found.raised), "alert", "alerts")
	if n := len(found.hidden); n > 0 {
		alerts += fmt.Sprintf(" (and %d kept back, for one of these explains them)", n)
	}
	if full := p.first.Truncate(time.Hour).Add(time.Hour); p.last.Before(full) {
		alerts += "; no full hour is in it, and estimates come on the hour"
	}
	fmt.Fprintf(p.out, "%d messages over %.1f days replayed in %.1f s; %s\n", p.lines, p.days(), time.Since(p.began).Seconds(), alerts)
}
