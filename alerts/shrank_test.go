package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// An outage that stood when the site file came to name fewer sensors ends.
func TestAnOutageOfASiteThatShrank(t *testing.T) {
	site := &model.Site{TimeZone: time.UTC}
	e, err := New(Options{Site: site})
	require.NoError(t, err)
	at := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	s := OutageSubject(3)
	k := key{SensorsLost, s}
	e.records[k] = &record{Condition: SensorsLost, Subject: s, Active: true, Announced: true, Raised: at, Since: at}
	e.last = at
	for i := range 60 * 24 {
		e.Step(at.Add(time.Duration(i)*time.Minute), model.Snapshot{})
	}
	assert.NotEqual(t, Unacknowledged, e.Status(SensorsLost, s))
}
