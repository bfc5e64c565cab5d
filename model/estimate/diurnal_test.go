package estimate

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/model"
	"wickd/model/sim"
)

// daylight is the part of a day's draw in an hour at t: half a sine from six to eight.
func daylight(t time.Time) float64 {
	const dawn, dusk = 6.0, 20.0
	at := t.Sub(t.Truncate(24 * time.Hour)).Hours()
	if at < dawn || at > dusk {
		return 0
	}
	return math.Pi / 2 / (dusk - dawn) * math.Sin(math.Pi*(at-dawn)/(dusk-dawn))
}

// bump is 1 about an hour and falls off as a bell curve of a width, h.
func bump(t time.Time, hour, width float64) float64 {
	at := t.Sub(t.Truncate(24 * time.Hour)).Hours()
	return math.Exp(-sq(math.Remainder(at-hour, 24)/width) / 2)
}

// moved is a course of the day that draws a share of the day about an hour in place of
// when the house draws else; the constructed truth of these tests.
func moved(share, hour, width float64) func(time.Time) float64 {
	return func(t time.Time) float64 {
		return share * (bump(t, hour, width)/(width*math.Sqrt(2*math.Pi)) - daylight(t))
	}
}

// rhythm drives the course of the day with levels every ten minutes, of 0.1 L of
// noise, of a house that draws 10 L a day by daylight and otherwise besides, as a
// share of the day's draw per hour.
func rhythm(d *diurnal, span time.Duration, otherwise func(t time.Time) float64) {
	const day, noise = 10.0, 0.1
	for h := range d.Profile {
		d.Profile[h] = daylight(noon.Add(time.Duration(h-noon.Hour()) * time.Hour))
	}
	rng := rand.New(rand.NewPCG(2, 7))
	volume, step := 0.0, 10*time.Minute
	for t := noon; t.Before(noon.Add(span)); t = t.Add(step) {
		d.hear(t, volume+noise*rng.NormFloat64(), sq(noise), day)
		volume -= day * (daylight(t) + otherwise(t)) * step.Hours()
		d.Booked += day * (daylight(t) + d.share(t)) * step.Hours()
	}
}

// hourly are the shares of the hours of a day, from midnight on.
func hourly(share func(time.Time) float64) (out [24]float64) {
	for h := range out {
		out[h] = share(noon.Truncate(24 * time.Hour).Add(time.Duration(h) * time.Hour))
	}
	return out
}

func rootMeanSquare(a, b [24]float64) float64 {
	squares := 0.0
	for i := range a {
		squares += sq(a[i] - b[i])
	}
	return math.Sqrt(squares / 24)
}

// A house that draws a tenth of its day after dusk in place of by daylight is known for
// it within ten days, hour by hour.
func TestTheCourseOfADayIsLearnt(t *testing.T) {
	truth := moved(0.1, 21, 1.5)
	var d diurnal
	rhythm(&d, days(10), truth)
	height := rootMeanSquare(hourly(truth), [24]float64{})
	assert.Less(t, rootMeanSquare(hourly(d.share), hourly(truth)), 0.65*height)
	assert.InEpsilon(t, height, d.height(), 0.65)
}

// What a house draws sooner in the morning says nothing of its nights: where it did, the
// unexplained draw had to make up for it, and became a leak.
func TestAMorningSaysNothingOfTheNight(t *testing.T) {
	truth := moved(0.1, 8, 1.5)
	var d diurnal
	rhythm(&d, days(10), truth)
	shares := hourly(d.share)
	assert.Greater(t, shares[8], 0.008)
	for _, hour := range []int{0, 1, 2, 3} {
		assert.InDelta(t, 0, shares[hour], 0.1*shares[8], "%d:00", hour)
	}
}

// A leak of a tenth of the draw that is a day old is not taken for a course of the
// day: deep in the night, by a twentieth of its 0.0042 an hour, and never as more of a day.
func TestALeakIsNoCourseOfTheDay(t *testing.T) {
	leak := 0.0
	otherwise := func(time.Time) float64 { return leak }
	var sound diurnal
	rhythm(&sound, days(7), otherwise)
	leaking := sound
	rhythm(&sound, days(1), otherwise)
	leak = 0.1 / 24
	rhythm(&leaking, days(1), otherwise)
	with, without, sum := hourly(leaking.share), hourly(sound.share), 0.0
	for h := range with {
		assert.InDelta(t, without[h], with[h], 0.35*0.1/24, "%d:00", h)
		sum += with[h]
	}
	for _, hour := range []int{0, 1, 2} {
		assert.InDelta(t, without[hour], with[hour], 0.05*0.1/24, "%d:00", hour)
	}
	assert.NotEqual(t, without, with)
	assert.InDelta(t, 0, sum, 0.001)
}

// A house whose level sinks later in the day than its bags drink, by more on days
// on which they drink more, has no leak.
func TestADayThatRunsOtherwiseIsNoLeak(t *testing.T) {
	long(t)
	const step = 10 * time.Minute
	otherwise := moved(0.08, 20.5, 1.5)
	later := func(t time.Time) (share float64) { // drawn since midnight beyond what bags drink
		for at := t.Truncate(24 * time.Hour); at.Before(t); at = at.Add(step) {
			share += otherwise(at) * step.Hours()
		}
		return share
	}
	for seed := range uint64(4) {
		t.Run(strconv.Itoa(int(seed)), func(t *testing.T) {
			t.Parallel()
			site := small(6, 90)
			site.Reservoirs[0].Shape = model.Shape{Kind: model.Box, Length: 600, Width: 400}
			for i := range site.Bags {
				site.Bags[i].Canopy *= 1.5
			}
			s := newSceneAt(t, step, site, seed+1)
			tank := s.e.reservoirs[0]
			s.skew = func(r model.Reading) float64 {
				if r.Sensor != "reservoir/tank/level" {
					return 0
				}
				// Of the day's draw: what is drawn later sinks the level later.
				return -later(r.Time) * tank.lastDay() / tank.physics.AreaAt(r.Value)
			}
			s.each = func(e model.Snapshot, _ sim.Truth) {
				assert.Empty(t, e.Reservoirs[0].Cause, "at %s", e.Time)
			}
			s.live(days(10))
			assert.Greater(t, tank.Diurnal.Shares[21], 0.2*otherwise(noon.Truncate(24*time.Hour).Add(21*time.Hour)))
		})
	}
}
