package climate_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/model/climate"
)

// seasoned returns a Demand that has seen a week through the given eyes, and
// the end of that week.
func seasoned(tb testing.TB, o climate.Options, see sight) (*climate.Demand, time.Time) {
	y := newInventedYear(1, true)
	if o.Place == (climate.Place{}) {
		o = y.options()
	}
	d, err := climate.New(o)
	require.NoError(tb, err)
	for n := range 7 {
		for _, s := range y.day(n) {
			d.Observe(s.at, see(s.weather))
		}
	}
	return d, y.start.AddDate(0, 0, 7)
}

func BenchmarkRate(b *testing.B) {
	all := hide(false, false, false)
	tests := map[string]struct {
		see    sight
		ahead  time.Duration
		length time.Duration
	}{
		"full 10 min":             {all, -12 * time.Hour, 10 * time.Minute},
		"full 1 day":              {all, -24 * time.Hour, 24 * time.Hour},
		"temperature only 10 min": {hide(false, true, true), -12 * time.Hour, 10 * time.Minute},
		"forecast 1 day":          {all, 24 * time.Hour, 24 * time.Hour},
		"forecast 7 days":         {all, 24 * time.Hour, 7 * 24 * time.Hour},
	}
	for name, test := range tests {
		b.Run(name, func(b *testing.B) {
			d, end := seasoned(b, climate.Options{}, test.see)
			t0 := end.Add(test.ahead)
			b.ReportAllocs()
			for b.Loop() {
				d.Rate(t0, t0.Add(test.length))
			}
		})
	}
}

func BenchmarkObserve(b *testing.B) {
	d, end := seasoned(b, climate.Options{}, hide(false, false, false))
	w := climate.Weather{Temperature: 20, Humidity: 0.6, Radiation: 300, Wind: 0.5}
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		d.Observe(end.Add(time.Duration(i)*time.Minute), w)
	}
}
