package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// The limits of every condition, each met from both sides: what raises, what
// does not, and, once raised, what still holds and what clears. The numbers
// are the defaults as documented, applied to the healthy snapshot of the test
// site (dry limit 0.31, wet limit 0.62, level marks 120 and 50 mm, EC 1.4 ±
// 0.21, pH 5.8 ± 0.5).
func TestLimits(t *testing.T) {
	in := func(f func(r *model.ReservoirEstimate)) trouble {
		return func(s *model.Snapshot) { f(&s.Reservoirs[0]) }
	}
	ec := func(v float64) trouble { return in(func(r *model.ReservoirEstimate) { r.EC.Value = v }) }
	ph := func(v float64) trouble { return in(func(r *model.ReservoirEstimate) { r.PH.Value = v }) }
	warm := func(v float64) trouble { return in(func(r *model.ReservoirEstimate) { r.Temperature.Value = v }) }
	loss := func(v float64, cause model.Cause) trouble {
		return in(func(r *model.ReservoirEstimate) { r.Unexplained, r.Cause = measured(v, 0.2), cause })
	}
	drip := func(v float64) trouble {
		return in(func(r *model.ReservoirEstimate) {
			r.Unexplained, r.DrawPerDay.Value, r.Cause = measured(v, 0.05), 3, model.CauseLeak
		})
	}
	emptyIn := func(d time.Duration) trouble {
		return func(s *model.Snapshot) {
			at := s.Time.Add(d)
			s.Reservoirs[0].EmptyAt = &model.Quantiles{P50: &at}
		}
	}
	weak := func(v, usual float64) trouble {
		return func(s *model.Snapshot) {
			s.Bags[0].WickShare = measured(v/usual, 0.02/usual)
		}
	}
	health := func(v, sd, rate float64) trouble {
		return func(s *model.Snapshot) {
			s.Bags[0].WickShare, s.Bags[0].WickHealthRate = measured(v, sd), rate
		}
	}
	demand := func(v, sd float64) trouble {
		return func(s *model.Snapshot) { s.Bags[0].DemandFactor = measured(v, sd) }
	}
	doubtful := func(v, sd float64) trouble {
		return func(s *model.Snapshot) { s.Bags[0].WaterContent = measured(v, sd) }
	}
	fed := func(is bool) trouble { return func(s *model.Snapshot) { s.Channels[0].Dry = !is } }
	drift := func(rate, sd float64) trouble {
		return in(func(r *model.ReservoirEstimate) {
			r.ECCourse = model.Course{Rate: rate, SD: sd, Over: 72 * time.Hour, Cause: model.CauseWaterOverFeed, Evidence: "more water than feed left"}
		})
	}
	salt := func(ec, over float64) trouble {
		return func(s *model.Snapshot) {
			s.Bags[0].Salt = model.Salt{EC: measured(ec, 0.5), Limit: 3, Above: over, Since: noon}
		}
	}
	// The other bag of the reservoir is sure to be above its limit.
	saltToo := func(over float64) trouble {
		return func(s *model.Snapshot) {
			salt(3.1, over)(s)
			s.Bags[1].Salt = model.Salt{EC: measured(3.4, 0.5), Limit: 3, Above: 0.8, Since: noon}
		}
	}
	hot := func(v float64) trouble { return func(s *model.Snapshot) { s.Bags[0].Temperature = measured(v, 0.2) } }
	behind := func(d time.Duration) trouble { return func(s *model.Snapshot) { s.Daemon.ForwardBehind = d } }

	tests := map[string]struct {
		condition model.Condition
		subject   model.Subject
		fine      trouble // does not raise
		bad       trouble // raises
		band      trouble // raised, it still holds
		well      trouble // clears
	}{
		"dry":                  {BagDry, "bag/a1", water(0, 0.305), water(0, 0.30), water(0, 0.355), water(0, 0.365)},
		"dry, doubtful":        {BagDry, "bag/a1", doubtful(0.292, 0.1), doubtful(0.285, 0.1), doubtful(0.31, 0.1), water(0, 0.365)},
		"drying":               {BagDrying, "bag/a1", dryIn(0, 49*time.Hour), dryIn(0, 40*time.Hour), dryIn(0, 59*time.Hour), dryIn(0, 61*time.Hour)},
		"waterlogged":          {BagWaterlogged, "bag/a1", water(0, 0.625), water(0, 0.63), water(0, 0.605), water(0, 0.595)},
		"wick below half":      {WickFailing, "bag/a1", health(0.45, 0.05, 0), health(0.4, 0.05, 0), health(0.55, 0.2, 0), health(0.65, 0.05, 0)},
		"wick of a weak batch": {WickFailing, "bag/a1", weak(0.4, 0.6), weak(0.25, 0.6), weak(0.35, 0.6), weak(0.4, 0.6)},
		"wick falling fast":    {WickFailing, "bag/a1", health(0.7, 0.05, -0.5), health(0.7, 0.05, -0.8), health(0.55, 0.05, -0.5), health(0.7, 0.05, -0.1)},
		"not drinking":         {BagNotDrinking, "bag/a1", demand(0.3, 0.1), demand(0.2, 0.1), demand(0.45, 0.1), demand(0.55, 0.1)},
		"channel dry":          {ChannelDry, "channel/a", fed(true), fed(false), fed(false), fed(true)},
		"exhausted":            {ReservoirExhausted, "reservoir/tank", level(53), level(51), level(61), level(63)},
		"low":                  {ReservoirLow, "reservoir/tank", level(121), level(119), level(129), level(131)},
		"running out":          {ReservoirRunout, "reservoir/tank", emptyIn(49 * time.Hour), emptyIn(47 * time.Hour), emptyIn(53 * time.Hour), emptyIn(55 * time.Hour)},
		"leak":                 {Leak, "reservoir/tank", loss(2.4, ""), loss(2.4, model.CauseLeak), loss(0.3, ""), loss(0.2, "")},
		"leak below share":     {Leak, "reservoir/tank", loss(0.35, model.CauseLeak), loss(0.37, model.CauseLeak), loss(0.24, ""), loss(0.23, "")},
		"leak below floor":     {Leak, "reservoir/tank", drip(0.24), drip(0.26), drip(0.13), drip(0.12)},
		"EC high":              {ECOffTarget, "reservoir/tank", ec(1.60), ec(1.62), ec(1.57), ec(1.55)},
		"EC low":               {ECOffTarget, "reservoir/tank", ec(1.20), ec(1.18), ec(1.23), ec(1.25)},
		"pH high":              {PHOffTarget, "reservoir/tank", ph(6.28), ph(6.32), ph(6.22), ph(6.18)},
		"pH low":               {PHOffTarget, "reservoir/tank", ph(5.32), ph(5.28), ph(5.38), ph(5.42)},
		// The band ends at 1.61, three days are looked ahead; held, the drift counts to 0.05 within it.
		"drifting":           {ECDrift, "reservoir/tank", drift(0.068, 0.004), drift(0.072, 0.004), drift(0.055, 0.004), drift(0.051, 0.004)},
		"drifting down":      {ECDrift, "reservoir/tank", drift(-0.068, 0.004), drift(-0.072, 0.004), drift(-0.055, 0.004), drift(-0.051, 0.004)},
		"drifting, doubtful": {ECDrift, "reservoir/tank", drift(0.110, 0.038), drift(0.110, 0.035), drift(0.110, 0.035), drift(0.110, 0.038)},
		"salt":               {SaltBuilding, "bag/a1", salt(3.1, 0.63), salt(3.2, 0.67), salt(2.85, 0.4), salt(2.75, 0.3)},
		"salt, with others":  {SaltBuilding, "bag/a1", saltToo(0.53), saltToo(0.57), salt(2.85, 0.57), salt(2.75, 0.3)},
		"roots hot":          {RootsHot, "bag/a1", hot(29.9), hot(30.1), hot(29.1), hot(28.9)},
		"warm":               {SolutionWarm, "reservoir/tank", warm(25.9), warm(26.1), warm(25.1), warm(24.9)},
		"history behind":     {ForwardingBehind, "wickd/forward", behind(59 * time.Minute), behind(61 * time.Minute), behind(31 * time.Minute), behind(29 * time.Minute)},
		// A week ahead, and a day more once told; 128 MiB whatever the growth, and a quarter more.
		"disk filling":       {DiskFilling, "wickd/disk", disk(710e6, 100e6), disk(690e6, 100e6), disk(790e6, 100e6), disk(810e6, 100e6)},
		"disk low":           {DiskFilling, "wickd/disk", disk(135e6, 0), disk(134e6, 0), disk(167e6, 0), disk(168e6, 0)},
		"sensors lost":       {SensorsLost, "wickd/sensors", lost(0, 1), lost(0, 1, 2), lost(0, 1, 2), lost(0, 1)},
		"sensor silent":      {SensorSilent, "bag/a1/moisture", nil, silent(0), silent(0), nil},
		"sensor stuck":       {SensorStuck, "bag/a1/moisture", nil, stuck, stuck, nil},
		"sensor implausible": {SensorImplausible, "bag/a1/moisture", nil, implausible, implausible, nil},
		"broker lost":        {BrokerLost, "wickd/broker", nil, brokerDown, brokerDown, nil},
		"clock wrong":        {ClockWrong, "wickd/clock", nil, clockOff, clockOff, nil},
		"journal failing":    {JournalFailing, "wickd/journal", nil, journalDown, journalDown, nil},
		"plants gone, held":  {WickFailing, "bag/a1", nil, wick(0, 0.2, model.CauseWickLostContact), wick(0, 0.9, model.CauseNotDrinking), nil},
	}
	const day = 24 * time.Hour
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			r := newRun(t, nil)
			met := func(tr trouble) Status {
				troubles := []trouble{}
				if tr != nil {
					troubles = append(troubles, tr)
				}
				r.lastBy(2*time.Hour, day, troubles...)
				return r.e.Status(test.condition, test.subject)
			}
			require.Equal(t, Normal, met(test.fine), "raised too early")
			require.Equal(t, Unacknowledged, met(test.bad), "not raised")
			require.Equal(t, Unacknowledged, met(test.band), "cleared within the deadband")
			require.NotEqual(t, Unacknowledged, met(test.well), "not cleared")
		})
	}
}

// Plants that do not drink ask nothing of their wicks, so that what is thought of
// these is no alert.
func TestWicksAreNotBlamedForPlants(t *testing.T) {
	r := newRun(t, nil)
	r.lastBy(2*time.Hour, 24*time.Hour, wick(0, 0.2, model.CauseNotDrinking))
	assert.Equal(t, Normal, r.e.Status(WickFailing, "bag/a1"))
}

func stuck(s *model.Snapshot)       { s.Sensors[0].Stuck, s.Sensors[0].StuckSince = true, noon }
func implausible(s *model.Snapshot) { s.Sensors[0].Implausible, s.Sensors[0].Since = true, noon }
func clockOff(s *model.Snapshot)    { s.Daemon.ClockWrong = true }
func journalDown(s *model.Snapshot) { s.Daemon.JournalFailing = true }

// Every condition that rests on a figure: when the figure is stale or was never
// known, nothing is raised, and what stands is not cleared.
func TestBadInputHoldsState(t *testing.T) {
	wreck := func(s *model.Snapshot) {
		s.Bags[0].WaterContent.Value = 0.1
		s.Bags[0].WickShare.Value = 0.1
		s.Bags[0].DemandFactor.Value = 0.1
		s.Reservoirs[0].Level.Value = 51
		s.Reservoirs[0].EC.Value, s.Reservoirs[0].PH.Value = 3, 8
		s.Reservoirs[0].Temperature.Value = 35
		s.Bags[0].Temperature.Value, s.Bags[0].Salt.Above = 40, 1
		s.Reservoirs[0].Unexplained.Value = 20
		s.Channels[0].Dry = true
	}
	for _, quality := range []model.Quality{model.Stale, model.Unknown} {
		blind := func(s *model.Snapshot) {
			b, r := &s.Bags[0], &s.Reservoirs[0]
			for _, m := range []*model.Measured{&b.Temperature, &b.Salt.EC, &b.WaterContent, &b.WickHealth, &b.WickShare, &b.DemandFactor, &r.Level, &r.EC, &r.PH, &r.Temperature, &r.Unexplained} {
				m.Quality = quality
			}
			s.Channels[0].Quality = quality
		}
		t.Run(string(quality), func(t *testing.T) {
			r := newRun(t, nil)
			assert.Empty(t, r.lastBy(time.Hour, 48*time.Hour, wreck, blind), "bad input raised")
			r.lastBy(time.Hour, 24*time.Hour, wreck)
			before := r.e.Open()
			require.GreaterOrEqual(t, len(before), 10)
			assert.Empty(t, r.lastBy(time.Hour, 48*time.Hour, blind), "bad input changed something")
			after := r.e.Open()
			require.Len(t, after, len(before))
			for i := range after {
				assert.Equal(t, before[i].Status, after[i].Status, after[i].Condition)
			}
		})
	}
}

// A delay that was half through when the input went bad is still half through
// when it is good again.
func TestBadInputHoldsDelays(t *testing.T) {
	r := newRun(t, nil)
	assert.Empty(t, r.last(10*time.Minute, wick(0, 0.1, "")))
	assert.Empty(t, r.last(5*time.Hour, func(s *model.Snapshot) { s.Bags[0].WickShare.Quality = model.Stale }))
	assert.Empty(t, r.last(15*time.Minute, wick(0, 0.1, "")))
	assert.Len(t, r.last(10*time.Minute, wick(0, 0.1, "")), 1)
}

func TestALowReadingRaisesWithinMinutes(t *testing.T) {
	r := newRun(t, nil)
	r.last(time.Hour)
	changes := r.last(5*time.Minute, func(s *model.Snapshot) { s.Bags[0].WaterContent = measured(0.08, 0.05) })
	require.Equal(t, []string{"raised bag-dry bag/a1"}, brief(changes))
	assert.LessOrEqual(t, changes[0].Time.Sub(noon.Add(time.Hour)), 3*time.Minute)
}

func TestAFarAndUncertainForecastDoesNotRaise(t *testing.T) {
	vague := func(d time.Duration) trouble {
		return func(s *model.Snapshot) {
			at := s.Time.Add(d)
			s.Bags[0].DryAt, s.Bags[0].Dry = &at, model.Quantiles{P50: &at}
		}
	}
	r := newRun(t, nil)
	assert.Empty(t, r.lastBy(10*time.Minute, 6*time.Hour, vague(40*time.Hour)))
	assert.Equal(t, []string{"raised bag-drying bag/a1"}, brief(r.lastBy(10*time.Minute, 6*time.Hour, vague(10*time.Hour))))
}

func TestADryBagIsNotAlsoDrying(t *testing.T) {
	r := newRun(t, nil)
	assert.Equal(t, []string{"raised bag-dry bag/a1"}, brief(r.last(6*time.Hour, water(0, 0.2), dryIn(0, time.Minute))))
}

func TestMarksAndTargetsThatAreNotStatedDecideNothing(t *testing.T) {
	site := kestrel()
	site.Reservoirs[0].Low, site.Reservoirs[0].Target = 0, model.Target{}
	e, err := New(Options{Site: site})
	require.NoError(t, err)
	s := with(noon, level(60))
	s.Reservoirs[0].EC.Value, s.Reservoirs[0].PH.Value = 9, 2
	s.Bags[0].DryLimit, s.Bags[0].WetLimit = 0, 0
	for i := range 24 {
		require.Empty(t, e.Step(noon.Add(time.Duration(i)*time.Hour), s))
	}
}

// A bag is not called watered while its own probe, with nothing against it,
// still reads dry; a probe that is blamed says nothing.
func TestAProbeThatReadsDryHoldsTheAlert(t *testing.T) {
	reads := func(s *model.Snapshot) { s.Sensors[0].Value = 0.22 }
	blamed := func(s *model.Snapshot) { s.Sensors[0].Value, s.Sensors[0].Implausible = 0.22, true }
	for name, tt := range map[string]struct {
		then    trouble
		cleared bool
	}{"reads dry": {reads, false}, "is blamed": {blamed, true}, "reads wet": {func(*model.Snapshot) {}, true}} {
		t.Run(name, func(t *testing.T) {
			e, err := New(Options{Site: kestrel()})
			require.NoError(t, err)
			require.NotEmpty(t, e.Step(noon, with(noon, water(0, 0.24))))
			cleared := false
			for h := 1; h < 6; h++ {
				now := noon.Add(time.Duration(h) * time.Hour)
				for _, c := range e.Step(now, with(now, tt.then)) {
					cleared = cleared || c.Condition == BagDry && c.Kind == model.Cleared
				}
			}
			assert.Equal(t, tt.cleared, cleared)
		})
	}
}

// A bag that the night fills and the coming noon empties again is one alert all
// along, which says by day what is and by night what comes; one that nothing is
// forecast of any more is over.
func TestABagThatIsDryEveryNoonIsOneAlert(t *testing.T) {
	e, err := New(Options{Site: kestrel()})
	require.NoError(t, err)
	told := map[model.Change]int{}
	now := noon
	spend := func(hours int, troubles ...trouble) State {
		for range hours {
			for _, c := range e.Step(now, with(now, troubles...)) {
				if c.Condition == BagDry {
					told[c.Kind]++
				}
			}
			now = now.Add(time.Hour)
		}
		for _, s := range e.Open() {
			if s.Condition == BagDry {
				return s
			}
		}
		return State{}
	}
	for day := range 5 {
		noon := spend(6, water(0, 0.24))
		assert.Contains(t, noon.Message.Headline, "Bag a1 is dry: 24 % water", "day %d", day)
		night := spend(18, water(0, 0.40), dryIn(0, 17*time.Hour))
		assert.Contains(t, night.Message.Headline, "Bag a1 holds 40 % water, and gets dry again", "day %d", day)
	}
	assert.Equal(t, map[model.Change]int{model.Raised: 1}, told)
	stale := now.Add(-time.Minute)
	spend(3, water(0, 0.40), func(s *model.Snapshot) { s.Bags[0].Dry.P50 = &stale })
	assert.Equal(t, map[model.Change]int{model.Raised: 1, model.Cleared: 1}, told)
}

// A bag below its limit is dry; whether its plants suffer is another thing, and is said
// as it is known.
func TestADryBagSaysWhatItsPlantsBear(t *testing.T) {
	headline := func(cause model.Cause, wanted float64) string {
		r := newRun(t, nil)
		changes := r.last(time.Minute, water(0, 0.24), func(s *model.Snapshot) {
			s.Bags[0].Cause, s.Bags[0].UptakePerDay, s.Bags[0].DemandPerDay = cause, measured(1.4, 0.1), wanted
		})
		require.Len(t, changes, 1)
		return changes[0].Message.Headline + " | " + changes[0].Message.Why
	}
	assert.Contains(t, headline(model.CauseDemandHigh, 1.45), "So far its plants do not go short | Since Tue 12:01. Over the last day its plants took 1.4 L, 97 % of what they asked for.")
	assert.Contains(t, headline(model.CauseDemandHigh, 2.0), "Its plants go short in bright hours | Since Tue 12:01. Over the last day its plants took 1.4 L, 70 % of what they asked for.")
	assert.Contains(t, headline(model.CauseWickLostContact, 1.45), "Plants wilt within hours", "nothing comes in any more")
	assert.Contains(t, headline("", 0), "Its plants go short in bright hours", "it is not known")
}

// A leak that nothing speaks for any more is over when it is smaller than what is not
// known of it, and not before.
func TestALeakSmallerThanItsDoubtIsOver(t *testing.T) {
	leaks := func(cause model.Cause, value, sd float64) trouble {
		return func(s *model.Snapshot) {
			s.Reservoirs[0].Cause, s.Reservoirs[0].Unexplained = cause, measured(value, sd)
		}
	}
	r := newRun(t, nil)
	require.Equal(t, []string{"raised leak reservoir/tank"}, brief(r.last(2*time.Hour, leaks(model.CauseLeak, 2.4, 0.3))))
	assert.Empty(t, r.last(8*time.Hour, leaks("", 0.8, 0.7)))
	assert.Empty(t, r.last(8*time.Hour, leaks(model.CauseLeak, 0.8, 0.9)), "the levels speak for it still")
	assert.Equal(t, []string{"cleared leak reservoir/tank"}, brief(r.last(8*time.Hour, leaks("", 0.8, 0.9))))
}
