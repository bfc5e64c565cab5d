package daemon

import (
	"sync"
	"time"

	"wickd/ingest/journal"
)

const (
	// diskEvery is how often the room on the disk is noted.
	diskEvery = time.Hour
	// diskDay and diskWeek are the times over which the loss is taken; the larger
	// loss counts. A day finds a log that has begun to run away, a week what is
	// written at night.
	diskDay  = 24 * time.Hour
	diskWeek = 7 * diskDay
)

// disk knows how much room there is where the journal lies, and how fast that
// goes. Before it has seen a day, the journal's own growth since its first
// message counts.
type disk struct {
	free func() (int64, error) // bytes that wickd may still write
	keep time.Duration         // how long the journal keeps messages

	mu   sync.Mutex // guards all below
	seen []roomAt   // an hour apart, the oldest first
	now  roomAt     // the last look; zero: none yet, or it failed
	mean float64    // growth of the journal, bytes a day; 0: none, or not known
}

type roomAt struct {
	at   time.Time
	free int64
}

// look notes the room. What cannot be known is not an error: the journal finds
// out by itself when the disk is full.
func (d *disk) look(now time.Time, s journal.Stats) {
	free, err := d.free()
	d.mu.Lock()
	defer d.mu.Unlock()
	if err != nil {
		d.now = roomAt{}
		return
	}
	d.now, d.mean = roomAt{now, free}, d.growth(s)
	if n := len(d.seen); n > 0 && now.Before(d.seen[n-1].at) {
		d.seen = nil // the clock was set back
	}
	if n := len(d.seen); n == 0 || now.Sub(d.seen[n-1].at) >= diskEvery {
		d.seen = append(d.seen, d.now)
	}
	for len(d.seen) > 1 && now.Sub(d.seen[1].at) >= diskWeek {
		d.seen = d.seen[1:]
	}
}

// growth is the journal's own, in bytes a day, since its first message. The
// hours of a new journal say nothing of a day, and one that has begun to delete
// what is old grows no more.
func (d *disk) growth(s journal.Stats) float64 {
	age := s.LastTime.Sub(s.FirstTime)
	if s.FirstSeq == 0 || age < diskDay || age > d.keep-diskDay {
		return 0
	}
	return float64(s.Bytes) / (age.Hours() / 24)
}

// room is what there is and what it loses a day; false: it is not known.
func (d *disk) room() (free int64, loss float64, known bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	switch {
	case d.now.at.IsZero():
		return 0, 0, false
	case d.now.at.Sub(d.seen[0].at) < diskDay:
		return d.now.free, d.mean, true
	}
	return d.now.free, max(0, d.over(diskDay), d.over(diskWeek)), true
}

// over is the loss over the last span, or over what was seen of it, in bytes a
// day. The worst hour is left out: a large file that is written once does not go
// on. The lock is held.
func (d *disk) over(span time.Duration) float64 {
	var lost, worst int64
	var took, worstTook time.Duration
	before := d.now
	for i := len(d.seen) - 1; i >= 0 && d.now.at.Sub(d.seen[i].at) <= span; i-- {
		drop, dt := d.seen[i].free-before.free, before.at.Sub(d.seen[i].at)
		lost, took, before = lost+drop, took+dt, d.seen[i]
		if drop > worst {
			worst, worstTook = drop, dt
		}
	}
	if took -= worstTook; took <= 0 {
		return 0
	}
	return float64(lost-worst) / (took.Hours() / 24)
}
