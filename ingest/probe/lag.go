package probe

import (
	"time"

	"wickd/model"
)

// A clock that was set to a local time, or never, and a payload that says nothing of
// its zone, date every reading hours back. Each by itself might be one that a gateway
// kept, and is believed; but what was kept comes with times that approach the present,
// a batch at once, while a wrong clock lags by the same with every message.

const (
	// leastLag is the least that counts: a sensor that sends the mean of the last hour
	// may date it at the hour's beginning. It is less than what an estimate goes on
	// without readings (three hours).
	leastLag = 2 * time.Hour
	// sameLag is by how much lags may differ that are one: the delivery.
	sameLag = time.Minute
	// steadyLag is how many messages in a row have to lag by the same, each by itself:
	// sameRush parts those of a batch.
	steadyLag = 5
	sameRush  = 20 * time.Second
)

// Lag is by how much the times of a sensor's readings lie behind their arrival.
type Lag struct {
	By   time.Duration `json:"by,omitempty"`
	At   time.Time     `json:"at,omitzero"` // when the last one arrived
	Same int           `json:"same,omitempty"`
	// Dated says that readings of the sensor carry times of their own.
	Dated bool `json:"dated,omitempty"`
}

// hear takes the next reading.
func (l *Lag) hear(r model.Reading, arrived time.Time) {
	if r.Reconstructed {
		return
	}
	by := arrived.Sub(r.Time)
	l.Dated = l.Dated || by != 0
	same := (by - l.By).Abs() <= sameLag
	switch {
	case by < leastLag || !same:
		l.Same = 0
	case arrived.Sub(l.At) >= sameRush:
		l.Same++
	}
	l.By, l.At = by, arrived.UTC()
}

// behind is by how much the sensor's clock is; 0: it is not.
func (l *Lag) behind() time.Duration {
	if l.Same < steadyLag {
		return 0
	}
	return l.By
}
