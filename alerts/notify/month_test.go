package notify

import (
	"math/rand/v2"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/alerts"
	"wickd/model"
)

// monthSite is one tank, one channel and eight bags with probes.
func monthSite() *model.Site {
	site := &model.Site{
		Name: "Kestrel Yard", TimeZone: time.UTC,
		Reservoirs: []model.Reservoir{{ID: "tank", Full: 400, Empty: 50, Low: 120}},
		Channels:   []model.Channel{{ID: "a", Reservoir: "tank"}},
	}
	for _, id := range []string{"a1", "a2", "a3", "a4", "a5", "a6", "a7", "a8"} {
		site.Bags = append(site.Bags, model.Bag{
			ID: id, Channel: "a", Diameter: 120, Length: 800, Fill: 0.97,
			Moisture: &model.Sensor{ID: model.BagSubject(id).Sensor(model.Moisture), Quantity: model.Moisture},
		})
	}
	return site
}

// weather is what happens in the month: bag a1 is dry on hot afternoons, with
// an hour of cloud between, the channel stands dry for a day, the broker is down for a night, a
// probe dies for good, and small things come and go at random.
func weather(site *model.Site, now time.Time, day, minute int, luck *rand.Rand, odd map[string]bool) model.Snapshot {
	s := model.Snapshot{Time: now}
	fresh := func(v, sd float64) model.Measured {
		return model.Measured{Value: v, SD: sd, Time: now, Quality: model.Fresh}
	}
	for _, b := range site.Bags {
		if minute%180 == 0 {
			odd[b.ID] = luck.IntN(400) == 0
		}
		e := model.BagEstimate{
			Bag: b.ID, Channel: "a", Time: now, WaterContent: fresh(0.45, 0.01), UptakePerDay: fresh(1.5, 0.1),
			WickHealth: fresh(0.95, 0.05), WickShare: fresh(0.95, 0.05), DemandFactor: fresh(1, 0.1), DryLimit: 0.31, WetLimit: 0.62,
		}
		if odd[b.ID] || b.ID == "a1" && day%7 < 3 && minute > 720 && minute < 1080 && minute/120 != 7 || day == 12 {
			e.WaterContent.Value = 0.25
		}
		s.Bags = append(s.Bags, e)
		lost := day == 20 && minute < 360
		s.Sensors = append(s.Sensors, model.SensorHealth{
			Sensor: b.Moisture.ID, LastMessage: now, LastGood: now, Expected: 15 * time.Minute,
			Silent: lost || b.ID == "a8" && day >= 25,
		})
		if lost {
			s.Daemon.BrokerLostSince = now.Add(-time.Duration(minute) * time.Minute)
		}
	}
	s.Channels = []model.ChannelEstimate{{Channel: "a", Reservoir: "tank", Quality: model.Fresh}}
	if day == 12 {
		s.Channels[0].Dry, s.Channels[0].Since = true, now.Add(-time.Hour)
	}
	return s
}

// A month with one person on the phone and one behind: what is raised is told
// once, what is cleared is told to those who know, nothing is left over, and
// there are few enough messages to live with.
func TestAMonth(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		keeper := person("keeper")
		keeper.Quiet = &QuietHours{From: 22 * time.Hour, To: 6 * time.Hour, Zone: time.UTC}
		deputy := later("deputy", 2*time.Hour)
		h := newHouse(t, keeper, deputy)
		site := monthSite()
		e, err := alerts.New(alerts.Options{Site: site, Escalations: []time.Duration{2 * time.Hour}, Reminders: map[model.Priority]time.Duration{model.PriorityUrgent: time.Hour}})
		require.NoError(t, err)
		h.options.Stands = func(o string) bool {
			for _, s := range e.Open() {
				if s.Occurrence == o {
					return s.Status == alerts.Unacknowledged
				}
			}
			return false
		}
		h.open()
		luck, odd := rand.New(rand.NewPCG(7, 7)), map[string]bool{}
		told, raisings := 0, 0
		const every = 5 * time.Minute
		for range 30 * 24 * time.Hour / every {
			time.Sleep(every)
			synctest.Wait()
			now := h.clock()
			changes := e.Step(now, weather(site, now, now.YearDay()-noon.YearDay(), now.Hour()*60+now.Minute(), luck, odd))
			tellings := Tell(append(changes, e.Remind(now)...), e.Reach)
			tellings = append(tellings, TellNext(e.Escalate(now))...)
			for _, c := range changes {
				if c.Kind == model.Raised && !c.Suppressed {
					told++
				}
				if c.Kind == model.Raised {
					raisings++
				}
			}
			if len(tellings) > 0 {
				planned, err := Plan(now, tellings, h.recipients)
				require.NoError(t, err)
				h.outbox.put(planned)
				h.d.Poke()
			}
			if hour := now.Hour(); now.Minute() == 30 && hour >= 7 && hour < 21 { // the keeper looks at the phone by day
				for _, s := range e.Open() {
					_, err := e.Acknowledge(now, s.Occurrence, "keeper")
					require.NoError(t, err)
				}
			}
		}
		time.Sleep(24 * time.Hour)
		assert.Zero(t, h.outbox.unsent(), "nothing is left over")
		h.stop()
		judgeMonth(t, h, told, raisings)
	})
}

// judgeMonth looks at what the two phones got.
func judgeMonth(t *testing.T, h *house, told, raisings int) {
	t.Helper()
	keeper, deputy := h.post.to("keeper"), h.post.to("deputy")
	t.Logf("%d raisings, %d told; the keeper got %d messages, the deputy %d", raisings, told, len(keeper), len(deputy))
	known := map[string]bool{}
	for _, r := range h.outbox.rows {
		assert.False(t, known[r.Key], "%s is owed twice", r.Key)
		known[r.Key] = true
	}
	rows := 0
	for _, r := range h.outbox.rows {
		if r.Recipient == "keeper" {
			rows++
		}
	}
	assert.GreaterOrEqual(t, rows, told, "every alert that is told is owed to the keeper")
	assert.Greater(t, raisings, told, "the channel and the broker spoke for their bags and probes")
	// Alarm management takes one alarm in ten minutes for bearable at a desk
	// (EEMUA 191 [M]); for a phone three messages a day are common practice.
	assert.Less(t, len(keeper), 3*30)
	assert.Less(t, len(deputy), len(keeper))
	assert.NotEmpty(t, deputy, "the nights when nobody answers")
}
