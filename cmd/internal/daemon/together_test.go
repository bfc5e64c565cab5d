package daemon_test

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// told are the alerts of records that people hear of.
func told(t *testing.T, records string) (heard []string) {
	for line := range strings.Lines(records) {
		var r struct {
			Record, Condition, Subject, Transition string
			Suppressed                             bool
		}
		require.NoError(t, json.Unmarshal([]byte(line), &r))
		if r.Record == "alert" && !r.Suppressed {
			heard = append(heard, r.Transition+" "+r.Condition+" "+r.Subject)
		}
	}
	return heard
}

// within says that a line of a recording is of a time between two hours after its start.
func within(t *testing.T, line []byte, from, to float64) bool {
	var m struct{ TST time.Time }
	require.NoError(t, json.Unmarshal(line, &m))
	h := m.TST.Sub(start).Hours()
	return h >= from && h < to
}

// Four hours without power on a sound day: one alert, and its end.
func TestAPowerCutIsToldOnce(t *testing.T) {
	t.Parallel()
	c := bench(t, embedded)
	var kept []byte
	for line := range bytes.Lines(recording(t, c, 3, 18*time.Hour)) {
		if !within(t, line, 8, 12) {
			kept = append(kept, line...)
		}
	}
	out := replay(t, c, kept)
	assert.Equal(t, []string{"raised sensors-lost wickd/sensors", "cleared sensors-lost wickd/sensors"}, told(t, out))
	assert.Equal(t, len(c.Site.AllSensors()), strings.Count(out, `"condition":"sensor-silent"`)/2, "each is recorded under it")
}
