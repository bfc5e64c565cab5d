package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// A bucket poured in, and it is empty again: the dry bags have the same cause.
func TestToldCauseComesBack(t *testing.T) {
	r := newRun(t, nil)
	r.last(time.Hour, level(40))
	r.last(8*time.Hour, level(40), water(0, 0.2), water(1, 0.2), water(2, 0.2))
	require.Equal(t, Suppressed, r.e.Status(BagDry, "bag/a1"))
	r.last(2*time.Hour, water(0, 0.2), water(1, 0.2), water(2, 0.2))
	back := brief(r.last(time.Hour, level(40), water(0, 0.2), water(1, 0.2), water(2, 0.2)))
	assert.NotContains(t, back, "raised bag-dry bag/a1")
	assert.Equal(t, Suppressed, r.e.Status(BagDry, "bag/a1"))
}

// An answer is not lost to a cause that comes back.
func TestToldAckLostWhileCauseStands(t *testing.T) {
	r := newRun(t, nil)
	r.answered(3*time.Hour, water(0, 0.2))
	r.last(time.Hour, water(0, 0.2), level(40))
	require.Equal(t, Suppressed, r.e.Status(BagDry, "bag/a1"))
	r.last(4*time.Hour, water(0, 0.2))
	r.last(time.Hour, water(0, 0.2), level(40))
	assert.Equal(t, Suppressed, r.e.Status(BagDry, "bag/a1"))
}

// An alert that is about to end needs no new answer.
func TestToldAckOfWhatIsAboutToEnd(t *testing.T) {
	r := newRun(t, nil)
	r.answered(3*time.Hour, water(0, 0.2))
	r.last(time.Hour, water(0, 0.2), channelIsDry(0))
	// Its time to fill ends within the off-delay.
	var cleared time.Time
	for cleared.IsZero() {
		for _, c := range r.last(time.Minute, water(0, 0.2)) {
			if c.Condition == ChannelDry && c.Kind == "cleared" {
				cleared = r.now
			}
		}
	}
	r.last(cleared.Add(rewetting).Sub(r.now)-5*time.Minute, water(0, 0.2))
	for range 20 {
		r.last(time.Minute)
		if r.e.Status(BagDry, "bag/a1") == ReturnedUnacknowledged || r.e.Status(BagDry, "bag/a1") == Unacknowledged {
			t.Fatal("its answer is lost: ", r.e.Status(BagDry, "bag/a1"))
		}
	}
}

// An alert that was put aside for days stays so when its bag is put aside for an hour.
func TestToldOccurrenceShelf(t *testing.T) {
	r := newRun(t, nil)
	raised := r.last(10*time.Minute, silent(0))
	require.Len(t, raised, 1)
	_, err := r.e.Shelve(r.now, raised[0].Occurrence, r.now.Add(5*24*time.Hour))
	require.NoError(t, err)
	_, err = r.e.Shelve(r.now, "bag/a1", r.now.Add(time.Hour))
	require.NoError(t, err)
	assert.Empty(t, brief(r.last(2*time.Hour, silent(0))))
}

// Over an empty reservoir nothing comes in, whatever the last day brought.
func TestToldOfADryBagOverAnEmptyReservoir(t *testing.T) {
	r := newRun(t, nil)
	short := func(s *model.Snapshot) {
		s.Bags[0].Cause, s.Bags[0].UptakePerDay, s.Bags[0].DemandPerDay = model.CauseDemandHigh, measured(1.4, 0.1), 1.45
	}
	r.last(8*time.Hour, water(0, 0.2), short)
	r.last(time.Hour, water(0, 0.2), short, level(40))
	require.Equal(t, Unacknowledged, r.e.Status(BagDry, "bag/a1"))
	assert.NotContains(t, r.e.records[key{BagDry, "bag/a1"}].Message.Headline, "do not go short")
}
