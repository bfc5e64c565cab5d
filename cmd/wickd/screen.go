package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"sync"
	"time"

	"wickd/alerts"
	"wickd/model"
)

// screen prints a demo as it goes: a line every few hours for what is well,
// the whole message for what is not.
type screen struct {
	out  io.Writer
	site *model.Site

	mu     sync.Mutex // guards all below and the output
	raised int
	shown  bool // the alert that a demo is for
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
			s.shown = s.shown || t.Condition == alerts.WickFailing && t.Subject == model.BagSubject(demoFaultBag)
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

// end says how far the demo came: passed is the yard's time, took the watcher's, speed how
// much faster than life it was asked to go. Where the alert that a demo is for did not
// come, it says why.
func (s *screen) end(passed, took time.Duration, speed float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	fmt.Fprintf(s.out, "\nThe end: %s of the yard's time, %s raised.\n", yardTime(passed), plural(s.raised, "alert", "alerts"))
	if s.shown {
		return
	}
	const found = 6 * time.Hour // that it takes, about, by the day's course of water
	text := fmt.Sprintf("The wicks of bag %s lose contact after %s, and wickd tells within some %s more, when the plants have drunk: this demo ended before.", demoFaultBag, yardTime(demoFault), yardTime(found))
	if reached := passed.Seconds() / took.Seconds(); took >= timed && reached < slow*speed {
		text += fmt.Sprintf(" This machine, with what else it does, came to %.0f times faster than life, not %.0f.", reached, speed)
	}
	fmt.Fprint(s.out, paragraph(text+" Let it run on, or for longer with --for.", 0, 0))
}

// slow is the share of the speed that was asked for below which a demo says how fast it was.
const slow = 0.8

// timed is how long a demo must have run for its speed to say anything of the machine: it
// has to start first.
const timed = 5 * time.Second

// yardTime says a length of the yard's time in hours: "9.5 hours".
func yardTime(d time.Duration) string {
	hours := strconv.FormatFloat(math.Round(2*d.Hours())/2, 'f', -1, 64)
	if hours == "1" {
		return "1 hour"
	}
	return hours + " hours"
}
