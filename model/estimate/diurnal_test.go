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

// rhythm drives the course of the day with levels every ten minutes, of 0.3 L of
// noise, of a house that draws 10 L a day by the books and otherwise besides, as a
// share of the day's draw per hour.
func rhythm(d *diurnal, span time.Duration, otherwise func(t time.Time) float64) {
	const day, noise = 10.0, 0.3
	rng := rand.New(rand.NewPCG(2, 7))
	volume, step := 0.0, 10*time.Minute
	for t := noon; t.Before(noon.Add(span)); t = t.Add(step) {
		d.hear(t, volume+noise*rng.NormFloat64(), sq(noise), day)
		volume -= (day/24 + day*otherwise(t)) * step.Hours()
		d.Booked += (day/24 + day*d.share(t)) * step.Hours()
	}
}

// A house that draws 8 % of its day after dusk in place of about noon is known for
// it within a week, hour by hour; the constructed truth is two waves of its own.
func TestTheCourseOfADayIsLearnt(t *testing.T) {
	truth := func(t time.Time) float64 {
		return 0.006*math.Cos(wave(t)-2*math.Pi*19/24) + 0.005*math.Cos(2*(wave(t)-2*math.Pi*19/24))
	}
	var d diurnal
	miss := func() float64 {
		squares := 0.0
		for h := range 24 {
			at := noon.Add(time.Duration(h) * time.Hour)
			squares += sq(d.share(at) - truth(at))
		}
		return math.Sqrt(squares / 24)
	}
	before := miss()
	rhythm(&d, days(7), truth)
	assert.Less(t, miss(), 0.4*before)
	// √((0.006² + 0.005²)/2) = 0.0055
	assert.InEpsilon(t, 0.0055, d.height(), 0.25)
}

// A leak of a tenth of the draw that is a day old is not taken for a course of the
// day: by a fifth of its 0.0042 an hour at most, and never at all hours alike.
func TestALeakIsNoCourseOfTheDay(t *testing.T) {
	var d diurnal
	leak, hours := 0.0, func() (shares [24]float64) {
		for h := range shares {
			shares[h] = d.share(noon.Add(time.Duration(h) * time.Hour))
		}
		return shares
	}
	otherwise := func(time.Time) float64 { return leak }
	rhythm(&d, days(7), otherwise)
	before := hours()
	leak = 0.1 / 24
	sound := d
	rhythm(&d, days(1), otherwise)
	leaking := hours()
	leak, d = 0, sound
	rhythm(&d, days(1), otherwise)
	mean := 0.0
	for h, share := range hours() {
		assert.InDelta(t, share, leaking[h], 0.2*0.1/24)
		mean += leaking[h] / 24
	}
	assert.NotEqual(t, before, leaking)
	assert.InDelta(t, 0, mean, 1e-12)
}

// A house whose level sinks later in the day than its bags drink, by more on days
// on which they drink more, has no leak.
func TestADayThatRunsOtherwiseIsNoLeak(t *testing.T) {
	long(t)
	for seed := range uint64(4) {
		t.Run(strconv.Itoa(int(seed)), func(t *testing.T) {
			t.Parallel()
			site := small(6, 90)
			site.Reservoirs[0].Shape = model.Shape{Kind: model.Box, Length: 600, Width: 400}
			for i := range site.Bags {
				site.Bags[i].Canopy *= 1.5
			}
			s := newSceneAt(t, 10*time.Minute, site, seed+1)
			tank := s.e.reservoirs[0]
			s.skew = func(r model.Reading) float64 {
				if r.Sensor != "reservoir/tank/level" {
					return 0
				}
				// Of the day's draw: what is drawn later sinks the level later.
				later := 0.012 * 24 / (2 * math.Pi) * math.Sin(wave(r.Time)-2*math.Pi*20/24)
				return -later * tank.lastDay() / tank.physics.AreaAt(r.Value)
			}
			s.each = func(e model.Snapshot, _ sim.Truth) {
				assert.Empty(t, e.Reservoirs[0].Cause, "at %s", e.Time)
			}
			s.live(days(10))
			assert.Greater(t, tank.Diurnal.height(), 0.003, "of 0.0085: what a whole day long departs is half put down to the sky")
		})
	}
}
