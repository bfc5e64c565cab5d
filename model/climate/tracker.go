package climate

import (
	"math"
	"time"
)

const (
	// binWidth is the grain of the memory: observations that share ten minutes
	// are averaged.
	binWidth    = 10 * time.Minute
	binsPerHour = int64(time.Hour / binWidth)
)

// Tracker remembers the weather of the last days in bins of ten minutes. The
// zero value is not ready: take one from New. It is not safe for concurrent
// use.
//
// The hours form a ring of whole days, so one hour of the day has fixed places.
// A place is taken over only by a later hour: an observation older than the
// ring is dropped, a late one within it is accepted, and one whose clock is far
// ahead costs a single hour.
type Tracker struct {
	maxAge int64 // bins
	hours  []hour
}

// newTracker remembers whole days and lets a bin speak for maxAge after it
// began.
func newTracker(days int, maxAge time.Duration) *Tracker {
	tr := &Tracker{
		maxAge: int64(maxAge / binWidth),
		hours:  make([]hour, 24*days),
	}
	tr.clear()
	return tr
}

func (tr *Tracker) clear() {
	for i := range tr.hours {
		tr.hours[i] = hour{key: neverHeard}
	}
}

// Observe records what was measured at t, at any pace and with any part NaN:
// sensors that report apart are observed apart. Values no working instrument
// shows are taken as not measured.
func (tr *Tracker) Observe(t time.Time, w Weather) {
	var b bin
	for q, v := range w.columns() {
		if measured(v) {
			b[q] = column{count: 1, sum: v}
		}
	}
	tr.add(binOf(t), b)
}

func (tr *Tracker) add(key int64, b bin) {
	h := tr.place(hourOf(key))
	if b == (bin{}) || h.key > hourOf(key) {
		return
	}
	if h.key < hourOf(key) {
		*h = hour{key: hourOf(key)}
	}
	h.add(floorMod(key, binsPerHour), b)
}

// At returns the weather at t: for each quantity the mean of the bin that
// holds t, or of the latest bin before it that is not too old. What is older
// is NaN.
func (tr *Tracker) At(t time.Time) Weather {
	c := Unmeasured().columns()
	missing := quantities
	newest := binOf(t)
	for key := newest; key >= newest-tr.maxAge && missing > 0; key-- {
		h := tr.place(hourOf(key))
		if h.key != hourOf(key) {
			continue
		}
		for q, col := range h.bins[floorMod(key, binsPerHour)] {
			if col.count > 0 && !measured(c[q]) {
				c[q] = col.mean()
				missing--
			}
		}
	}
	return fromColumns(c)
}

// heardWithin tells whether At may find anything between a and b.
func (tr *Tracker) heardWithin(a, b time.Time) bool {
	last := hourOf(binOf(b))
	for key := hourOf(binOf(a) - tr.maxAge); key <= last; key++ {
		if tr.place(key).key == key {
			return true
		}
	}
	return false
}

// place returns where the hour with a key is kept, whichever hour holds it now.
func (tr *Tracker) place(key int64) *hour {
	return &tr.hours[floorMod(key, int64(len(tr.hours)))]
}

// hour is one hour of the ring.
type hour struct {
	key  int64 // hours since the Unix epoch, or neverHeard
	bins [binsPerHour]bin

	// What the bins come to, kept beside them: means over the bins heard and
	// the extremes of their temperature.
	means    [quantities]column
	max, min float64
}

// bin holds the observations of ten minutes, a column a quantity.
type bin [quantities]column

type column struct {
	count int64
	sum   float64
}

const neverHeard = math.MinInt64

func (c column) mean() float64 {
	if c.count == 0 {
		return math.NaN()
	}
	return c.sum / float64(c.count)
}

func (c *column) include(v float64) {
	c.count++
	c.sum += v
}

func (h *hour) add(at int64, b bin) {
	for q := range quantities {
		h.bins[at][q].count += b[q].count
		h.bins[at][q].sum += b[q].sum
	}
	h.summarise()
}

func (h *hour) summarise() {
	h.means = [quantities]column{}
	h.max, h.min = math.Inf(-1), math.Inf(1)
	for _, b := range h.bins {
		for q, c := range b {
			if c.count > 0 {
				h.means[q].include(c.mean())
			}
		}
		if c := b[temperature]; c.count > 0 {
			h.max, h.min = max(h.max, c.mean()), min(h.min, c.mean())
		}
	}
}
