package probe

import (
	"time"

	"wickd/model"
)

// A clock that was set to a local time, or never, dates every reading hours back. Each
// by itself might be one that a gateway kept, and is believed; but what was kept comes
// with times that approach the present faster than the present goes on, and ends
// there, while a wrong clock lags by the same for ever.

const (
	// leastLag is the least that counts: a sensor that sends the mean of the last hour
	// may date it at the hour's beginning. It is less than what an estimate goes on
	// without readings (three hours).
	leastLag = 2 * time.Hour
	// lagWindow is over what time the newest of the readings counts, for a message may
	// hold several, and sameLag by how much lags may differ that are one: times that are
	// cut to five minutes, and the delivery.
	lagWindow = 5 * time.Minute
	sameLag   = 10 * time.Minute
	// steadyLag is how many windows in a row have to lag by the same.
	steadyLag = 5
)

// Lag is by how much the times of a sensor's readings lie behind their arrival.
type Lag struct {
	// Dated says that readings of the sensor carry times of their own.
	Dated bool `json:"dated,omitempty"`

	Opened time.Time     `json:"opened,omitzero"` // when the window under way began; zero: the last reading was no late one
	Least  time.Duration `json:"least,omitempty"` // in that window
	First  time.Duration `json:"first,omitempty"` // with which the windows in a row agree
	By     time.Duration `json:"by,omitempty"`    // least of the last window
	Same   int           `json:"same,omitempty"`  // windows in a row
}

// hear takes the next reading.
func (l *Lag) hear(r model.Reading, arrived time.Time) {
	if r.Reconstructed {
		return
	}
	by := arrived.Sub(r.Time)
	l.Dated = l.Dated || by != 0
	switch {
	case by < leastLag:
		*l = Lag{Dated: l.Dated}
		return
	case !l.Opened.IsZero() && arrived.Sub(l.Opened) < lagWindow:
		l.Least = min(l.Least, by)
		return
	case !l.Opened.IsZero():
		l.close()
	}
	l.Opened, l.Least = arrived.UTC(), by
}

// close ends a window.
func (l *Lag) close() {
	l.By = l.Least
	switch same := (l.By - l.First).Abs() <= sameLag; {
	case l.Same == 0 || !same:
		l.First, l.Same = l.By, 1
	case l.behind() > 0:
		l.First = l.By // it drifts
	default:
		l.Same++
	}
}

// behind is by how much the sensor's clock is; 0: it is not.
func (l *Lag) behind() time.Duration {
	if l.Same < steadyLag {
		return 0
	}
	return l.By
}

// right is the time of a reading by a clock that is not behind.
func (l *Lag) right(r model.Reading, arrived time.Time) time.Time {
	at := r.Time.Add(l.behind()).UTC()
	if at.After(arrived) {
		return arrived.UTC()
	}
	return at
}
