package estimate

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/model"
	"wickd/model/sim"
)

// litAfterDusk is a house whose lamps give half of the day's light after dusk, and
// whose air nobody measures.
func litAfterDusk() *model.Site {
	s := small(3, 70)
	s.Air = nil
	s.Lamps = &model.Lamps{Radiation: 200, Hours: []model.Hours{{From: 19 * time.Hour, To: time.Hour}}}
	return s
}

func TestLampsThatAreStated(t *testing.T) {
	long(t)
	leaks := func(told *model.Site) (leak bool, drunk, truth float64) {
		s := newScene(t, litAfterDusk(), 4)
		s.e = fresh(t, told)
		var from, to sim.Truth
		var first, last model.Snapshot
		s.each = func(e model.Snapshot, now sim.Truth) {
			leak = leak || e.Reservoirs[0].Cause == model.CauseLeak
			last, to = e, now
			if e.Time.Equal(after(2)) {
				first, from = e, now
			}
		}
		s.live(days(9))
		for i := range last.Bags {
			drunk += last.Bags[i].Uptake - first.Bags[i].Uptake
			truth += to.Bags[i].Uptake - from.Bags[i].Uptake
		}
		return leak, drunk, truth
	}
	leak, drunk, truth := leaks(litAfterDusk())
	assert.False(t, leak)
	assert.InEpsilon(t, truth, drunk, 0.06)
	untold := litAfterDusk()
	untold.Lamps = nil
	leak, drunk, _ = leaks(untold)
	assert.True(t, leak || drunk < 0.85*truth, "or the site file need not state them: %.1f of %.1f L", drunk, truth)
}
