package daemon

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"wickd/alerts"
	"wickd/alerts/notify"
	"wickd/cmd/internal/config"
	"wickd/ingest/journal"
	"wickd/model"
)

const (
	// weekLate is how late a digest still goes out: wickd may have been down at
	// its time, but a digest of last week on Wednesday would puzzle people.
	weekLate = 24 * time.Hour
	// weekLook is how often the calendar is looked at.
	weekLook = 30 * time.Second
	maxAWeek = 100_000 // transitions that a digest counts
)

// calendar sends the weekly digest until ctx ends.
func (d *Daemon) calendar(ctx context.Context) error {
	t := time.NewTicker(weekLook)
	defer t.Stop()
	var done time.Time
	complaint := ""
	for {
		end := lastWeekly(d.o.Clock(), d.o.Config.Site.TimeZone, *d.o.Config.Notify.Weekly)
		if !end.Equal(done) {
			err := d.digest(ctx, end)
			switch {
			case err == nil:
				done, complaint = end, ""
			case ctx.Err() == nil && err.Error() != complaint:
				complaint = err.Error()
				d.o.Log.Error("the weekly digest", "err", err)
			}
		}
		select {
		case <-ctx.Done():
			return nil
		case <-t.C:
		}
	}
}

// lastWeekly is the latest time of the week that is not after now. Calendar
// days are counted, so that it stays at its hour when clocks change.
func lastWeekly(now time.Time, zone *time.Location, w config.Weekly) time.Time {
	local := now.In(zone)
	back := (int(local.Weekday()) - int(w.Day) + 7) % 7
	for {
		at := time.Date(local.Year(), local.Month(), local.Day()-back, int(w.At/time.Hour), int(w.At/time.Minute)%60, 0, 0, zone)
		if !at.After(now) {
			return at
		}
		back += 7
	}
}

// digest puts the digest of a week into the outbox, unless it is there already,
// too late, or of a time before wickd was there.
func (d *Daemon) digest(ctx context.Context, end time.Time) error {
	now := d.o.Clock()
	stats, err := d.journal.Stats(ctx)
	if err != nil {
		return err
	}
	if now.Sub(end) > weekLate || stats.FirstSeq == 0 || stats.FirstTime.After(end) {
		return nil
	}
	week, err := d.week(ctx, end, stats)
	if err != nil {
		return err
	}
	deliveries, err := notify.Weekly(now, d.o.Config.Site.TimeZone, week, d.keeper.recipients)
	if err != nil {
		return err
	}
	if err := d.journal.Commit(ctx, journal.Update{Outbox: owed(deliveries, now)}); err != nil {
		return fmt.Errorf("put it into the outbox: %w", err)
	}
	d.told()
	return nil
}

// week gathers what a digest says.
func (d *Daemon) week(ctx context.Context, end time.Time, stats journal.Stats) (notify.Digest, error) {
	local := end.In(d.o.Config.Site.TimeZone)
	week := notify.Digest{From: local.AddDate(0, 0, -7), To: local}
	if stats.OldestReason != "" {
		week.Waiting = int(stats.OutboxOwed)
	}
	if err := d.courses(ctx, &week); err != nil {
		return week, err
	}
	changes, err := d.journal.Transitions(ctx, journal.History{From: week.From, To: week.To, Limit: maxAWeek})
	if err != nil {
		return week, err
	}
	for _, t := range changes {
		if t.Kind == model.Raised && !t.Suppressed {
			week.Raised++
		}
	}
	for _, a := range d.alertStates() {
		if a.State == string(alerts.Unacknowledged) || a.State == string(alerts.Acknowledged) {
			week.Open++
		}
	}
	for _, s := range d.keeper.latest().Sensors {
		week.Sensors++
		if word := trouble(s); word != "" {
			week.Troubled = append(week.Troubled, fmt.Sprintf("%s (%s)", alerts.Name(s.Sensor), word))
		}
	}
	return week, nil
}

func trouble(s model.SensorHealth) string {
	switch {
	case s.Silent:
		return "silent"
	case s.Stuck:
		return "stuck"
	case s.Implausible:
		return "not believable"
	}
	return ""
}

// courses reads the week's estimates: what each bag drank and how each
// solution changed.
func (d *Daemon) courses(ctx context.Context, week *notify.Digest) error {
	meters := map[string]*meter{}
	solutions := map[string]*notify.Course{}
	err := past{d.journal}.each(ctx, week.From, func(e journal.Estimate) {
		if e.At.After(week.To) {
			return
		}
		switch e.Kind {
		case "bag":
			var r BagRecord
			if json.Unmarshal(e.Body, &r) == nil {
				measure(meters, e.ID, r.Uptake)
			}
		case "reservoir":
			var r ReservoirRecord
			if json.Unmarshal(e.Body, &r) == nil {
				follow(solutions, e.ID, r)
			}
		}
	})
	week.Drinks = drinks(d.o.Config.Site, meters)
	for _, r := range d.o.Config.Site.Reservoirs {
		if c := solutions[r.ID]; c != nil {
			week.Solutions = append(week.Solutions, *c)
		}
	}
	return err
}

// meter adds up a counter that may begin afresh.
type meter struct{ last, sum float64 }

func measure(meters map[string]*meter, bag string, counted float64) {
	m := meters[bag]
	if m == nil {
		meters[bag] = &meter{last: counted}
		return
	}
	if counted >= m.last {
		m.sum += counted - m.last
	} else {
		m.sum += counted
	}
	m.last = counted
}

func follow(solutions map[string]*notify.Course, id string, r ReservoirRecord) {
	c := solutions[id]
	if c == nil {
		c = &notify.Course{Reservoir: id}
		solutions[id] = c
	}
	if r.EC != nil {
		c.EC.Add(*r.EC)
	}
	if r.PH != nil {
		c.PH.Add(*r.PH)
	}
}

// drinks adds the bags of each crop, in the order in which the crops come.
func drinks(site *model.Site, meters map[string]*meter) []notify.Drink {
	var all []notify.Drink
	place := map[string]int{}
	for _, b := range site.Bags {
		m := meters[b.ID]
		if m == nil {
			continue
		}
		i, ok := place[b.Crop]
		if !ok {
			i = len(all)
			place[b.Crop] = i
			all = append(all, notify.Drink{Crop: b.Crop})
		}
		all[i].Plants += b.Plants
		all[i].Litres += m.sum
	}
	return all
}
