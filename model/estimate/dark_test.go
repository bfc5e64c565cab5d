package estimate

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/climate"
	"wickd/model/sim"
)

// The sun's heights at 47° N, 8.5° E on 1 June: it rises at 3:30 UTC, stands 10°
// high at 4:35, 66° at noon, 10° again at 18:20 (FAO-56 eq 24 and 31).
func TestNothingUnderAHighSunIsNoWeather(t *testing.T) {
	place := &climate.Place{Latitude: 47, Longitude: 8.5}
	at := func(h float64) time.Time { return begin.Add(time.Duration(h * float64(time.Hour))) }
	for _, c := range []struct {
		name     string
		h, value float64
		place    *climate.Place
		want     bool
	}{
		{"noon", 11.5, 0, place, true},
		{"noon, below nothing", 11.5, -2, place, true},
		{"noon, some light", 11.5, 3, place, false},
		{"midnight", 23.5, 0, place, false},
		{"just after sunrise", 4, 0, place, false},
		{"at ten degrees, before", 4.4, 0, place, false},
		{"at ten degrees, after", 4.8, 0, place, true},
		{"nobody knows where", 11.5, 0, nil, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			var d dark
			assert.Equal(t, c.want, d.disbelieves(at(c.h), c.value, c.place))
		})
	}
}

// A house darkened from 17 to 8 o'clock, to shorten the day of its plants, has
// a sensor that works; one that is covered for good has not.
func TestADarkenedHouseIsNoFault(t *testing.T) {
	place := &climate.Place{Latitude: 47, Longitude: 8.5}
	blamed := func(light func(hour int) float64) bool {
		var d dark
		site := &model.Site{Air: []model.Sensor{{ID: "air/radiation", Quantity: model.Radiation}}}
		for at := begin; at.Before(after(7)); at = at.Add(10 * time.Minute) {
			d.disbelieves(at, light(at.Hour()), place)
			h := model.SensorHealth{Sensor: "air/radiation"}
			d.blame(site, map[model.Subject]*model.SensorHealth{"air/radiation": &h})
			if h.Implausible {
				return true
			}
		}
		return false
	}
	assert.False(t, blamed(func(hour int) float64 {
		if hour < 8 || hour >= 17 {
			return 0
		}
		return 200
	}))
	assert.True(t, blamed(func(int) float64 { return 0 }))
}

// The sensor of the radiation goes dark after four days. Nothing leaks for it,
// and the sensor is named within the day.
func TestDarkRadiationSensor(t *testing.T) {
	long(t)
	s := newScene(t, small(3, 90), 5)
	s.skew = func(r model.Reading) float64 {
		if r.Sensor == "air/radiation" && r.Time.After(after(4)) {
			return -r.Value
		}
		return 0
	}
	var last model.Snapshot
	s.each = func(e model.Snapshot, _ sim.Truth) {
		last = e
		if loose := e.Reservoirs[0].Unexplained; e.Time.After(after(4)) {
			assert.Less(t, loose.Value, 2.33*loose.SD, "no leak is read into it, at %s", e.Time)
		}
	}
	s.live(days(8))
	sensors := []model.SensorHealth{{Sensor: "air/radiation"}}
	dark := s.e.Snapshot(last.Time, sensors).Sensors[0]
	require.True(t, dark.Implausible)
	assert.WithinDuration(t, after(4), dark.Since, 24*time.Hour)
	assert.NotEmpty(t, dark.Evidence)

	kept, err := s.e.MarshalJSON()
	require.NoError(t, err)
	again := fresh(t, s.site)
	require.NoError(t, again.UnmarshalJSON(kept))
	assert.Equal(t, s.e.weather.dark, again.weather.dark)
}
