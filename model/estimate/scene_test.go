package estimate

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/design"
	"wickd/model/sim"
)

// pace of every sensor: slower than most, and quick to simulate.
const pace = 20 * time.Minute

// begin of every simulated site.
var begin = time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)

// small is a site of few bags a channel over a lift, for quick tests.
func small(bags int, lift float64) *model.Site {
	s := sim.DemoSite()
	var kept []model.Bag
	for i := range s.Channels {
		s.Channels[i].Lift = lift
		kept = append(kept, s.Bags[6*i:6*i+bags]...)
	}
	s.Bags = kept
	return s
}

// scene is a simulated site and the estimator that hears its sensors.
type scene struct {
	t     *testing.T
	site  *model.Site
	sim   *sim.Sim
	e     *Estimator
	topic map[string]model.Sensor
	// deaf drops a message before it is heard.
	deaf func(id model.Subject, at time.Time) bool
	// skew is what a sensor adds to its value.
	skew func(r model.Reading) float64
	// each is called after every step.
	each func(s model.Snapshot, truth sim.Truth)
}

func newScene(t *testing.T, site *model.Site, seed uint64, faults ...sim.Fault) *scene {
	t.Helper()
	return newSceneAt(t, pace, site, seed, faults...)
}

func newSceneAt(t *testing.T, pace time.Duration, site *model.Site, seed uint64, faults ...sim.Fault) *scene {
	t.Helper()
	s := &scene{t: t, site: site, topic: map[string]model.Sensor{}, e: fresh(t, site)}
	var err error
	s.sim, err = sim.New(sim.Options{Site: site, Seed: seed, Start: begin, Step: pace, Faults: faults})
	require.NoError(t, err)
	for _, sensor := range site.AllSensors() {
		s.topic[sensor.Topic] = sensor
	}
	return s
}

func fresh(t *testing.T, site *model.Site) *Estimator {
	t.Helper()
	d, err := design.Build(site)
	require.NoError(t, err)
	e, err := New(Options{Design: d})
	require.NoError(t, err)
	return e
}

// reading decodes a bare number into the canonical unit.
func (s *scene) reading(m sim.Message) model.Reading {
	s.t.Helper()
	sensor := s.topic[m.Topic]
	v, err := strconv.ParseFloat(strings.TrimSpace(string(m.Payload)), 64)
	require.NoError(s.t, err)
	if sensor.Unit == "%" {
		v /= 100
	}
	return model.Reading{Sensor: sensor.ID, Time: m.Time, Value: v, Verdict: model.Good}
}

// live runs the site on for a while.
func (s *scene) live(d time.Duration) {
	for end := s.sim.Now().Add(d); s.sim.Now().Before(end); {
		now, messages := s.sim.Advance()
		for _, m := range messages {
			r := s.reading(m)
			if s.skew != nil {
				r.Value += s.skew(r)
			}
			if s.deaf == nil || !s.deaf(r.Sensor, r.Time) {
				s.e.Observe(r)
			}
		}
		s.e.Advance(now)
		if s.each != nil {
			s.each(s.e.Snapshot(now, nil), s.sim.Truth())
		}
	}
	require.NoError(s.t, s.sim.Err())
}

func days(n float64) time.Duration { return time.Duration(n * 24 * float64(time.Hour)) }

// after is a moment of the simulated site.
func after(n float64) time.Time { return begin.Add(days(n)) }

// long marks a test that simulates many days of one goroutine.
func long(t *testing.T) {
	t.Helper()
	if raceDetector {
		t.Skip("one goroutine: runs without the race detector")
	}
}
