package main

import (
	"fmt"
	"io"
	"strings"
	"sync"
	"time"

	"wickd/model"
)

// screen prints a demo as it goes: a line every few hours for what is well,
// the whole message for what is not.
type screen struct {
	out  io.Writer
	site *model.Site

	mu     sync.Mutex // guards all below and the output
	raised int
	hours  int
}

func newScreen(out io.Writer, site *model.Site) *screen { return &screen{out: out, site: site} }

func (s *screen) begin(web, broker string, speed float64) {
	fmt.Fprintf(s.out, `%s, simulated: %d bags over %d channels, %.0f times faster than life, or as fast as this machine can.
The sensors publish over MQTT to mqtt://%s, and the daemon that listens there is the real one.
Look at http://%s/ (page) and http://%s/metrics. Ctrl-C ends it.

`, s.site.Name, len(s.site.Bags), len(s.site.Channels), speed, broker, web, web)
}

// printEvery is how often the state is printed, in hours of the yard.
const printEvery = 3

func (s *screen) hour(snap model.Snapshot) {
	local := snap.Time.In(s.site.TimeZone)
	if local.Hour()%printEvery != 0 {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.hours++
	var b strings.Builder
	b.WriteString(local.Format("Mon 15:04"))
	for _, c := range snap.Channels {
		fmt.Fprintf(&b, "  %s", c.Channel)
		for _, g := range snap.Bags {
			if g.Channel == c.Channel && g.WaterContent.Quality != model.Unknown {
				fmt.Fprintf(&b, " %.0f", 100*g.WaterContent.Value)
			}
		}
		b.WriteString(" %")
	}
	for _, r := range snap.Reservoirs {
		fmt.Fprintf(&b, "  %s %.0f L", r.Reservoir, r.Volume.Value)
		if r.EmptyAt != nil && r.EmptyAt.P50 != nil {
			fmt.Fprintf(&b, " for %.1f d", r.EmptyAt.P50.Sub(snap.Time).Hours()/24)
		}
	}
	fmt.Fprintln(s.out, b.String())
}

func (s *screen) alerts(changes []model.Transition) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, t := range changes {
		if t.Suppressed || t.Kind != model.Raised && t.Kind != model.Cleared {
			continue
		}
		if t.Kind == model.Raised {
			s.raised++
		}
		s.alert(t)
	}
}

func (s *screen) alert(t model.Transition) {
	mark := "ALERT"
	if t.Kind == model.Cleared {
		mark = "clear"
	}
	fmt.Fprintf(s.out, "%s  %s [%s] %s\n", t.Time.In(s.site.TimeZone).Format("Mon 15:04"), mark, t.Condition, t.Message.Headline)
	if t.Kind == model.Cleared {
		return
	}
	indent := strings.Repeat(" ", len("Mon 15:04  "))
	if t.Cause != "" {
		fmt.Fprintf(s.out, "%scause: %s\n", indent, t.Cause)
	}
	for _, line := range []string{t.Message.Why, t.Message.Action, t.Message.Caution} {
		if line != "" {
			fmt.Fprintf(s.out, "%s%s\n", indent, strings.ReplaceAll(line, "\n", "\n"+indent))
		}
	}
}

func (s *screen) end() {
	s.mu.Lock()
	defer s.mu.Unlock()
	fmt.Fprintf(s.out, "\nThe end: %s of the yard's time, %s raised.\n", (time.Duration(s.hours*printEvery) * time.Hour).String(), plural(s.raised, "alert", "alerts"))
}
