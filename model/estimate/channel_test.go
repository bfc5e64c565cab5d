package estimate

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
)

// Young plants over a channel without water: a tenth of the wicks' supply would
// keep them wet, and none does not. Read often, a filter lays on the probes what
// falls so slowly.
func TestADryChannelUnderYoungPlants(t *testing.T) {
	long(t)
	for _, seed := range []uint64{1, 3} {
		site := small(3, 70)
		for i := range site.Bags {
			site.Bags[i].Canopy *= 0.35
		}
		dry := sim.Fault{Kind: sim.ChannelDry, Subject: "channel/b", Start: after(4).Add(18 * time.Hour)}
		s := newSceneAt(t, 4*time.Minute, site, seed, dry)
		var known time.Time
		s.each = func(e model.Snapshot, _ sim.Truth) {
			if e.Channels[1].Dry && known.IsZero() {
				known = e.Time
			}
			for _, b := range e.Bags {
				assert.Contains(t, []model.Cause{"", model.CauseChannelDry}, b.Cause, "seed %d: %s at %s", seed, b.Bag, e.Time)
			}
		}
		s.live(days(6))
		require.False(t, known.IsZero(), "seed %d: never known", seed)
		assert.WithinDuration(t, dry.Start, known, 24*time.Hour, "seed %d", seed)
	}
}

// Only a bag that shares its channel can tell a dry one from a lost wick.
func TestWhatIsInQuestion(t *testing.T) {
	alone := newScene(t, small(1, 70), 1).e.channels[0].bags[0]
	assert.Equal(t, []model.Cause{model.CauseWickLostContact}, alone.inQuestion())
	one := newScene(t, small(2, 70), 1).e.channels[0].bags[0]
	assert.Equal(t, []model.Cause{model.CauseWickLostContact, model.CauseChannelDry}, one.inQuestion())
	one.Cause = model.CauseWickLostContact
	assert.Equal(t, []model.Cause{causeRestored}, one.inQuestion())
}
