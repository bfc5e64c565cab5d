package estimate

import (
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
)

// A hose that comes off is a leak within an hour and a half, at its rate, with the
// hour at which the tank is empty; when it is put back nobody has refilled anything
// and nothing leaks.
func TestAHoseThatCameOff(t *testing.T) {
	long(t)
	const rate = 12 // L/h
	for seed := range uint64(4) {
		t.Run(strconv.Itoa(int(seed)), func(t *testing.T) {
			t.Parallel()
			off := after(4).Add(time.Duration(5*seed) * time.Hour)
			hose := sim.Fault{Kind: sim.Leak, Subject: "reservoir/tank", Size: rate, Start: off, End: off.Add(4 * time.Hour)}
			s := newSceneAt(t, 10*time.Minute, small(4, 70), seed+1, hose)
			s.live(days(4))
			r := s.e.reservoirs[0]
			refilled := r.Refilled
			var told, over time.Time
			var at model.ReservoirEstimate
			s.each = func(e model.Snapshot, _ sim.Truth) {
				now := e.Reservoirs[0]
				switch {
				case now.Cause == model.CauseLeak && told.IsZero():
					told, at = e.Time, now
				case now.Cause == "" && !told.IsZero() && over.IsZero():
					over = e.Time
				}
			}
			s.live(days(2))
			require.False(t, told.IsZero(), "never told")
			assert.LessOrEqual(t, told.Sub(off), 90*time.Minute)
			assert.InEpsilon(t, 24*rate, at.Unexplained.Value, 0.2)
			require.NotNil(t, at.EmptyAt)
			assert.InEpsilon(t, at.Usable/rate, at.EmptyAt.P50.Sub(told).Hours(), 0.25)
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
			assert.False(t, r.gushes(noon.Add(time.Duration(m)*time.Minute), g), "%s, %g min", name, m)
		}
	}
}
