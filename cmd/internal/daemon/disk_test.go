package daemon

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/ingest/journal"
)

// The loss of a disk in bytes a day, by what happens to its room hour by hour.
func TestWhatADiskLoses(t *testing.T) {
	t.Parallel()
	const gb = 1_000_000_000
	tests := map[string]struct {
		days int
		room func(hour int) int64
		want float64
	}{
		"nothing":               {3, func(int) int64 { return 20 * gb }, 0},
		"steadily":              {3, func(h int) int64 { return 20*gb - int64(h)*gb/24 }, 1 * gb},
		"a file once":           {3, func(h int) int64 { return 20*gb - 8*gb*int64(min(h/60, 1)) }, 0},
		"every night":           {7, func(h int) int64 { return 20*gb - gb*int64((h+12)/24) }, 6. / 7 * gb},
		"room was made":         {3, func(h int) int64 { return 20*gb - int64(h)*gb/24 + 9*gb*int64(min(h/40, 1)) }, 1 * gb},
		"a log that ran away":   {7, func(h int) int64 { return 90*gb - gb*int64(max(0, h-6*24)) }, 24 * gb},
		"logs that are rotated": {5, func(h int) int64 { return 20*gb - int64(h%24)*gb/24 }, 0},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			hour := 0
			d := &disk{free: func() (int64, error) { return tt.room(hour), nil }}
			for hour = range tt.days*24 + 1 {
				d.look(at(float64(hour)), journal.Stats{})
			}
			free, loss, known := d.room()
			assert.True(t, known)
			assert.Equal(t, tt.room(tt.days*24), free)
			assert.InDelta(t, tt.want, loss, 0.01*gb)
		})
	}
}

// Until a day has been seen, the journal's own growth counts, if it has one.
func TestWhatANewDiskLoses(t *testing.T) {
	t.Parallel()
	stats := func(days float64) journal.Stats {
		return journal.Stats{Bytes: 300, FirstSeq: 1, FirstTime: at(-24 * days), LastTime: at(0)}
	}
	for name, tt := range map[string]struct {
		stats journal.Stats
		want  float64
	}{
		"empty": {journal.Stats{}, 0}, "an hour": {stats(1. / 24), 0}, "three days": {stats(3), 100}, "all that is kept": {stats(400), 0},
	} {
		t.Run(name, func(t *testing.T) {
			d := &disk{free: func() (int64, error) { return 1000, nil }, keep: 400 * 24 * time.Hour}
			_, _, known := d.room()
			assert.False(t, known, "nobody has looked")
			d.look(at(0), tt.stats)
			_, loss, _ := d.room()
			assert.InDelta(t, tt.want, loss, 1e-9)
			d.free = func() (int64, error) { return 0, errors.New("no such disk") }
			d.look(at(1), tt.stats)
			_, _, known = d.room()
			assert.False(t, known)
			d.free = func() (int64, error) { return 900, nil }
			d.look(at(-5), tt.stats) // the clock was set back
			_, loss, known = d.room()
			assert.True(t, known)
			assert.InDelta(t, tt.want, loss, 1e-9)
		})
	}
}

func TestTheRoomOnADisk(t *testing.T) {
	t.Parallel()
	free, err := freeAt(t.TempDir())
	assert.NoError(t, err)
	assert.Positive(t, free)
	_, err = freeAt("/no/such/place")
	assert.ErrorContains(t, err, "/no/such/place")
}

// at is some hours into the test.
func at(hours float64) time.Time {
	return time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(hours * float64(time.Hour)))
}
