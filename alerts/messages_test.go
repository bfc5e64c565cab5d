package alerts

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

var update = flag.Bool("update", false, "rewrite the golden messages")

func TestMessages(t *testing.T) {
	because := func(bag int, c model.Cause, evidence string) trouble {
		return func(s *model.Snapshot) { s.Bags[bag].Cause, s.Bags[bag].Evidence = c, evidence }
	}
	solution := func(f func(r *model.ReservoirEstimate)) trouble {
		return func(s *model.Snapshot) { f(&s.Reservoirs[0]) }
	}
	emptyBetween := solution(func(r *model.ReservoirEstimate) {
		a, b, c := r.Time.Add(16*time.Hour), r.Time.Add(20*time.Hour), r.Time.Add(26*time.Hour)
		r.EmptyAt = &model.Quantiles{P05: &a, P50: &b, P95: &c}
		r.Usable = r.Volume.Value - 24
	})
	cases := []struct {
		name     string
		troubles []trouble
	}{
		{"bag-dry, no cause", []trouble{water(0, 0.24)}},
		{"bag-dry, wick lost contact", []trouble{water(0, 0.24), because(0, model.CauseWickLostContact, "its uptake fell within two hours while its neighbours drank as before")}},
		{"bag-dry, undecided", []trouble{water(0, 0.24), because(0, model.CauseUndecided, "cannot tell yet between a wick and a probe that lost contact")}},
		{"bag-dry, demand", []trouble{water(0, 0.24), because(0, model.CauseDemandHigh, "")}},
		{"bag-drying", []trouble{dryIn(0, 20*time.Hour), because(0, model.CauseWickClogging, "")}},
		{"bag-waterlogged", []trouble{water(0, 0.7)}},
		{"wick-failing", []trouble{wick(0, 0.2, model.CauseWickLostContact), dryIn(0, 9*time.Hour)}},
		{"wick-failing, and why", []trouble{wick(0, 0.2, model.CauseWickLostContact), because(0, model.CauseWickLostContact, "the water content falls as it would if the wicks lifted next to nothing")}},
		{"wick-failing, undecided", []trouble{wick(0, 0.2, model.CauseUndecided)}},
		{"bag-not-drinking", []trouble{thirstless(0), because(0, model.CauseNotDrinking, "")}},
		{"bag-not-drinking, and its wicks", []trouble{thirstless(0), because(0, model.CauseWickClogging, "the wicks lift less from day to day")}},
		{"channel-dry", []trouble{channelIsDry(0), dryIn(1, 5*time.Hour), dryIn(0, 7*time.Hour)}},
		{"reservoir-exhausted", []trouble{level(51), solution(func(r *model.ReservoirEstimate) { r.Volume.Value = 25.0 })}},
		{"reservoir-exhausted, and it goes on falling", []trouble{level(33), solution(func(r *model.ReservoirEstimate) { r.Volume.Value = 15.8 })}},
		{"reservoir-runout", []trouble{emptyBetween}},
		{"reservoir-runout, and its bags after it", []trouble{emptyBetween, dryIn(0, 32*time.Hour), dryIn(2, 29*time.Hour)}},
		{"reservoir-runout, by its draw", []trouble{emptyBetween, solution(func(r *model.ReservoirEstimate) { r.DrawPerDay.Value = 144 })}},
		{"reservoir-runout, and it may leak", []trouble{emptyBetween, solution(func(r *model.ReservoirEstimate) {
			r.DrawPerDay.Value, r.Unexplained = 144, measured(12, 11)
		})}},
		{"reservoir-runout, by the hour, and it may leak", []trouble{emptyBetween, solution(func(r *model.ReservoirEstimate) {
			r.DrawPerDay.Value, r.Unexplained = 96, measured(12, 11)
		})}},
		{"reservoir-runout, leaking", []trouble{emptyBetween, solution(func(r *model.ReservoirEstimate) {
			r.Unexplained, r.Cause, r.DrawPerDay.Value = measured(5.3, 0.8), model.CauseLeak, 11.3
		})}},
		{"reservoir-low", []trouble{level(110), solution(func(r *model.ReservoirEstimate) { r.Volume.Value, r.Usable = 52.8, 28.8 })}},
		{"leak", []trouble{solution(func(r *model.ReservoirEstimate) {
			r.Unexplained, r.DrawPerDay.Value = measured(5.3, 0.8), 11.3
			r.Cause, r.Evidence = model.CauseLeak, "the level falls faster than plants ever drew"
		})}},
		{"ec-off-target, high", []trouble{solution(func(r *model.ReservoirEstimate) { r.EC.Value = 1.9 })}},
		{"ec-off-target, low", []trouble{solution(func(r *model.ReservoirEstimate) { r.EC.Value = 0.9 })}},
		{"ec-off-target, a wrong refill", []trouble{solution(func(r *model.ReservoirEstimate) {
			r.EC.Value = 0.9
			r.Poured = &model.Poured{At: r.Time.Add(-3 * time.Hour), Litres: 60, EC: 0.35, By: -0.5, Cause: model.CausePlainRefill,
				Evidence: "60 L were poured in; by the balance of salt they had 0.35 ± 0.10 mS/cm: that is plain water; add concentrate"}
		})}},
		{"ec-drift", []trouble{solution(func(r *model.ReservoirEstimate) {
			r.EC.Value = 1.5
			r.ECCourse = model.Course{Rate: 0.05, SD: 0.004, Over: 4 * 24 * time.Hour, Leaving: 1.1, Cause: model.CauseWaterOverFeed,
				Evidence: "EC moved by +0.05 mS/cm a day while 30 % of the solution left: plants and air took more water than feed; top up with a weaker solution"}
		})}},
		{"roots-hot", []trouble{func(s *model.Snapshot) { s.Bags[0].Temperature, s.Bags[0].Oxygen = measured(34, 0.2), 7.0 }}},
		{"salt-building", []trouble{func(s *model.Snapshot) {
			s.Bags[0].Salt = model.Salt{EC: measured(2.9, 0.6), Limit: 2.2, Above: 0.88, Since: noon.AddDate(0, 0, -40), Flush: 6.2, Feed: 1.2}
		}}},
		{"ph-off-target, drifting", []trouble{solution(func(r *model.ReservoirEstimate) {
			r.PH.Value = 6.8
			r.PHCourse = model.Course{Rate: 0.12, SD: 0.01, Over: 5 * 24 * time.Hour, Cause: model.CauseNitrateUptake, Evidence: "pH moves by +0.12 a day: plants that take nitrate leave bicarbonate"}
		})}},
		{"ph-off-target, hard water", []trouble{solution(func(r *model.ReservoirEstimate) {
			r.PH.Value = 6.8
			r.PHCourse = model.Course{Rate: 0.12, SD: 0.01, Over: 5 * 24 * time.Hour, Cause: model.CauseHardWater, Evidence: "pH moves by +0.12 a day: top-up water brings 0.05 meq/L of alkalinity a day, which by itself makes +0.11 ± 0.03 a day, 92 % of it; neutralise it with acid before it goes in"}
		})}},
		{"ph-off-target, high", []trouble{solution(func(r *model.ReservoirEstimate) { r.PH.Value = 6.8 })}},
		{"ph-off-target, low", []trouble{solution(func(r *model.ReservoirEstimate) { r.PH.Value = 4.9 })}},
		{"solution-warm", []trouble{solution(func(r *model.ReservoirEstimate) { r.Temperature.Value = 28.3 })}},
		{"sensors-lost, all", []trouble{lost(0, 1, 2, 3, 4, 5, 6, 7, 8)}},
		{"sensors-lost, some", []trouble{lost(0, 1, 2, 3, 8)}},
		{"sensors-lost, never heard", []trouble{lost(4, 5, 6), func(s *model.Snapshot) {
			for i := 4; i < 7; i++ {
				s.Sensors[i].LastMessage = time.Time{}
			}
		}}},
		{"sensors-lost, of one board", []trouble{lost(5, 6, 7)}},
		{"sensor-silent, bag", []trouble{silent(0)}},
		{"sensor-silent, ec", []trouble{silent(5)}},
		{"sensor-silent, never", []trouble{func(s *model.Snapshot) { s.Sensors[6].Silent, s.Sensors[6].LastMessage = true, time.Time{} }}},
		{"sensor-stuck, air", []trouble{func(s *model.Snapshot) { s.Sensors[8].Stuck, s.Sensors[8].StuckSince = true, noon.Add(-9*time.Hour) }}},
		{"sensor-implausible", []trouble{func(s *model.Snapshot) {
			s.Sensors[0].Implausible, s.Sensors[0].Since, s.Sensors[0].Cause = true, noon.Add(-2*time.Hour), model.CauseProbeLostContact
			s.Sensors[0].Evidence = "it fell from 45 % to 20 % within ten minutes, which no plant can drink"
		}}},
		{"sensor-implausible, air", []trouble{func(s *model.Snapshot) {
			s.Sensors[8].Sensor, s.Sensors[8].Implausible, s.Sensors[8].Since = "air/radiation", true, noon.Add(-8*time.Hour)
			s.Sensors[8].Evidence = "it has read no radiation at all for 6 h of daylight with the sun more than 10° high"
		}}},
		{"broker-lost", []trouble{func(s *model.Snapshot) { s.Daemon.BrokerLostSince = noon.Add(-10 * time.Minute) }}},
		{"clock-wrong", []trouble{func(s *model.Snapshot) {
			s.Daemon.ClockWrong, s.Daemon.ClockEvidence = true, "the clock says 1970, and the journal goes on to 2026"
		}}},
		{"clock-wrong, of sensors", []trouble{func(s *model.Snapshot) {
			s.Sensors[0].Behind, s.Sensors[1].Behind = 5*time.Hour, 5*time.Hour
		}}},
		{"clock-wrong, of one sensor", []trouble{func(s *model.Snapshot) { s.Sensors[0].Behind = 8 * time.Hour }}},
		{"journal-failing", []trouble{func(s *model.Snapshot) { s.Daemon.JournalFailing, s.Daemon.JournalEvidence = true, "the disk is full" }}},
		{"disk-filling, in days", []trouble{disk(420e6, 80e6)}},
		{"disk-filling, low", []trouble{disk(90e6, 0)}},
		{"forwarding-behind", []trouble{func(s *model.Snapshot) {
			s.Daemon.ForwardBehind, s.Daemon.ForwardPending = 26*time.Hour, 41250
		}}},
	}
	zone, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	var golden strings.Builder
	seen := map[model.Condition]bool{}
	for _, c := range cases {
		site := kestrel()
		site.TimeZone = zone
		e, err := New(Options{Site: site})
		require.NoError(t, err)
		var told []model.Transition
		now := noon
		for range 24 {
			now = now.Add(time.Hour)
			told = append(told, e.Step(now, with(now, c.troubles...))...)
			if len(told) > 0 {
				break
			}
		}
		require.NotEmpty(t, told, c.name)
		for range 24 {
			now = now.Add(time.Hour)
			told = append(told, e.Step(now, healthy(now))...)
		}
		fmt.Fprintf(&golden, "# %s\n", c.name)
		for _, m := range told {
			seen[m.Condition] = true
			due := ""
			if m.Due != nil {
				due = ", due " + m.Due.In(zone).Format("Mon 15:04")
			}
			if m.Suppressed {
				due += ", told to nobody"
			}
			fmt.Fprintf(&golden, "--- %s %s, %s%s\n%s\n", m.Time.In(zone).Format("Mon 15:04"), m.Kind, m.Priority, due, m.Message.Text())
			assert.LessOrEqual(t, len([]rune(m.Message.Headline)), 90, m.Message.Headline)
			assert.NotContains(t, m.Message.Text(), "  ")
			assert.NotContains(t, m.Message.Text(), "!")
			assert.NotContains(t, m.Message.Text(), "NaN")
		}
		golden.WriteString("\n")
	}
	for _, d := range Conditions() {
		assert.True(t, seen[d.Condition], "no golden message of %s", d.Condition)
	}
	file := filepath.Join("testdata", "messages.golden")
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(file, []byte(golden.String()), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), golden.String())
}

func TestAcidIsNeverWithoutItsCaution(t *testing.T) {
	r := newRun(t, nil)
	changes := r.last(2*time.Hour, func(s *model.Snapshot) { s.Reservoirs[0].PH.Value = 7.2 })
	require.Len(t, changes, 1)
	for _, must := range []string{"goggles", "gloves", "Add acid to water, never water to acid", "chlorine"} {
		assert.Contains(t, changes[0].Message.Caution, must)
	}
}

func TestTimesAndLengthsReadAsPeopleSayThem(t *testing.T) {
	sc := &scene{now: noon, site: kestrel()}
	assert.Equal(t, "Tue 14:20", sc.clock(noon.Add(140*time.Minute)))
	assert.Equal(t, "9 Jun 12:00", sc.clock(noon.Add(7*24*time.Hour)))
	assert.Equal(t, "now", sc.until(noon))
	for d, want := range map[time.Duration]string{
		3 * time.Minute: "3 min", 9 * time.Minute: "5 min", 42 * time.Minute: "40 min", 89 * time.Minute: "85 min", 90 * time.Minute: "2 h",
		9*time.Hour + 20*time.Minute: "9 h", 35 * time.Hour: "35 h", 50 * time.Hour: "2 days",
	} {
		assert.Equal(t, want, length(d))
	}
	for s, want := range map[model.Subject]string{
		"bag/a4": "bag a4", "bag/a4/moisture": "moisture probe of bag a4", "reservoir/tank/ph": "pH probe of reservoir tank",
		"reservoir/tank/level": "level sensor of reservoir tank", "air/temperature": "air temperature sensor", "channel/b": "channel b",
	} {
		assert.Equal(t, want, Name(s))
	}
}
