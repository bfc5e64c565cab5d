package climate_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/model/climate"
)

func only(temperature float64) climate.Weather {
	w := climate.Unmeasured()
	w.Temperature = temperature
	return w
}

func TestSensorsThatReportApart(t *testing.T) {
	d := newDemand(t, climate.Options{Place: kestrelYard})
	at := instant(2025, time.June, 21, 12, 0)
	for q := range 4 {
		w := [4]float64{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
		w[q] = [4]float64{21, 0.55, 300, 0.7}[q]
		d.Observe(at.Add(time.Duration(q)*20*time.Minute), climate.Weather{
			Temperature: w[0], Humidity: w[1], Radiation: w[2], Wind: w[3],
		})
	}
	want := climate.Weather{Temperature: 21, Humidity: 0.55, Radiation: 300, Wind: 0.7}
	assert.Equal(t, want, d.At(at.Add(65*time.Minute)))
	// The temperature, of 12:00, is the first to grow too old.
	later := d.At(at.Add(105 * time.Minute))
	assert.True(t, math.IsNaN(later.Temperature))
	assert.Equal(t, 0.55, later.Humidity)
	// Nothing is known before it was observed.
	assert.True(t, math.IsNaN(d.At(at.Add(-time.Minute)).Temperature))
}

func TestObservationsOfABinAreAveraged(t *testing.T) {
	d := newDemand(t, climate.Options{Place: kestrelYard})
	at := instant(2025, time.June, 21, 12, 0)
	for i, v := range []float64{20, 21, 25} {
		d.Observe(at.Add(time.Duration(i)*time.Minute), only(v))
	}
	assert.Equal(t, 22.0, d.At(at.Add(9*time.Minute)).Temperature)
}

func TestExtremesNeedADay(t *testing.T) {
	d := newDemand(t, climate.Options{Place: kestrelYard})
	start := instant(2025, time.June, 21, 0, 0)
	for h := range 24 {
		at := start.Add(time.Duration(h) * time.Hour)
		d.Observe(at, only(15-8*math.Cos(math.Pi*float64(h-3)/12)))
		r, known := d.Extremes(at)
		assert.Equal(t, h >= 19, known, "hour %d", h)
		if known {
			assert.InDelta(t, 7, r.Min, 1e-9)
			assert.InDelta(t, 23, r.Max, 1e-9)
			assert.InDelta(t, 15, r.Mean, 1e-9)
		}
	}
	_, known := d.Extremes(start.Add(48 * time.Hour))
	assert.False(t, known)
}

func TestLateAndWildTimes(t *testing.T) {
	d := newDemand(t, climate.Options{Place: kestrelYard, Days: 2})
	noon := instant(2025, time.June, 21, 12, 0)
	d.Observe(noon, only(24))
	d.Observe(noon.Add(-3*time.Hour), only(19))
	assert.Equal(t, 19.0, d.At(noon.Add(-2*time.Hour)).Temperature, "late but within memory")

	d.Observe(noon.AddDate(0, 0, -2), only(1))
	assert.Equal(t, 24.0, d.At(noon).Temperature, "older than the memory gives way")

	d.Observe(noon.AddDate(80, 0, 0), only(40))
	d.Observe(noon.Add(time.Hour), only(25))
	assert.Equal(t, 25.0, d.At(noon.Add(time.Hour)).Temperature, "a clock far ahead shuts nothing out")

	before := instant(1969, time.December, 31, 23, 55)
	d.Observe(before, only(3))
	assert.Equal(t, 3.0, d.At(before).Temperature)
	assert.True(t, math.IsNaN(d.At(before.Add(-6*time.Minute)).Temperature), "bins floor before 1970 too")
}

func TestClimatologyIsTheMeanByHour(t *testing.T) {
	d := newDemand(t, climate.Options{Place: kestrelYard, Days: 3})
	start := instant(2025, time.June, 21, 0, 0)
	for day, base := range []float64{10, 12, 17} {
		for h := range 24 {
			d.Observe(start.AddDate(0, 0, day).Add(time.Duration(h)*time.Hour), only(base+float64(h)))
		}
	}
	c := d.Climatology(start.AddDate(0, 0, 3))
	for h, w := range c {
		assert.InDelta(t, 13+float64(h), w.Temperature, 1e-9)
		assert.True(t, math.IsNaN(w.Radiation))
	}
	assert.InDelta(t, 11.0+6, d.Climatology(start.AddDate(0, 0, 2))[6].Temperature, 1e-9, "what comes later is not looked at")
}

func TestCheckpointGoesOnBitForBit(t *testing.T) {
	y := newInventedYear(7, true)
	kept := newDemand(t, y.options())
	for n := range 6 {
		for i, s := range y.day(n) {
			kept.Observe(s.at, s.weather)
			if n == 5 && i == 77 {
				break
			}
		}
	}
	data, err := json.Marshal(kept)
	require.NoError(t, err)
	restored := newDemand(t, y.options())
	require.NoError(t, json.Unmarshal(data, restored))

	for _, s := range y.day(6) {
		for _, d := range []*climate.Demand{kept, restored} {
			d.Observe(s.at, s.weather)
		}
		want, wantRung := kept.Rate(s.at, s.at.Add(36*time.Hour))
		got, gotRung := restored.Rate(s.at, s.at.Add(36*time.Hour))
		require.Equal(t, math.Float64bits(want), math.Float64bits(got))
		require.Equal(t, wantRung, gotRung)
	}
	again, err := json.Marshal(restored)
	require.NoError(t, err)
	want, err := json.Marshal(kept)
	require.NoError(t, err)
	assert.Equal(t, want, again)
	assert.Less(t, len(data), 200_000)
}

func TestCheckpointRefusals(t *testing.T) {
	tests := map[string]string{
		"not JSON":        `{`,
		"another grain":   `{"bin_seconds":60,"bins":[]}`,
		"negative count":  `{"bin_seconds":600,"bins":[{"bin":1,"counts":[-1,0,0,0],"sums":[1,0,0,0]}]}`,
		"boiling air":     `{"bin_seconds":600,"bins":[{"bin":1,"counts":[1,0,0,0],"sums":[100,0,0,0]}]}`,
		"time out of age": `{"bin_seconds":600,"bins":[{"bin":999999999999,"counts":[1,0,0,0],"sums":[10,0,0,0]}]}`,
	}
	for name, data := range tests {
		t.Run(name, func(t *testing.T) {
			d := newDemand(t, climate.Options{Place: kestrelYard})
			at := instant(2025, time.June, 21, 12, 0)
			d.Observe(at, only(21))
			assert.Error(t, json.Unmarshal([]byte(data), d))
			assert.Equal(t, 21.0, d.At(at).Temperature, "the memory stays as it was")
		})
	}
}

func TestTrackerAloneReadsACheckpoint(t *testing.T) {
	d := newDemand(t, climate.Options{Place: kestrelYard})
	at := instant(2025, time.June, 21, 12, 0)
	d.Observe(at, only(21))
	data, err := json.Marshal(d)
	require.NoError(t, err)
	var tr climate.Tracker
	require.NoError(t, json.Unmarshal(data, &tr))
	assert.Equal(t, 21.0, tr.At(at).Temperature)
}

func TestOrderWithinABinDoesNotMatter(t *testing.T) {
	// Late observations end in the same memory as punctual ones.
	rapid.Check(t, func(t *rapid.T) {
		start := instant(2025, time.June, 21, 0, 0)
		minutes := rapid.SliceOfN(rapid.IntRange(0, 2*24*60-1), 1, 60).Draw(t, "minutes")
		shuffled := rapid.Permutation(minutes).Draw(t, "shuffled")
		fill := func(order []int) *climate.Demand {
			d, err := climate.New(climate.Options{Place: kestrelYard, Days: 2})
			require.NoError(t, err)
			for _, m := range order {
				d.Observe(start.Add(time.Duration(m)*time.Minute), only(float64(m%40)))
			}
			return d
		}
		a, err := json.Marshal(fill(minutes))
		require.NoError(t, err)
		b, err := json.Marshal(fill(shuffled))
		require.NoError(t, err)
		assert.Equal(t, a, b)
	})
}
