package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

func emptySoon(d time.Duration) trouble {
	return func(s *model.Snapshot) {
		at := s.Time.Add(d)
		s.Reservoirs[0].EmptyAt = &model.Quantiles{P50: &at}
	}
}

// thirstless has a bag's plants take a tenth of what they should.
func thirstless(bag int) trouble {
	return func(s *model.Snapshot) { s.Bags[bag].DemandFactor.Value = 0.1 }
}

// A cause that stands before its effects: only the cause is told, and only of
// what lies below it.
func TestACauseIsToldAlone(t *testing.T) {
	all := []trouble{water(0, 0.2), water(1, 0.2), water(2, 0.2), water(3, 0.2)}
	tests := map[string]struct {
		cause   []trouble
		effects []trouble
		told    []string
		quiet   []string
	}{
		"channel over its own bags": {
			[]trouble{channelIsDry(0)}, all,
			[]string{"raised bag-dry bag/b1", "raised bag-dry bag/b2"},
			[]string{"raised bag-dry bag/a1 (quiet)", "raised bag-dry bag/a2 (quiet)"},
		},
		"reservoir over everything it feeds": {
			[]trouble{level(40)}, append(all, channelIsDry(0), channelIsDry(1)),
			nil,
			[]string{"raised bag-dry bag/a1 (quiet)", "raised bag-dry bag/a2 (quiet)", "raised bag-dry bag/b1 (quiet)",
				"raised bag-dry bag/b2 (quiet)", "raised channel-dry channel/a (quiet)", "raised channel-dry channel/b (quiet)"},
		},
		"broker over all sensors": {
			[]trouble{brokerDown}, []trouble{silent(0, 1, 2, 3, 4, 5, 6, 7, 8)},
			nil,
			[]string{"raised sensor-silent air/temperature (quiet)", "raised sensor-silent bag/a1/moisture (quiet)",
				"raised sensor-silent bag/a2/moisture (quiet)", "raised sensor-silent bag/b1/moisture (quiet)",
				"raised sensor-silent bag/b2/moisture (quiet)", "raised sensor-silent reservoir/tank/ec (quiet)",
				"raised sensor-silent reservoir/tank/level (quiet)", "raised sensor-silent reservoir/tank/ph (quiet)",
				"raised sensor-silent reservoir/tank/temperature (quiet)"},
		},
		"sensors that went together over each of them": {
			[]trouble{lost(0, 1, 2)}, []trouble{silent(7)},
			[]string{"raised sensor-silent reservoir/tank/temperature"}, // which fell silent by itself
			nil,
		},
		"broker over sensors that went together": {
			[]trouble{brokerDown}, []trouble{lost(0, 1, 2)},
			nil,
			[]string{"raised sensor-silent bag/a1/moisture (quiet)", "raised sensor-silent bag/a2/moisture (quiet)",
				"raised sensor-silent bag/b1/moisture (quiet)", "raised sensors-lost wickd/sensors (quiet)"},
		},
		"wick over the bag that dries out": {
			[]trouble{wick(0, 0.1, model.CauseWickLostContact)}, []trouble{dryIn(0, 9*time.Hour), dryIn(1, 9*time.Hour)},
			[]string{"raised bag-drying bag/a2"},
			[]string{"raised bag-drying bag/a1 (quiet)"},
		},
		"a dry bag over its plants that drink nothing": {
			[]trouble{water(0, 0.2)}, []trouble{thirstless(0), thirstless(1)},
			[]string{"raised bag-not-drinking bag/a2"},
			[]string{"raised bag-not-drinking bag/a1 (quiet)"},
		},
		"runout over low": {
			[]trouble{emptySoon(20 * time.Hour)}, []trouble{level(100)},
			nil,
			[]string{"raised reservoir-low reservoir/tank (quiet)"},
		},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			r := newRun(t, nil)
			require.NotEmpty(t, r.last(2*time.Hour, test.cause...), "the cause")
			var told, quiet []string
			for _, line := range brief(r.last(4*time.Hour, append(test.cause, test.effects...)...)) {
				if line[len(line)-1] == ')' {
					quiet = append(quiet, line)
				} else {
					told = append(told, line)
				}
			}
			assert.ElementsMatch(t, test.told, told)
			assert.ElementsMatch(t, test.quiet, quiet)
		})
	}
}

// told are the transitions that people hear of.
func told(changes []model.Transition) (heard []string) {
	for _, c := range changes {
		if !c.Suppressed {
			heard = append(heard, brief([]model.Transition{c})...)
		}
	}
	return heard
}

func headline(e *Engine, c model.Condition) string {
	for _, s := range e.Open() {
		if s.Condition == c {
			return s.Message.Headline
		}
	}
	return ""
}

// A power cut: nine sensors are one alert. When power is back, two that stay
// silent are told by themselves, after the time that the others take to send again.
func TestAPowerCutIsOneAlert(t *testing.T) {
	r := newRun(t, nil)
	assert.Equal(t, []string{"raised sensors-lost wickd/sensors"}, told(r.last(3*time.Hour, lost(0, 1, 2, 3, 4, 5, 6, 7, 8))))
	assert.Contains(t, headline(r.e, SensorsLost), "No sensor has sent anything since")
	assert.Empty(t, told(r.last(20*time.Minute, lost(0, 1, 2, 3))), "five of them are back")
	assert.Contains(t, headline(r.e, SensorsLost), "4 sensors fell silent at the same time")
	back := told(r.last(19*time.Minute, lost(0, 1)))
	assert.Equal(t, []string{"cleared sensors-lost wickd/sensors"}, back)
	assert.Equal(t, []string{"raised sensor-silent bag/a1/moisture", "raised sensor-silent bag/a2/moisture"}, told(r.last(5*time.Minute, lost(0, 1))))
}

// What was quiet under an outage that is over waits for one that is about to be told.
func TestAQuietSensorWaitsForTheNextOutage(t *testing.T) {
	r := newRun(t, nil)
	r.last(time.Hour, lost(0, 1, 2))
	assert.Equal(t, []string{"cleared sensors-lost wickd/sensors"}, told(r.last(20*time.Minute, lost(0))))
	assert.Equal(t, []string{"raised sensors-lost wickd/sensors"}, told(r.last(10*time.Minute, lost(0, 3, 4))))
}

// A second outage beside one that stands is another alert, and says so when nothing
// is left that sends.
func TestAnOutageBesideAnother(t *testing.T) {
	r := newRun(t, nil)
	first := lost(0, 1, 2, 3)
	assert.Equal(t, []string{"raised sensors-lost wickd/sensors"}, told(r.last(time.Hour, first)))
	second := func(s *model.Snapshot) {
		lost(4, 5, 6, 7, 8)(s)
		for i := 4; i < 9; i++ {
			s.Sensors[i].Together, s.Sensors[i].LastMessage = 2, noon.Add(time.Hour)
		}
	}
	assert.Equal(t, []string{"raised sensors-lost wickd/sensors-2"}, told(r.last(time.Hour, first, second)))
	open := r.e.Open()
	assert.Contains(t, open[0].Message.Headline, "4 sensors fell silent at the same time", "others sent when they did")
	assert.Contains(t, open[1].Message.Headline, "nothing is watched")
	assert.Equal(t, []string{"cleared sensors-lost wickd/sensors"}, told(r.last(time.Hour, second)))
}

func TestPartsOfTheDaemon(t *testing.T) {
	r := newRun(t, nil)
	for _, part := range []string{"wickd/broker", "wickd/sensors", "wickd/sensors-2"} {
		_, err := r.e.Shelve(r.now, part, r.now.Add(time.Hour))
		assert.NoError(t, err, part)
	}
	for _, part := range []string{"wickd/senors", "wickd/sensors-", "wickd/sensors-abc", "wickd/sensors-1", "wickd/sensors-02", "wickd/sensors--2"} {
		_, err := r.e.Shelve(r.now, part, r.now.Add(time.Hour))
		assert.ErrorIs(t, err, ErrNoSuchAlert, part)
	}
}

// With the condition out of service each is told by itself.
func TestOutOfServiceSensorsAreToldOneByOne(t *testing.T) {
	r := newRun(t, map[model.Condition]Override{SensorsLost: {OutOfService: true}})
	assert.Len(t, told(r.last(time.Hour, lost(0, 1, 2))), 3)
}

// All at once: the effects, whose delays are shorter, wait for the cause.
func TestEffectsWaitForACauseThatIsPending(t *testing.T) {
	r := newRun(t, nil)
	changes := r.last(time.Hour, channelIsDry(0), water(0, 0.2), water(1, 0.2))
	assert.Equal(t, []string{"raised channel-dry channel/a", "raised bag-dry bag/a1 (quiet)", "raised bag-dry bag/a2 (quiet)"}, brief(changes))
}

// But not for one that comes and goes and is never raised.
func TestEffectsDoNotWaitForever(t *testing.T) {
	r := newRun(t, nil)
	var told []string
	for range 5 {
		told = append(told, brief(r.last(4*time.Minute, channelIsDry(0), water(0, 0.2)))...)
		told = append(told, brief(r.last(time.Minute, water(0, 0.2)))...)
	}
	assert.Equal(t, []string{"raised bag-dry bag/a1"}, told)
}

// When the channel is fed again its bags have half a day to fill; the one that
// does not is told then, for the first time.
func TestABagThatStaysDryIsToldInTheEnd(t *testing.T) {
	r := newRun(t, nil)
	r.last(time.Hour, channelIsDry(0), water(0, 0.2), water(1, 0.2))
	assert.Equal(t, []string{"cleared bag-dry bag/a2 (quiet)", "cleared channel-dry channel/a"},
		brief(r.last(6*time.Hour, water(0, 0.2))), "a2 filled up, which nobody need know")
	later := r.last(8*time.Hour, water(0, 0.2))
	require.Equal(t, []string{"raised bag-dry bag/a1"}, brief(later))
	assert.Equal(t, "bag-dry|bag/a1|2026-06-02T12:06:00Z", later[0].Occurrence, "the same occurrence")
	assert.Equal(t, []string{"cleared bag-dry bag/a1"}, brief(r.last(time.Hour)))
}

func TestASilentProbeDoesNotClearTheBagsAlert(t *testing.T) {
	r := newRun(t, nil)
	r.last(10*time.Minute, water(0, 0.2))
	assert.Equal(t, []string{"raised sensor-silent bag/a1/moisture"}, brief(r.last(time.Hour, silent(0), stale(0))))
	assert.Equal(t, Unacknowledged, r.e.Status(BagDry, "bag/a1"))
}

// Who was told of an alert is told of its end, though what stood over it in
// between is over only lately; while that still stands, its end says nothing.
func TestTheEndOfAToldAlertIsTold(t *testing.T) {
	r := newRun(t, nil)
	require.Contains(t, brief(r.last(2*time.Hour, channelIsDry(0))), "raised channel-dry channel/a")
	r.last(3*time.Hour, channelIsDry(0), level(40))
	require.Equal(t, ReservoirExhausted, r.e.records[key{ChannelDry, "channel/a"}].SuppressedBy)
	refilled := brief(r.last(10 * time.Hour))
	assert.Contains(t, refilled, "cleared reservoir-exhausted reservoir/tank")
	assert.Contains(t, refilled, "cleared channel-dry channel/a")

	r = newRun(t, nil)
	r.last(2*time.Hour, channelIsDry(0))
	assert.Contains(t, brief(r.last(10*time.Hour, level(40))), "cleared channel-dry channel/a (quiet)")
}

// What stood for long before its cause is none of its effects, and goes on calling.
func TestWhatBeganBeforeItsCauseIsToldOn(t *testing.T) {
	r := newRun(t, nil)
	require.Equal(t, []string{"raised bag-dry bag/a1"}, brief(r.last(10*time.Hour, water(0, 0.2))))
	assert.Equal(t, []string{"raised channel-dry channel/a", "raised bag-dry bag/a2 (quiet)"},
		brief(r.last(time.Hour, water(0, 0.2), water(1, 0.2), channelIsDry(0))))
	assert.Subset(t,
		brief(r.last(4*time.Hour, water(0, 0.2), water(1, 0.2), channelIsDry(0), level(40))), []string{"raised reservoir-exhausted reservoir/tank", "suppressed channel-dry channel/a (quiet)"})
	assert.Equal(t, Unacknowledged, r.e.Status(BagDry, "bag/a1"))
	assert.Equal(t, Suppressed, r.e.Status(BagDry, "bag/a2"))
}

// An answer was given to what then had a cause: what stands on when that is long gone
// calls again.
func TestWhatOutlivesItsCauseCallsAgain(t *testing.T) {
	r := newRun(t, nil)
	r.answered(3*time.Hour, water(0, 0.2))
	require.Equal(t, []string{"raised channel-dry channel/a", "suppressed bag-dry bag/a1 (quiet)"}, brief(r.last(3*time.Hour, water(0, 0.2), channelIsDry(0))))
	r.last(12*time.Hour, water(0, 0.2))
	assert.Equal(t, Suppressed, r.e.Status(BagDry, "bag/a1"), "it has half a day to fill")
	r.last(2*time.Hour, water(0, 0.2))
	assert.Equal(t, Unacknowledged, r.e.Status(BagDry, "bag/a1"))
}
