package twin

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/alerts"
	"wickd/model"
	"wickd/model/sim"
)

// little is a bench that is quick to try: two bags, slow sensors.
func little() Bench {
	return Bench{Name: "little", Every: 30 * time.Minute, Loss: -1, Site: func() *model.Site {
		s := tall()
		s.Bags = s.Bags[:2]
		return s
	}}
}

func TestATrialFindsWhatIsWrongAndRepeats(t *testing.T) {
	trial := Trial{
		Name: "wick lost contact", Days: 7, Faults: one(sim.WickLostContact, someBag, 0.05),
		Wanted: []model.Condition{alerts.WickFailing}, Excused: []model.Condition{alerts.BagDry, alerts.BagDrying},
	}
	a, err := Run(t.Context(), little(), trial, 5)
	require.NoError(t, err)
	b, err := Run(t.Context(), little(), trial, 5)
	require.NoError(t, err)
	assert.Equal(t, a, b)
	assert.True(t, a.Found)
	assert.Positive(t, a.Delay)
	assert.Empty(t, a.False)
	assert.Len(t, a.Uptake, 1, "of the sound bag only")
	assert.InDelta(t, 10, a.BagDays, 1e-9, "two bags for five days")
	assert.Greater(t, a.NIS.Count, 500)
}

func TestAlertsAreSorted(t *testing.T) {
	at := start().Add(120 * time.Hour)
	raised := func(after time.Duration, c model.Condition, s model.Subject) model.Transition {
		return model.Transition{Time: at.Add(after), Condition: c, Subject: s, Kind: model.Raised}
	}
	w := &witness{
		site: sim.DemoSite(), at: at,
		faults: []sim.Fault{{Kind: sim.ChannelDry, Subject: "channel/a", Start: at}},
	}
	w.raised = []model.Transition{
		raised(-100*time.Hour, alerts.Leak, "reservoir/tank"),         // while the filters learn
		raised(-time.Hour, alerts.WickFailing, "bag/a1"),              // before the fault
		raised(time.Hour, alerts.BagDrying, "bag/a1"),                 // its consequence
		raised(2*time.Hour, alerts.ChannelDry, "channel/a"),           // it
		raised(3*time.Hour, alerts.ChannelDry, "channel/a"),           // again
		raised(4*time.Hour, alerts.BagDrying, "bag/b1"),               // of another channel
		raised(5*time.Hour, alerts.ReservoirRunout, "reservoir/tank"), // the grower's business
	}
	w.every, w.unheard = 10*time.Minute, map[int]bool{}
	w.heard = map[string][]time.Time{
		"trial/bag/b2/moisture": {at.Add(5*time.Hour + 29*time.Minute), at.Add(6*time.Hour + 10*time.Minute)},
		"trial/bag/b3/moisture": {at.Add(5*time.Hour + 45*time.Minute)},
	}
	w.Changed([]model.Transition{
		raised(6*time.Hour, alerts.SensorSilent, "bag/b2/moisture"), // three messages lost
		raised(6*time.Hour, alerts.SensorSilent, "bag/b3/moisture"), // but it spoke
	})
	var o Outcome
	w.alerts(Trial{Wanted: []model.Condition{alerts.ChannelDry}, Excused: []model.Condition{alerts.BagDrying}}, &o)
	assert.True(t, o.Found)
	assert.Equal(t, 2*time.Hour, o.Delay)
	require.Len(t, o.False, 3)
	assert.Equal(t, 1, o.Unheard)
	assert.Equal(t, model.Subject("bag/b3/moisture"), o.False[2].Subject)
	assert.Equal(t, model.Subject("bag/a1"), o.False[0].Subject)
	assert.Equal(t, model.Subject("bag/b1"), o.False[1].Subject)
}

func TestForecastIsJudged(t *testing.T) {
	var w witness
	var o Outcome
	now := start()
	at := func(h float64) *time.Time { v := now.Add(time.Duration(h * float64(time.Hour))); return &v }
	w.forecast(&model.Quantiles{P05: at(30), P50: at(44), P95: at(60)}, now, *at(40), &o)
	w.forecast(&model.Quantiles{P05: at(41), P50: at(44), P95: nil}, now, *at(40), &o)
	w.forecast(nil, now, *at(40), &o)
	assert.Equal(t, share{Hits: 1, All: 3}, o.EmptyIn)
	assert.InDeltaSlice(t, []float64{0.1, 0.1, 1}, o.Empty, 1e-9)
}

// A bag's dryness is judged by the hours before it, of one that a fault hits once its
// cause is told.
func TestDrynessIsJudged(t *testing.T) {
	w := steady(t, 2, 0)
	w.at = start().Add(100 * time.Hour)
	w.faults = []sim.Fault{{Kind: sim.WickLostContact, Subject: "bag/a1", Start: w.at}}
	limit := w.physics.Bags[0].DryLimit
	for k := range w.truth {
		for i := range w.truth[k].Bags {
			w.truth[k].Bags[i].WaterContent = limit + 0.1
			if w.truth[k].Time.Sub(w.at) >= 20*time.Hour && i == 0 {
				w.truth[k].Bags[i].WaterContent = limit - 0.01
			}
		}
	}
	at := func(h float64) *time.Time { v := w.at.Add(time.Duration(h * float64(time.Hour))); return &v }
	for k := range w.hours {
		w.hours[k].Bags = []model.BagEstimate{{Bag: "a1"}, {Bag: "a2"}}
		if h := w.hours[k].Time.Sub(w.at).Hours(); h >= 10 {
			w.hours[k].Bags[0].Cause = model.CauseWickLostContact
			w.hours[k].Bags[0].Dry = model.Quantiles{P05: at(19), P50: at(21), P95: at(30)}
			if h == 11 {
				w.hours[k].Bags[0].Dry = model.Quantiles{P05: at(21)}
			}
		}
	}
	var o Outcome
	w.dryness(&o)
	assert.Equal(t, share{Hits: 7, All: 8}, o.DryIn, "from 10 to 17 h, but for one")
	assert.InDelta(t, 0.1, o.Dry[0], 1e-9, "an hour of ten")
	assert.InDelta(t, 1.0, o.Dry[1], 1e-9)
}

// A day is judged for the house as a whole, and its draw by what left the
// reservoir: drunk, stored or lost.
func TestADayIsJudged(t *testing.T) {
	day := func(n float64) sim.Truth {
		return sim.Truth{Time: start().Add(time.Duration(24 * n * float64(time.Hour))),
			Bags:       []sim.BagTruth{{ID: "a1", Uptake: n, Storage: 5}, {ID: "b1", Uptake: 3 * n, Storage: 5 + 0.5*n}},
			Reservoirs: []sim.ReservoirTruth{{ID: "tank", Leaked: 0.3 * n, Evaporated: 0.2 * n}}}
	}
	w := &witness{site: sim.DemoSite(), truth: []sim.Truth{day(3), day(4)}}
	figure := func(v, sd float64) model.Measured { return model.Measured{Value: v, SD: sd} }
	said := model.Snapshot{Time: day(4).Time,
		Bags:       []model.BagEstimate{{Bag: "a1", UptakePerDay: figure(1.2, 0.1)}, {Bag: "b1", UptakePerDay: figure(3.2, 0.2)}},
		Reservoirs: []model.ReservoirEstimate{{DrawPerDay: figure(5.2, 0.2)}}}
	var o Outcome
	w.dayUptake(said, &o)
	assert.Equal(t, share{Hits: 1, All: 2}, o.UptakeIn)
	assert.InDeltaSlice(t, []float64{0.1}, o.House, 1e-9, "4.4 of 4 L")
	assert.Equal(t, share{Hits: 1, All: 1}, o.DrawIn, "5 L: 4 drunk, 0.5 stored, 0.5 lost")
}

// Water and wicks are judged once the bags are known, the wicks of those that are fed.
func TestTheStateIsJudged(t *testing.T) {
	figure := func(v, sd float64) model.Measured { return model.Measured{Value: v, SD: sd} }
	at := start().Add(settled)
	w := &witness{site: sim.DemoSite()}
	for _, when := range []time.Time{at.Add(-time.Hour), at} {
		w.truth = append(w.truth, sim.Truth{Time: when, Bags: []sim.BagTruth{
			{ID: "a1", WaterContent: 0.5, WickHealth: 0.9, Fed: true}, {ID: "a2", WaterContent: 0.5, WickHealth: 0.9, Fed: true}, {ID: "b1", WaterContent: 0.5, WickHealth: 0.9},
		}})
		w.hours = append(w.hours, model.Snapshot{Time: when, Bags: []model.BagEstimate{
			{Bag: "a1", WaterContent: figure(0.51, 0.01), WickHealth: figure(1, 0.1)},
			{Bag: "a2", WaterContent: figure(0.52, 0.01), WickHealth: figure(1, 0.05)},
			{Bag: "b1", WaterContent: figure(0.5, 0.01), WickHealth: figure(2, 0.1)},
		}})
	}
	var o Outcome
	w.water(&o)
	assert.Equal(t, share{Hits: 2, All: 3}, o.WaterIn)
	assert.Equal(t, share{Hits: 1, All: 2}, o.WickIn)
	assert.Equal(t, 3, o.Water.Count)
}

func TestTable(t *testing.T) {
	trial := Trial{Name: "lost", Wanted: []model.Condition{alerts.WickFailing}, Goal: 24 * time.Hour}
	good := Outcome{Supply: true, Dries: 4 * time.Hour, Found: true, Named: true, Delay: 3 * time.Hour, Shows: true, Since: time.Hour, BagDays: 50, Uptake: []float64{0.02, 0.06}, WaterIn: share{9, 10}}
	late := Outcome{Supply: true, Dries: 5 * time.Hour, Found: true, Delay: 9 * time.Hour, BagDays: 50, False: make([]model.Transition, 1)}
	text := Table([]Case{{Bench: Bench{Name: "b", Every: 10 * time.Minute, Loss: 0.01}, Trial: trial, Outcomes: []Outcome{good, late, {BagDays: 100}}}}, "make it")
	assert.Contains(t, text, "## Bench: b (every 10 min, 1 % lost)")
	assert.Contains(t, text, "| lost | 2/3 | 1/3 | 6.0 h (9.0 h) | 1.0 h (1.0 h) | 2/3 | 24 h | – | – | 1 |", "the second came late, the third was never dry")
	assert.Contains(t, text, "| raised without cause, per 1000 bag-days | 5.00 (1 in 200) |")
	assert.Contains(t, text, "4.0 %")
	assert.Contains(t, text, "| 90 % intervals that hold: water content | 90 % |")
}

// A bag is dry of a fault when it falls below its limit after it, unless it was
// as good as dry before.
func TestABagDriesOfAFault(t *testing.T) {
	at := start().Add(120 * time.Hour)
	w := &witness{site: sim.DemoSite(), at: at, limits: map[string]float64{"a1": 0.3, "a2": 0.3, "b1": 0.3},
		faults: []sim.Fault{{Kind: sim.ChannelDry, Subject: "channel/a", Start: at}}}
	for h := range 10 {
		w.truth = append(w.truth, sim.Truth{Time: at.Add(time.Duration(h) * time.Hour), Bags: []sim.BagTruth{
			{ID: "a1", Channel: "a", WaterContent: 0.375 - 0.01*float64(h)},
			{ID: "a2", Channel: "a", WaterContent: 0.31 - 0.01*float64(h)},
			{ID: "b1", Channel: "b", WaterContent: 0.2},
		}})
	}
	assert.Equal(t, 8*time.Hour, w.dries())
	assert.True(t, Outcome{Found: true, Delay: 8 * time.Hour, Dries: 8 * time.Hour}.InTime())
	assert.False(t, Outcome{Dries: 8 * time.Hour}.InTime())
	assert.True(t, Outcome{}.InTime(), "nothing was dry")
}

// Water that leaves a starved bag shows when plants have drunk enough of it,
// however long the night before.
func TestALostSupplyShows(t *testing.T) {
	at := start().Add(120 * time.Hour)
	w := &witness{site: sim.DemoSite(), at: at, faults: []sim.Fault{{Kind: sim.ChannelDry, Subject: "channel/a", Start: at}}}
	for h := range 20 {
		drunk := 0.0
		if h > 10 { // morning
			drunk = 0.02 * float64(h-10)
		}
		w.truth = append(w.truth, sim.Truth{Time: at.Add(time.Duration(h) * time.Hour), Bags: []sim.BagTruth{
			{ID: "a1", Channel: "a", Storage: 5, WaterContent: 0.5, Uptake: 3 + drunk},
			{ID: "b1", Channel: "b", Storage: 5, WaterContent: 0.5, Uptake: 3 + float64(h)},
		}})
	}
	first, ok := w.shows()
	require.True(t, ok)
	assert.Equal(t, at.Add(13*time.Hour), first, "of the 10 L bag, 0.05 L are 0.005")
	w.faults[0].Kind = sim.PlantsGone
	_, ok = w.shows()
	assert.False(t, ok)
}

// A bag that is called dry, or going to be, was rightly called so if it comes
// near enough to its limit; nothing else is excused by its thirst.
func TestThirstIsNoFalseAlarm(t *testing.T) {
	at := start().Add(100 * time.Hour)
	w := &witness{site: sim.DemoSite(), limits: map[string]float64{"a1": 0.33}}
	for h := range 60 {
		content := 0.45
		if h >= 30 && h < 33 {
			content = 0.34
		}
		w.truth = append(w.truth, sim.Truth{Time: at.Add(time.Duration(h) * time.Hour), Bags: []sim.BagTruth{{ID: "a1", WaterContent: content}}})
	}
	raised := func(after time.Duration, c model.Condition) model.Transition {
		return model.Transition{Time: at.Add(after), Condition: c, Subject: "bag/a1", Kind: model.Raised}
	}
	assert.True(t, w.thirsty(raised(time.Hour, alerts.BagDrying)), "dry within the horizon")
	assert.False(t, w.thirsty(raised(34*time.Hour, alerts.BagDrying)), "never again")
	assert.True(t, w.thirsty(raised(31*time.Hour, alerts.BagDry)))
	assert.False(t, w.thirsty(raised(10*time.Hour, alerts.BagDry)), "twenty hours too early")
	assert.False(t, w.thirsty(raised(31*time.Hour, alerts.WickFailing)))
}
