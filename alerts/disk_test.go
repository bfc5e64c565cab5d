package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/model"
)

// A disk that is full has been told by then; while the journal fails, that alone
// is told, and what is not known of the disk changes nothing.
func TestADiskThatFills(t *testing.T) {
	r := newRun(t, nil)
	unknown := func(s *model.Snapshot) { s.Daemon.DiskKnown = false }
	assert.Empty(t, r.last(9*time.Minute, disk(500e6, 100e6)), "it may be deleted again")
	assert.Equal(t, []string{"raised disk-filling wickd/disk"}, brief(r.last(2*time.Minute, disk(500e6, 100e6))))
	assert.Empty(t, r.last(3*time.Hour, unknown))
	full := func(s *model.Snapshot) { s.Daemon.JournalFailing, s.Daemon.JournalEvidence = true, "the disk is full" }
	assert.Equal(t, []string{"raised journal-failing wickd/journal", "suppressed disk-filling wickd/disk (quiet)"},
		brief(r.last(10*time.Minute, disk(0, 100e6), full)))

	r = newRun(t, nil)
	assert.Equal(t, []string{"raised journal-failing wickd/journal", "raised disk-filling wickd/disk (quiet)"},
		brief(r.last(20*time.Minute, disk(0, 0), full)), "one message says it")
}

func TestBytesReadAsDisksAreSold(t *testing.T) {
	for n, want := range map[int64]string{-1: "0.0 MB", 512_000: "0.5 MB", 9_900_000: "9.9 MB", 420_000_000: "420 MB", 1_250_000_000: "1.2 GB", 31_900_000_000: "32 GB"} {
		assert.Equal(t, want, bytesText(n))
	}
}

// Little room that hardly shrinks is little room, and no date in ten years.
func TestLittleRoomThatHardlyShrinks(t *testing.T) {
	told := newRun(t, nil).last(20*time.Minute, disk(100<<20, 40e3))
	assert.Equal(t, []string{"raised disk-filling wickd/disk"}, brief(told))
	assert.Equal(t, "wickd's disk is almost full: 105 MB left", told[0].Message.Headline)
	assert.Nil(t, told[0].Due)
}

// A forecast needs a loss; ten years ahead nothing is foretold.
func TestHowLongADiskLasts(t *testing.T) {
	for _, h := range []model.DaemonHealth{{}, {DiskFree: 1e9, DiskLoss: 1e6}, {DiskKnown: true, DiskFree: 1e9}, {DiskKnown: true, DiskFree: 1e12, DiskLoss: 1}} {
		_, ok := h.DiskLasts()
		assert.False(t, ok, "%+v", h)
	}
	left, ok := model.DaemonHealth{DiskKnown: true, DiskFree: 1e9, DiskLoss: 1e8}.DiskLasts()
	assert.True(t, ok)
	assert.InDelta(t, 240, left.Hours(), 1e-6)
}
