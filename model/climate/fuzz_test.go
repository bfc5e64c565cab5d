package climate_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model/climate"
)

// FuzzRate finds no depth that is not one, whatever the place, the hour and the
// instruments say.
func FuzzRate(f *testing.F) {
	f.Add(47.0, 8.0, 310.0, 0.7, 0.0, int64(1750507200), int64(3600), 24.0, 0.6, 500.0, 0.5)
	f.Add(-90.0, 180.0, -400.0, 0.05, 1.0, int64(0), int64(86400), -60.0, 0.0, 0.0, 75.0)
	f.Add(90.0, -180.0, 6000.0, 1.0, 0.5, int64(-1), int64(1), math.NaN(), math.Inf(1), -1.0, math.NaN())
	f.Fuzz(func(t *testing.T, latitude, longitude, elevation, transmission, shield float64,
		start, seconds int64, temperature, humidity, radiation, wind float64) {
		d, err := climate.New(climate.Options{
			Place:        climate.Place{Latitude: latitude, Longitude: longitude, Elevation: elevation},
			Transmission: transmission, LongwaveShield: shield, Days: 1,
		})
		if err != nil {
			t.Skip("refused at the door")
		}
		const ages = 1 << 36 // s, two thousand years either way
		t0 := time.Unix(start%ages, 0)
		length := time.Duration(seconds%(10*86400)) * time.Second
		d.Observe(t0, climate.Weather{
			Temperature: temperature, Humidity: humidity, Radiation: radiation, Wind: wind,
		})
		mm, rung := d.Rate(t0, t0.Add(length))
		assertDepth(t, mm, rung, max(0, length))
	})
}

// FuzzCheckpoint: what is accepted is written back to the same memory, and
// gives depths; what is refused changes nothing.
func FuzzCheckpoint(f *testing.F) {
	f.Add([]byte(`{"bin_seconds":600,"bins":[{"bin":2917512,"counts":[1,1,1,1],"sums":[21,0.5,300,1]}]}`))
	f.Add([]byte(`{"bin_seconds":600,"bins":[{"bin":-1,"counts":[3,0,0,0],"sums":[60,0,0,0]},{"bin":-1,"counts":[1,0,0,0],"sums":[5,0,0,0]}]}`))
	f.Add([]byte(`{"bin_seconds":600,"bins":[{"bin":-2,"counts":[0,0,0,0],"sums":[60,0,0,0]},{"bin":-1,"counts":[1,0,0,0],"sums":[50,0,0,0]}]}`))
	f.Add([]byte(`{"bin_seconds":600,"bins":[{"bin":1,"counts":[9223372036854775807,0,0,0],"sums":[1e300,0,0,0]}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		d, err := climate.New(climate.Options{Place: kestrelYard, Days: 2})
		require.NoError(t, err)
		before, err := json.Marshal(d)
		require.NoError(t, err)
		failed := json.Unmarshal(data, d)
		first, err := json.Marshal(d)
		require.NoError(t, err)
		if failed != nil {
			assert.Equal(t, before, first)
			return
		}
		require.NoError(t, json.Unmarshal(first, d))
		second, err := json.Marshal(d)
		require.NoError(t, err)
		assert.Equal(t, first, second)
		at := instant(2025, time.June, 21, 12, 0)
		mm, rung := d.Rate(at, at.Add(6*time.Hour))
		assertDepth(t, mm, rung, 6*time.Hour)
	})
}
