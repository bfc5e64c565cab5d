package main

import (
	"context"
	"fmt"
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
	return c.answer(s.JSON, doc, statusText(doc))
}

func statusText(d web.Document) string {
	r := answered(d)
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
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(t, "\nbag\twater\t±\tdry at\tdrinks\twicks\tsalt\t±\tlimit\treached in\troots\t±\t\n\t% vol\t\t% vol\tL/d\t%\tmS/cm\t\tmS/cm\t\t°C\t\t\n")
	for _, g := range d.Bags {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t\n", g.Bag, percent(g.WaterContent.Value), percent(g.WaterContent.SD), percent(g.DryLimit), number(g.UptakePerDay.Value, "%.2f"), percent(g.WickHealth.Value),
			number(g.Salt.Value, "%.1f"), number(g.Salt.SD, "%.1f"), number(g.SaltLimit, "%.1f"), saltIn(g, d.Now), number(g.Temperature.Value, "%.1f"), number(g.Temperature.SD, "%.1f"))
	}
	_ = t.Flush()
	for _, r := range d.Reservoirs {
		fmt.Fprintf(&b, "\n%s: %s L, draws %s L/d, EC %s mS/cm, pH %s, %s ± %s °C%s%s\n", r.Reservoir, number(r.Volume.Value, "%.0f"), number(r.DrawPerDay.Value, "%.1f"),
			number(r.EC.Value, "%.2f"), number(r.PH.Value, "%.1f"), number(r.Temperature.Value, "%.1f"), number(r.Temperature.SD, "%.1f"), limitOf(r), emptyAt(r, d.Now))
	}
	b.WriteString(doubts(d))
	return b.String()
}

// doubts names the figures that no reading holds up at present, and the sensors
// with something wrong.
func doubts(d web.Document) string {
	var lines []string
	doubt := func(what string, f web.Figure) {
		if f.Value == nil || f.Quality == model.Fresh || f.Quality == "" {
			return
		}
		line := what + " is what the model makes of it alone"
		if f.AgeSeconds != nil && *f.AgeSeconds > 0 {
			line += ": the last good reading came " + ago(time.Duration(*f.AgeSeconds*float64(time.Second)))
		}
		lines = append(lines, line)
	}
	for _, g := range d.Bags {
		doubt("water of bag "+g.Bag, g.WaterContent)
	}
	for _, r := range d.Reservoirs {
		doubt("volume of "+r.Reservoir, r.Volume)
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
		return "–"
	}
	if left := g.SaltLimitAt.Sub(now); left > 0 {
		return fmt.Sprintf("%.0f d", math.Ceil(left.Hours()/24))
	}
	return "now"
}

func percent(v *float64) string {
	if v == nil {
		return "–"
	}
	return fmt.Sprintf("%.1f", 100**v)
}

func number(v *float64, format string) string {
	if v == nil {
		return "–"
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
