package estimate

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
)

// A hose that comes off is a leak within an hour and a half, or as soon as a slow
// sensor has sent four levels, soon at its rate, with the hour at which the tank is empty;
// when it is put back nobody has refilled anything and nothing leaks.
func TestAHoseThatCameOff(t *testing.T) {
	long(t)
	const (
		rate    = 12.0             // L/h
		settled = 30 * time.Minute // the first levels that show it may have begun before it
	)
	for seed, house := range []struct{ every, within time.Duration }{
		{10 * time.Minute, 90 * time.Minute},
		{10 * time.Minute, 90 * time.Minute},
		{2 * time.Minute, 90 * time.Minute},
		{2 * time.Minute, 90 * time.Minute},
		{30 * time.Minute, 2 * time.Hour},
		{30 * time.Minute, 2 * time.Hour},
	} {
		t.Run(fmt.Sprintf("%v, %d", house.every, seed), func(t *testing.T) {
			t.Parallel()
			off := after(4).Add(time.Duration(4*seed) * time.Hour)
			hose := sim.Fault{Kind: sim.Leak, Subject: "reservoir/tank", Size: rate, Start: off, End: off.Add(4 * time.Hour)}
			s := newSceneAt(t, house.every, small(4, 70), uint64(seed+1), hose)
			s.live(days(4))
			r := s.e.reservoirs[0]
			refilled := r.Refilled
			var told, over time.Time
			var at model.ReservoirEstimate
			s.each = func(e model.Snapshot, _ sim.Truth) {
				now := e.Reservoirs[0]
				switch {
				case now.Cause == model.CauseLeak && told.IsZero():
					told = e.Time
				case e.Time.Equal(told.Add(settled)):
					at = now
				case now.Cause == "" && !told.IsZero() && over.IsZero():
					over = e.Time
				}
			}
			s.live(days(2))
			require.False(t, told.IsZero(), "never told")
			assert.LessOrEqual(t, told.Sub(off), house.within)
			assert.InEpsilon(t, 24*rate, at.Unexplained.Value, 0.2)
			require.NotNil(t, at.EmptyAt)
			assert.InEpsilon(t, at.Usable/rate, at.EmptyAt.P50.Sub(at.Time).Hours(), 0.25)
			require.False(t, over.IsZero(), "it never ends")
			assert.LessOrEqual(t, over.Sub(hose.End), 2*time.Hour)
			assert.Equal(t, refilled, r.Refilled, "nobody refilled it")
		})
	}
}

// What somebody takes out at once is a step, a bright day after dull ones is a
// day, and neither is a fall that goes on.
func TestNoHoseCameOff(t *testing.T) {
	r := tank(t)
	r.Daily.Whole, r.X[jVolume], r.Evening = 3, 180, 0.5
	for range 72 {
		r.Hours = append(r.Hours, hourDraw{Lifted: 0.4})
	}
	for name, fell := range map[string]func(minutes float64) float64{
		"twenty litres by hand": func(m float64) float64 { return 20 * math.Floor(math.Min(1, m/45)) },
		"three times the draw":  func(m float64) float64 { return 1.6 * m / 60 },
	} {
		r.Lately = nil
		for m := 0.0; m <= 120; m += 10 {
			g := gauged{volume: 180 - fell(m), variance: sq(0.3), row: vector{jVolume: 1}}
			assert.False(t, r.beginGush(noon.Add(time.Duration(m)*time.Minute), g), "%s, %g min", name, m)
		}
	}
}
