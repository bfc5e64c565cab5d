package probe_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/ingest/probe"
	"wickd/model"
)

// fleet are sensors of which each sends until it dies.
type fleet struct {
	site
	h    *probe.Health
	dies []time.Time // zero: never
	next []time.Time
	now  time.Time
}

func newFleet(t *testing.T, sensors int, losses float64, seed uint64) *fleet {
	t.Helper()
	f := &fleet{now: noon, dies: make([]time.Time, sensors)}
	f.site = site{sensors: moistureSensors(sensors), interval: tenMinutes, jitter: 0.05, losses: losses, rng: rand.New(rand.NewPCG(seed, 1))}
	f.h = newHealth(t, f.sensors...)
	for range sensors {
		f.next = append(f.next, noon.Add(time.Duration(f.rng.Float64()*float64(tenMinutes))))
	}
	return f
}

// until lets time pass to end, or until enough says so, with a Tick a minute.
func (f *fleet) until(end time.Time, enough func([]model.SensorHealth) bool) []model.SensorHealth {
	for ; f.now.Before(end); f.now = f.now.Add(time.Minute) {
		for i, sensor := range f.sensors {
			for ; !f.next[i].After(f.now); f.next[i] = f.next[i].Add(f.step()) {
				alive := f.dies[i].IsZero() || f.next[i].Before(f.dies[i])
				if alive && f.rng.Float64() >= f.losses {
					f.h.Observe(good(sensor.ID, f.next[i]), f.next[i])
				}
			}
		}
		f.h.Tick(f.now)
		if enough != nil && enough(f.h.Snapshot(f.now)) {
			break
		}
	}
	return f.h.Snapshot(f.now)
}

// kill has the sensors from and to, the latter left out, die at a time.
func (f *fleet) kill(from, to int, at time.Time) {
	for i := from; i < to; i++ {
		f.dies[i] = at
	}
}

func silentOf(all []model.SensorHealth) (n int) {
	for _, s := range all {
		if s.Silent {
			n++
		}
	}
	return n
}

func togetherOf(all []model.SensorHealth) (n int) {
	for _, s := range all {
		if s.Together > 0 {
			n++
		}
	}
	return n
}

// A cut takes twelve sensors of fourteen: when the first of them is called silent
// all twelve are known to have gone together, and the others are not with them. At
// a loss of 1 % one of 600 had by chance lost two messages before, and is told alone.
func TestACutTakesSensorsTogether(t *testing.T) {
	alone := 0
	for seed := range uint64(50) {
		f := newFleet(t, 14, 0.01, seed)
		at := noon.Add(48*time.Hour + time.Duration(seed)*time.Minute)
		f.kill(0, 12, at)
		assert.Zero(t, togetherOf(f.until(at, nil)), "seed %d, before", seed)
		first := f.until(at.Add(5*time.Hour), func(all []model.SensorHealth) bool { return silentOf(all) > 0 })
		assert.GreaterOrEqual(t, togetherOf(first), 11, "seed %d, at the first that is called silent", seed)
		later := f.until(at.Add(3*time.Hour), nil)
		assert.Equal(t, 12, silentOf(later), "seed %d", seed)
		gone := togetherOf(later)
		alone += 12 - gone
		for _, s := range later[12:] {
			assert.Zero(t, s.Together, "seed %d: %s sends", seed, s.Sensor)
		}
		// One that is back is no longer with them; the others wait.
		f.h.Observe(good(later[0].Sensor, f.now), f.now)
		assert.Equal(t, gone-1, togetherOf(f.h.Snapshot(f.now)), "seed %d", seed)
	}
	assert.LessOrEqual(t, alone, 1)
}

// Two that fall silent at once may be chance, or one board with two electrodes:
// either is told.
func TestTwoAreNoOutage(t *testing.T) {
	f := newFleet(t, 8, 0, 7)
	f.kill(0, 2, noon.Add(48*time.Hour))
	later := f.until(noon.Add(52*time.Hour), nil)
	assert.Equal(t, 2, silentOf(later))
	assert.Zero(t, togetherOf(later))
}

// Sensors that die one after the other are each its own trouble.
func TestOneAfterAnotherIsNoOutage(t *testing.T) {
	f := newFleet(t, 8, 0, 3)
	for i := range 4 {
		f.kill(i, i+1, noon.Add(48*time.Hour+time.Duration(i)*40*time.Minute))
	}
	all := f.until(noon.Add(56*time.Hour), nil)
	assert.Equal(t, 4, silentOf(all))
	assert.Zero(t, togetherOf(all))
}

// What dies while an outage stands is no part of it, lest the first hide it: one
// sensor dies by itself, three in an outage of their own.
func TestAnOutageHidesNoOther(t *testing.T) {
	f := newFleet(t, 9, 0, 4)
	f.kill(0, 4, noon.Add(48*time.Hour))
	f.kill(4, 5, noon.Add(50*time.Hour))
	f.kill(5, 8, noon.Add(52*time.Hour))
	all := f.until(noon.Add(56*time.Hour), nil)
	var numbers []int
	for _, s := range all {
		numbers = append(numbers, s.Together)
	}
	assert.Equal(t, []int{1, 1, 1, 1, 0, 2, 2, 2, 0}, numbers)
	assert.Equal(t, 8, silentOf(all))
}

// A sensor that an outage left dead is nothing to wait for: the next outage is one
// again, and the dead one is silent by itself.
func TestAnOutageAfterOneThatLeftADeadSensor(t *testing.T) {
	f := newFleet(t, 8, 0, 5)
	f.kill(0, 8, noon.Add(48*time.Hour))
	f.until(noon.Add(52*time.Hour), nil)
	f.kill(1, 8, time.Time{})
	assert.Equal(t, 1, togetherOf(f.until(noon.Add(54*time.Hour), nil)), "the dead one waits to be told")
	f.kill(1, 8, noon.Add(70*time.Hour))
	all := f.until(noon.Add(74*time.Hour), nil)
	assert.Zero(t, all[0].Together)
	for _, s := range all[1:] {
		assert.Equal(t, 1, s.Together, s.Sensor)
	}
}

// A house that is switched on with its gateway off: its sensors were never heard.
func TestSensorsThatNeverSentAreTogether(t *testing.T) {
	f := newFleet(t, 6, 0, 6)
	f.kill(0, 4, noon)
	all := f.until(noon.Add(3*time.Hour), nil)
	assert.Equal(t, 4, silentOf(all))
	assert.Equal(t, 4, togetherOf(all))
}

// A gateway that is switched on and dies within the hour, or hands over what it kept
// every six hours: too little was heard of its sensors to know their pace, and they
// are lost together all the same.
func TestSensorsThatAreHardlyKnownAreTogether(t *testing.T) {
	f := newFleet(t, 5, 0, 3)
	f.kill(0, 4, noon.Add(35*time.Minute))
	all := f.until(noon.Add(4*time.Hour), func(s []model.SensorHealth) bool { return silentOf(s) == 4 })
	assert.Equal(t, 4, togetherOf(all))
	assert.Zero(t, all[4].Together)
}

// A sensor that sends by the hour is called silent hours after the others. It went
// with them all the same; so it has after a restart in between.
func TestASlowSensorJoinsTheOutage(t *testing.T) {
	all := moistureSensors(5)
	all[4].ExpectEvery = time.Hour
	h := newHealth(t, all...)
	end := noon.Add(48 * time.Hour)
	for now := noon; now.Before(end); now = now.Add(time.Minute) {
		for i := range all {
			if every := map[bool]int{false: 10, true: 60}[i == 4]; (int(now.Sub(noon).Minutes())+2*i)%every == 0 {
				h.Observe(good(all[i].ID, now), now)
			}
		}
		h.Tick(now)
	}
	for now := end; now.Before(end.Add(time.Hour)); now = now.Add(time.Minute) {
		h.Tick(now)
	}
	assert.Equal(t, 4, togetherOf(h.Snapshot(end.Add(time.Hour))))
	again := newHealth(t, all...)
	again.Restore(h.State())
	for now := end.Add(time.Hour); now.Before(end.Add(5 * time.Hour)); now = now.Add(time.Minute) {
		again.Tick(now)
	}
	later := again.Snapshot(end.Add(5 * time.Hour))
	assert.Equal(t, 5, silentOf(later))
	assert.Equal(t, 5, togetherOf(later))
}
