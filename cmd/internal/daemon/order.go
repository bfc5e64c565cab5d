package daemon

import (
	"slices"
	"time"

	"wickd/model"
)

// A gateway that comes back, or that hands over what it kept, sends what is measured
// now beside what was measured then, in any order, and to the model what is older than
// what it has seen of a sensor says nothing. Readings with times of their own of a
// sensor that was quiet for long therefore wait until no more of them come, for
// minutes at most, and are taken in the order of their times.
const (
	// orderAfter is the silence after which a sensor's readings wait, orderQuiet how
	// long nothing more of the kind must have come, and orderMost the longest wait: no
	// bag dries in it.
	orderAfter = 30 * time.Minute
	orderQuiet = 30 * time.Second
	orderMost  = 5 * time.Minute
)

// waiting are the readings that wait.
type waiting struct {
	Since, Last time.Time // when the first and the last of them arrived
	Sensors     []model.Subject
	Readings    []model.Reading
}

// takes keeps a reading that arrived with a time of its own, if it has to wait; before
// is when the sensor was last heard.
func (w *waiting) takes(r model.Reading, arrived, before time.Time) bool {
	if !slices.Contains(w.Sensors, r.Sensor) {
		if before.IsZero() || arrived.Sub(before) < orderAfter {
			return false
		}
		w.Sensors = append(w.Sensors, r.Sensor)
	}
	if w.Since.IsZero() {
		w.Since = arrived
	}
	w.Last = arrived
	w.Readings = append(w.Readings, r)
	return true
}

// due says that they have waited for long enough.
func (w *waiting) due(now time.Time) bool {
	return !w.Since.IsZero() && (now.Sub(w.Last) >= orderQuiet || now.Sub(w.Since) >= orderMost)
}

// release gives them in the order of their times; those of one time as they came.
func (w *waiting) release() []model.Reading {
	list := w.Readings
	slices.SortStableFunc(list, func(a, b model.Reading) int { return a.Time.Compare(b.Time) })
	*w = waiting{}
	return list
}
