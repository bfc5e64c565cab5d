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
	of    string         // of which replay, at the head of a line; empty: the only one, or the first
	zone  *time.Location // of the site
	total int64          // messages that there are
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
		fmt.Fprintln(p.out, p.stands(now))
	}
}

// stands says where it has come to, and how long it will take if it goes on like
// this.
func (p *progress) stands(now time.Time) string {
	text := fmt.Sprintf("%s%s: %s", p.of, p.last.In(p.zone).Format("2006-01-02 15:04 MST"), plural(p.lines, "message", "messages"))
	if over := p.last.Sub(p.first); over > 0 {
		text += ", " + timeTaken(over)
	}
	share := float64(p.lines) / float64(max(1, p.total))
	if share >= 1 {
		return text
	}
	left := max(time.Second, time.Duration(float64(now.Sub(p.began))*(1/share-1)))
	return text + fmt.Sprintf("; %.0f %% done, about %s left", inPercent*share, timeTaken(left))
}

func (p *progress) done(found *chronicle) {
	if p.quiet {
		return
	}
	alerts := plural(len(found.raised), "alert", "alerts")
	if n := len(found.hidden); n > 0 {
		alerts += fmt.Sprintf(" (and %d kept back, for one of these explains %s)", n, pluralOf(n, "it", "them"))
	}
	if full := p.first.Truncate(time.Hour).Add(time.Hour); p.last.Before(full) {
		alerts += "; no full hour is in it, and estimates come on the hour"
	}
	over := ""
	if length := p.last.Sub(p.first); length > 0 {
		over = " over " + timeTaken(length)
	}
	fmt.Fprintf(p.out, "%s%s replayed in %.1f s; %s\n", plural(p.lines, "message", "messages"), over, time.Since(p.began).Seconds(), alerts)
}
