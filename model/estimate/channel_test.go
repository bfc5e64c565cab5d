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

// Bags whose probes fell silent have no voice: the others find their channel dry, and
// that it is fed again.
func TestADryChannelUnderSilentProbes(t *testing.T) {
	long(t)
	dry := sim.Fault{Kind: sim.ChannelDry, Subject: "channel/a", Start: after(6).Add(8 * time.Hour), End: after(7).Add(8 * time.Hour)}
	for name, silent := range map[string]time.Time{"long before": after(4.8), "while it was dry": after(7)} {
		s := newScene(t, small(4, 70), 3, dry)
		s.deaf = func(id model.Subject, at time.Time) bool {
			return at.After(silent) && (id == "bag/a1/moisture" || id == "bag/a2/moisture")
		}
		var found, fed time.Time
		s.each = func(e model.Snapshot, _ sim.Truth) {
			switch {
			case e.Channels[0].Dry && found.IsZero():
				found = e.Time
			case !e.Channels[0].Dry && !found.IsZero() && fed.IsZero():
				fed = e.Time
			}
		}
		s.live(days(8))
		assert.WithinDuration(t, dry.Start, found, 8*time.Hour, name)
		assert.WithinDuration(t, dry.End, fed, 12*time.Hour, name)
	}
}

// What was suspected of a supply when a probe fell silent hides no leak for ever.
func TestASilentProbeSuspectsNothing(t *testing.T) {
	r := fresh(t, small(2, 70)).reservoirs[0]
	b := r.bags[0]
	b.begin(after(0))
	b.Cause, b.Spoke = model.CauseWickLostContact, after(0)
	b.Rivals = []rival{{Kind: causeRestored, LLR: 2 * suspected}}
	assert.True(t, r.mending())
	b.roll(after(0.4))
	assert.True(t, r.mending(), "a gateway may keep what it says for hours")
	b.roll(after(0.6))
	assert.False(t, r.mending())
}

// A bag that cannot be read is fed again since the others are, whatever its probe said
// before it fell silent.
func TestAChannelThatIsFedAgainUnderASilentProbe(t *testing.T) {
	e := fresh(t, small(3, 70))
	c := e.channels[0]
	c.Dry, c.Since = true, after(1)
	e.reservoirs[0].begin(after(0))
	for i, b := range c.bags {
		b.begin(after(9))
		b.Cut, b.Spoke = true, after(9)
		b.Rivals = []rival{{Kind: causeRestored, Start: after(8.5), At: after(9), LLR: decisive, From: 500, S: 500}}
		if i == 2 {
			b.Spoke = after(2)
			b.Rivals = []rival{{Kind: causeRestored, Start: after(1.5), At: after(2), LLR: 1, From: 600, S: 600}}
		}
	}
	c.judgeRefilled()
	require.False(t, c.Dry)
	assert.Equal(t, 500.0, c.bags[0].Dried)
	assert.NotEqual(t, 600.0, c.bags[2].Dried)
	assert.False(t, c.bags[2].Cut)
}

// What a bag drank is counted once and whole, whether its rival was carried on to readings
// that were not believed, or it was last read hours ago.
func TestARivalThatTakesOverIsOfNow(t *testing.T) {
	e := fresh(t, small(2, 70))
	for h := range 48 {
		at := after(0).Add(time.Duration(h) * time.Hour)
		e.Observe(model.Reading{Sensor: "bag/a1/moisture", Time: at, Value: 0.45, Verdict: model.Good})
		e.Advance(at)
	}
	b := e.bags[0]
	require.NotEmpty(t, b.Rivals)
	r := b.asIs(b.Base.Time).assume(model.CauseChannelDry)
	later := b.carry(r, b.Base.Time.Add(12*time.Hour))
	require.Less(t, later.S, r.S-50, "cm³")
	before := *b
	for name, takesOver := range map[string]func(){
		"doubted": func() { b.yield(later) },
		"unheard": func() { b.roll(later.At); b.catchUp(); b.yield(r) },
	} {
		*b = before
		takesOver()
		assert.Equal(t, later.At, b.Base.Time, name)
		assert.InDelta(t, later.S, b.Base.X[iStorage], 1e-9, name)
		assert.InDelta(t, r.Booked.Uptake+later.Taken.Uptake, b.Base.Uptake, 1e-9, name)
	}
}

// Nor has it a voice for wicks that clog: what it said before it fell silent would excuse
// its neighbours' for ever.
func TestASilentProbeExcusesNoWicks(t *testing.T) {
	e := fresh(t, small(3, 70))
	c := e.channels[0]
	for i, b := range e.bags {
		b.begin(after(9))
		b.Spoke, b.Keen = after(9), keen{State: b.Base}
		if i == 1 {
			b.Keen.LLR = 2 * keenDecisive
		}
	}
	excuse := func() float64 { return c.others(1, but(c.bags[0]), declining) }
	assert.Greater(t, excuse(), keenDecisive)
	e.bags[1].Spoke = after(2)
	assert.Zero(t, excuse())
}
