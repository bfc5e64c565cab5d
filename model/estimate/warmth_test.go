package estimate

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
)

// Sound in air gains 0.606 m/s a kelvin on 331.3 m/s (any text on acoustics):
// what an ultrasonic sensor without correction makes of 30 cm of air lies
// within two standard deviations of the prior.
func TestPriorOfALevelSensor(t *testing.T) {
	perKelvin := 300 * 0.606 / 331.3 // mm
	assert.Less(t, priorWarmLevel, perKelvin, "most correct for some of it")
	assert.Greater(t, priorWarmLevel, perKelvin/3)
}

// The air warms by 10 K at once: after one lag the sensor has taken up 1 − 1/e
// of it, 63 % [D].
func TestWarmthLags(t *testing.T) {
	var w warmth
	assert.Zero(t, w.excess(w.Time), "nothing is known")
	w.observe(begin, 20)
	w.observe(begin.Add(time.Nanosecond), 20)
	w.observe(begin.Add(time.Hour), 30)
	assert.InDelta(t, 6.321, w.excess(w.Time), 0.001)
	w.observe(begin, 0)
	assert.InDelta(t, 6.321, w.excess(w.Time), 0.001, "a late reading changes nothing")
}

// Sensors that follow their own temperature look by day like plants that drink
// more or less than they do, and by night like a leak. Nothing is wrong here.
func TestSensorsFollowTheirTemperature(t *testing.T) {
	long(t)
	for name, sign := range map[string]float64{"read more when warm": 1, "read less when warm": -1} {
		t.Run(name, func(t *testing.T) {
			s := newScene(t, small(3, 90), 3)
			var air warmth
			s.skew = func(r model.Reading) float64 {
				switch {
				case r.Sensor == "air/temperature":
					air.observe(r.Time, r.Value)
				case r.Sensor.Kind() == model.KindBag:
					return sign * 0.0008 * air.excess(air.Time)
				case r.Sensor == "reservoir/tank/level":
					return sign * 0.25 * air.excess(air.Time)
				}
				return 0
			}
			var first, last model.Snapshot
			var from, now sim.Truth
			s.each = func(e model.Snapshot, truth sim.Truth) {
				last, now = e, truth
				if e.Time.Equal(after(4)) {
					first, from = e, truth
				}
				for _, b := range e.Bags {
					assert.Empty(t, b.Cause, "bag %s at %s: %s", b.Bag, e.Time, b.Evidence)
				}
				assert.Empty(t, e.Reservoirs[0].Cause, "at %s: %s", e.Time, e.Reservoirs[0].Evidence)
			}
			s.live(days(9))
			var took, said float64
			for i, b := range last.Bags {
				took += now.Bags[i].Uptake - from.Bags[i].Uptake
				said += b.Uptake - first.Bags[i].Uptake
			}
			require.Positive(t, took)
			assert.InEpsilon(t, took, said, 0.1, "of all bags")
		})
	}
}

// Where nobody measures the air, probes that follow it are known by the usual
// day. The truth of the air is the simulator's, with its own swing and lag.
func TestProbesFollowAnUnmeasuredAir(t *testing.T) {
	long(t)
	for name, sign := range map[string]float64{"read more when warm": 1, "read less when warm": -1} {
		t.Run(name, func(t *testing.T) {
			site := small(3, 90)
			site.Air = nil
			s := newScene(t, site, 3)
			var air warmth
			s.skew = func(r model.Reading) float64 {
				if r.Sensor.Kind() != model.KindBag {
					return 0
				}
				return sign * 0.0008 * air.excess(air.Time)
			}
			s.each = func(e model.Snapshot, truth sim.Truth) {
				air.observe(truth.Time, truth.Air.Temperature)
				for _, b := range e.Bags {
					assert.Empty(t, b.Cause, "bag %s at %s: %s", b.Bag, e.Time, b.Evidence)
				}
				assert.Empty(t, e.Reservoirs[0].Cause, "at %s: %s", e.Time, e.Reservoirs[0].Evidence)
			}
			s.live(days(9))
		})
	}
}
