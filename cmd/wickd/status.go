package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"os/user"
	"strings"
	"text/tabwriter"
	"time"

	"wickd/cmd/internal/web"
	"wickd/model"
)

// daemonAddress says which running daemon is meant.
type daemonAddress struct {
	Daemon string `default:"http://127.0.0.1:9920" env:"WICKD_DAEMON" placeholder:"URL" help:"The running daemon (${default})."`
}

// flag names the daemon in a command that is to be given next; empty: it need not be.
func (d daemonAddress) flag() string {
	if d.Daemon == cmp.Or(os.Getenv("WICKD_DAEMON"), "http://127.0.0.1:9920") {
		return "" // that is asked without it
	}
	return " --daemon " + d.Daemon
}

func (d daemonAddress) client() web.Client {
	base := strings.TrimRight(d.Daemon, "/")
	if !strings.Contains(base, "://") {
		base = "http://" + base
	}
	return web.Client{Base: base}
}

type statusCommand struct {
	daemonAddress
	JSON bool `name:"json" help:"For machines."`
}

func (s statusCommand) Run(ctx context.Context, c console) error {
	doc, err := s.client().Snapshot(ctx)
	if err != nil {
		return err
	}
	return c.answer(s.JSON, doc, statusText(doc, s.flag()))
}

// statusText is what status prints; flag names the daemon in commands to come.
func statusText(d web.Document, flag string) string {
	r := answered(d)
	r.flag = flag
	var b strings.Builder
	b.WriteString(r.heading() + "\n")
	if !d.Ready {
		fmt.Fprintf(&b, "not ready: %s\n", d.NotReady)
	}
	for _, n := range d.Notes {
		fmt.Fprintf(&b, "note: %s\n", n)
	}
	for _, u := range d.Daemon.Undelivered {
		fmt.Fprintf(&b, "messages do not reach %s since %s: %s waiting; %s\n", u.Recipient, r.moment(u.Since), plural(u.Waiting, "message", "messages"), u.Why)
	}
	b.WriteString(r.alertsText())
	if len(d.Bags)+len(d.Reservoirs) == 0 {
		return b.String()
	}
	writeBags(&b, d)
	for _, r := range d.Reservoirs {
		fmt.Fprintf(&b, "\n%s: %s L, draws %s L/d, EC %s mS/cm, pH %s, %s ± %s °C%s%s\n", r.Reservoir, number(r.Volume.Value, "%.0f"), number(r.DrawPerDay.Value, "%.1f"),
			number(r.EC.Value, "%.2f"), number(r.PH.Value, "%.1f"), number(r.Temperature.Value, "%.1f"), number(r.Temperature.SD, "%.1f"), limitOf(r), emptyAt(r, d.Now))
	}
	b.WriteString(doubts(d))
	return b.String()
}

// writeBags is the table of the bags, without the columns that nothing is known of.
func writeBags(to io.Writer, d web.Document) {
	columns := []struct {
		name, unit string
		of         func(g web.BagDoc) string
	}{
		{"bag", "", func(g web.BagDoc) string { return g.Bag }},
		{"water", "% vol", func(g web.BagDoc) string { return percent(g.WaterContent.Value) }},
		{"±", "", func(g web.BagDoc) string { return percent(g.WaterContent.SD) }},
		{"dry at", "% vol", func(g web.BagDoc) string { return percent(g.DryLimit) }},
		{"drinks", "L/d", func(g web.BagDoc) string { return number(g.UptakePerDay.Value, "%.2f") }},
		{"±", "", func(g web.BagDoc) string { return number(g.UptakePerDay.SD, "%.2f") }},
		{"wicks", "%", func(g web.BagDoc) string { return percent(g.WickHealth.Value) }},
		{"salt", "mS/cm", func(g web.BagDoc) string { return number(g.Salt.Value, "%.1f") }},
		{"±", "", func(g web.BagDoc) string { return number(g.Salt.SD, "%.1f") }},
		{"limit", "mS/cm", func(g web.BagDoc) string { return number(g.SaltLimit, "%.1f") }},
		{"reached in", "", func(g web.BagDoc) string { return saltIn(g, d.Now) }},
		{"roots", "°C", func(g web.BagDoc) string { return number(g.Temperature.Value, "%.1f") }},
		{"±", "", func(g web.BagDoc) string { return number(g.Temperature.SD, "%.1f") }},
	}
	lines := make([]string, 2+len(d.Bags))
	for _, c := range columns {
		known := false
		for _, g := range d.Bags {
			known = known || c.of(g) != unknownFigure
		}
		if !known {
			continue
		}
		lines[0], lines[1] = lines[0]+c.name+"\t", lines[1]+c.unit+"\t"
		for i, g := range d.Bags {
			lines[2+i] += c.of(g) + "\t"
		}
	}
	t := tabwriter.NewWriter(to, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "\n"+strings.Join(lines, "\n"))
	_ = t.Flush() // a strings.Builder takes everything
}

// unknownFigure stands where nothing is known.
const unknownFigure = "–"

// doubts names the figures that no reading holds up at present, and the sensors
// with something wrong.
func doubts(d web.Document) string {
	var lines []string
	doubt := func(what, is string, f web.Figure) {
		if f.Value == nil || f.Quality == model.Fresh || f.Quality == "" {
			return
		}
		line := what + " is " + is
		if f.AgeSeconds != nil && *f.AgeSeconds > 0 {
			line += ": the last good reading came " + ago(time.Duration(*f.AgeSeconds*float64(time.Second)))
		}
		lines = append(lines, line)
	}
	const alone, last = "what the model makes of it alone", "what was measured last"
	for _, g := range d.Bags {
		doubt("water of bag "+g.Bag, alone, g.WaterContent)
	}
	for _, r := range d.Reservoirs {
		doubt("volume of "+r.Reservoir, alone, r.Volume)
		doubt("EC of "+r.Reservoir, last, r.EC)
		doubt("pH of "+r.Reservoir, last, r.PH)
		doubt("temperature of "+r.Reservoir, last, r.Temperature)
	}
	for _, s := range d.Sensors {
		var wrong string
		switch {
		case s.Silent && s.LastGood == nil:
			wrong = "has never sent a good reading"
		case s.Silent:
			wrong = "is silent"
		case s.Stuck:
			wrong = "is stuck on one value"
		case s.Implausible:
			wrong = "is not believed"
		default:
			continue
		}
		if s.Evidence != "" {
			wrong += ": " + s.Evidence
		}
		lines = append(lines, string(s.Sensor)+" "+wrong)
	}
	if len(lines) == 0 {
		return ""
	}
	return "\nIn doubt:\n  " + strings.Join(lines, "\n  ") + "\n"
}

func emptyAt(r web.ReservoirDoc, now time.Time) string {
	if r.EmptyAt == nil || r.EmptyAt.P50 == nil {
		return ""
	}
	left := r.EmptyAt.P50.Sub(now)
	if left <= 0 {
		return ", empty"
	}
	return ", empty in about " + web.Span(left)
}

func limitOf(r web.ReservoirDoc) string {
	if r.TemperatureLimit == nil {
		return ""
	}
	return fmt.Sprintf(" (limit %.0f)", *r.TemperatureLimit)
}

// saltIn is how long it takes until the salt reaches its limit; nothing where it
// does not within a year.
func saltIn(g web.BagDoc, now time.Time) string {
	if g.SaltLimitAt == nil {
		return unknownFigure
	}
	if left := g.SaltLimitAt.Sub(now); left > 0 {
		return fmt.Sprintf("%.0f d", math.Ceil(left.Hours()/24))
	}
	return "now"
}

func percent(v *float64) string {
	if v == nil {
		return unknownFigure
	}
	return fmt.Sprintf("%.1f", 100**v)
}

func number(v *float64, format string) string {
	if v == nil {
		return unknownFigure
	}
	return fmt.Sprintf(format, *v)
}

// operatorName is who acknowledges, unless the command line says so.
func operatorName() string {
	if u, err := user.Current(); err == nil && u.Username != "" {
		return u.Username
	}
	if name := os.Getenv("USER"); name != "" {
		return name
	}
	return "command line"
}
