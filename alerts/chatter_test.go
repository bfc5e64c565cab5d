package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// A bag whose probe wavers about its limit all night calls three times, says
// at the third that it wavers, and then is quiet until it is over.
func TestAChatteringAlertIsHeld(t *testing.T) {
	r := newRun(t, nil)
	for range 12 {
		r.last(10*time.Minute, water(0, 0.2))
		r.last(40 * time.Minute)
	}
	const raised, cleared = "raised bag-dry bag/a1", "cleared bag-dry bag/a1"
	require.Equal(t, []string{raised, cleared, raised, cleared, raised}, brief(r.all))
	third := r.all[4]
	assert.Contains(t, third.Message.Why, "It comes and goes, 3 times since Tue 12:01, and is held as one alert until it has been over for 2 h.")
	assert.NotContains(t, r.all[2].Message.Why, "comes and goes")
	require.Len(t, r.e.Open(), 1)
	assert.True(t, r.e.Open()[0].Chattering)

	assert.Equal(t, []string{cleared}, brief(r.last(2*time.Hour)), "after two quiet hours")
	assert.False(t, r.e.Open()[0].Chattering)
	assert.Empty(t, r.last(6*time.Hour))
	for range 2 {
		r.last(10*time.Minute, water(0, 0.2))
		assert.Equal(t, []string{cleared}, brief(r.last(40*time.Minute)), "what was six hours ago no longer counts")
	}
}

func TestTwoAlertsDoNotChatterTogether(t *testing.T) {
	r := newRun(t, nil)
	for range 2 {
		for bag := range 2 {
			r.last(10*time.Minute, water(bag, 0.2))
			r.last(40 * time.Minute)
		}
	}
	for _, open := range r.e.Open() {
		assert.False(t, open.Chattering, open.Occurrence)
	}
	assert.Len(t, r.all, 8, "each is raised and cleared twice")
}

// A sensor that falls silent twice a day calls three times, and then stands until it
// has sent for a day. What fell silent with others calls for none of them, and is no
// sensor that comes and goes when the power is back.
func TestASensorThatComesAndGoesIsHeld(t *testing.T) {
	const raised, cleared = "raised sensor-silent bag/a1/moisture", "cleared sensor-silent bag/a1/moisture"
	r := newRun(t, nil)
	for range 10 {
		r.last(time.Hour, silent(0))
		r.last(11 * time.Hour)
	}
	require.Equal(t, []string{raised, cleared, raised, cleared, raised}, brief(r.all))
	assert.Contains(t, r.all[4].Message.Why, "is held as one alert until it has been over for 24 h")
	assert.Equal(t, []string{cleared}, brief(r.last(14*time.Hour)))

	r = newRun(t, nil)
	for range 5 {
		r.last(time.Hour, lost(0, 1, 2))
		r.last(11 * time.Hour)
	}
	r.last(40 * time.Hour)
	outages := 0
	for _, one := range r.all {
		assert.True(t, one.Condition == SensorsLost || one.Suppressed, "%v", one)
		if one.Condition == SensorsLost && one.Kind == model.Raised {
			outages++
		}
	}
	assert.Equal(t, 3, outages, "the third stands until the power has held for a day")
}

// A tank that gets too warm every noon calls on two days, and is one alert from the
// third on until it has been cool for a day.
func TestAWarmTankIsOneAlertFromTheThirdNoonOn(t *testing.T) {
	r := newRun(t, nil)
	warm := func(s *model.Snapshot) { s.Reservoirs[0].Temperature.Value = 27.5 }
	var raised, cleared []time.Time
	note := func(changes []model.Transition) {
		for _, c := range changes {
			switch c.Kind {
			case model.Raised:
				raised = append(raised, c.Time)
			case model.Cleared:
				cleared = append(cleared, c.Time)
			}
		}
	}
	for range 6 {
		note(r.last(6*time.Hour, warm))
		note(r.last(18 * time.Hour))
	}
	assert.Len(t, raised, 3)
	assert.Len(t, cleared, 2)
	note(r.last(8 * time.Hour))
	assert.Len(t, cleared, 3, "a day after the last noon")
}

// What somebody has seen each time counts as much.
func TestAcknowledgedNoonsCount(t *testing.T) {
	r := newRun(t, nil)
	raised := 0
	for range 8 {
		for _, c := range r.lastBy(10*time.Minute, 4*time.Hour, dryIn(0, 10*time.Hour)) {
			if c.Kind == model.Raised {
				raised++
			}
		}
		for _, s := range r.e.Open() {
			_, err := r.e.Acknowledge(r.now, s.Occurrence, "caretaker")
			require.NoError(t, err)
		}
		r.lastBy(10*time.Minute, 20*time.Hour)
	}
	assert.Equal(t, 3, raised)
}
