package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/model"
)

// noon is a Tuesday.
var noon = time.Date(2026, 6, 2, 12, 0, 0, 0, time.UTC)

// kestrel is a site of two channels with two bags each over one tank.
func kestrel() *model.Site {
	site := &model.Site{
		Name: "Kestrel Yard", TimeZone: time.UTC,
		Air: []model.Sensor{{ID: "air/temperature", Quantity: model.Temperature}},
		Reservoirs: []model.Reservoir{{
			ID: "tank", Full: 400, Empty: 50, Low: 120,
			Target: model.Target{EC: 1.4, PH: 5.8, ECTolerance: 0.21},
		}},
		Channels: []model.Channel{{ID: "a", Reservoir: "tank"}, {ID: "b", Reservoir: "tank"}},
	}
	for _, q := range []model.Quantity{model.Level, model.EC, model.PH, model.Temperature} {
		site.Reservoirs[0].Sensors = append(site.Reservoirs[0].Sensors, model.Sensor{ID: model.ReservoirSubject("tank").Sensor(q), Quantity: q})
	}
	for _, id := range []string{"a1", "a2", "b1", "b2"} {
		site.Bags = append(site.Bags, model.Bag{
			ID: id, Channel: id[:1], Diameter: 120, Length: 800, Fill: 0.97, Plants: 4,
			Moisture: &model.Sensor{ID: model.BagSubject(id).Sensor(model.Moisture), Quantity: model.Moisture},
		})
	}
	return site
}

func measured(value, sd float64) model.Measured {
	return model.Measured{Value: value, SD: sd, Quality: model.Fresh}
}

// healthy is a snapshot in which nothing is wrong.
func healthy(now time.Time) model.Snapshot {
	s := model.Snapshot{
		Time:     now,
		Channels: []model.ChannelEstimate{{Channel: "a", Reservoir: "tank", Quality: model.Fresh}, {Channel: "b", Reservoir: "tank", Quality: model.Fresh}},
		Reservoirs: []model.ReservoirEstimate{{
			Reservoir: "tank", Time: now, Level: measured(300, 1), Volume: measured(144, 1), DrawPerDay: measured(6, 0.3),
			Unexplained: measured(0.1, 0.3), EC: measured(1.4, 0.02), PH: measured(5.8, 0.05), Temperature: measured(20, 0.2),
		}},
	}
	for _, id := range []string{"a1", "a2", "b1", "b2"} {
		s.Bags = append(s.Bags, model.BagEstimate{
			Bag: id, Channel: id[:1], Time: now, WaterContent: measured(0.45, 0.01), UptakePerDay: measured(1.5, 0.1),
			WickHealth: measured(0.95, 0.05), WickShare: measured(0.95, 0.05), DemandFactor: measured(1, 0.1), DryLimit: 0.31, WetLimit: 0.62,
			Temperature: measured(22, 0.2), Oxygen: 8.6, Salt: model.Salt{EC: measured(1.5, 0.2), Limit: 2.2},
		})
		s.Sensors = append(s.Sensors, model.SensorHealth{
			Sensor: model.BagSubject(id).Sensor(model.Moisture), LastMessage: now, LastGood: now, Expected: 15 * time.Minute, Value: 0.45,
		})
	}
	for _, q := range []model.Quantity{model.Level, model.EC, model.PH, model.Temperature} {
		s.Sensors = append(s.Sensors, model.SensorHealth{
			Sensor: model.ReservoirSubject("tank").Sensor(q), LastMessage: now, LastGood: now, Expected: 15 * time.Minute, Value: 1.4,
		})
	}
	s.Sensors = append(s.Sensors, model.SensorHealth{Sensor: "air/temperature", LastMessage: now, LastGood: now, Value: 21.5})
	s.Daemon = model.DaemonHealth{DiskKnown: true, DiskFree: 20e9, DiskLoss: 1e6}
	return s
}

// trouble changes a healthy snapshot.
type trouble func(s *model.Snapshot)

func with(now time.Time, troubles ...trouble) model.Snapshot {
	s := healthy(now)
	for _, t := range troubles {
		t(&s)
	}
	return s
}

func water(bag int, value float64) trouble {
	return func(s *model.Snapshot) { s.Bags[bag].WaterContent.Value = value }
}

func stale(bag int) trouble {
	return func(s *model.Snapshot) { s.Bags[bag].WaterContent.Quality = model.Stale }
}

func dryIn(bag int, d time.Duration) trouble {
	return func(s *model.Snapshot) {
		at, late := s.Time.Add(d), s.Time.Add(d+d/4)
		s.Bags[bag].DryAt, s.Bags[bag].Dry = &at, model.Quantiles{P50: &at, P95: &late}
	}
}

func wick(bag int, health float64, cause model.Cause) trouble {
	return func(s *model.Snapshot) {
		s.Bags[bag].WickShare.Value, s.Bags[bag].Cause = health, cause
	}
}

func channelIsDry(c int) trouble {
	return func(s *model.Snapshot) {
		s.Channels[c].Dry, s.Channels[c].Since = true, s.Time.Add(-2*time.Hour)
		s.Channels[c].Evidence = "both bags that can be read stopped getting water at about the same time, which no single wick explains"
	}
}

func level(mm float64) trouble {
	return func(s *model.Snapshot) { s.Reservoirs[0].Level.Value = mm }
}

func silent(sensors ...int) trouble {
	return func(s *model.Snapshot) {
		for _, i := range sensors {
			s.Sensors[i].Silent, s.Sensors[i].LastMessage = true, noon.Add(-time.Hour)
		}
	}
}

// lost has sensors fall silent at the same time.
func lost(sensors ...int) trouble {
	return func(s *model.Snapshot) {
		silent(sensors...)(s)
		for _, i := range sensors {
			s.Sensors[i].Together = 1
		}
	}
}

func disk(free int64, loss float64) trouble {
	return func(s *model.Snapshot) { s.Daemon.DiskKnown, s.Daemon.DiskFree, s.Daemon.DiskLoss = true, free, loss }
}

func brokerDown(s *model.Snapshot) { s.Daemon.BrokerLostSince = noon }

// run drives an engine minute by minute.
type run struct {
	t   *testing.T
	e   *Engine
	now time.Time
	all []model.Transition
}

func newRun(t *testing.T, overrides map[model.Condition]Override) *run {
	t.Helper()
	e, err := New(Options{Site: kestrel(), Overrides: overrides})
	require.NoError(t, err)
	return &run{t: t, e: e, now: noon}
}

// last steps through d with the troubles and returns what changed.
func (r *run) last(d time.Duration, troubles ...trouble) []model.Transition {
	return r.lastBy(time.Minute, d, troubles...)
}

// answered is last with troubles that raise one alert, which somebody acknowledges.
func (r *run) answered(d time.Duration, troubles ...trouble) {
	r.t.Helper()
	raised := r.last(d, troubles...)
	require.Len(r.t, raised, 1)
	_, err := r.e.Acknowledge(r.now, raised[0].Occurrence, "somebody")
	require.NoError(r.t, err)
}

// lastBy is last in coarser steps.
func (r *run) lastBy(step, d time.Duration, troubles ...trouble) []model.Transition {
	var changes []model.Transition
	for end := r.now.Add(d); r.now.Before(end); {
		r.now = r.now.Add(step)
		changes = append(changes, r.e.Step(r.now, with(r.now, troubles...))...)
	}
	r.all = append(r.all, changes...)
	return changes
}

// brief is a transition in a word: "raised bag-dry bag/a1", with "(quiet)" if
// nobody is told.
func brief(changes []model.Transition) []string {
	out := []string{}
	for _, c := range changes {
		text := string(c.Kind) + " " + string(c.Condition) + " " + string(c.Subject)
		if c.Suppressed {
			text += " (quiet)"
		}
		out = append(out, text)
	}
	return out
}
