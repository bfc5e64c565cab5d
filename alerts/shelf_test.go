package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A probe that is put aside for days stays so when its bag is put aside for an hour, and
// when the bag is taken up again.
func TestAProbesOwnShelfOutlastsThatOfItsBag(t *testing.T) {
	for name, after := range map[string]func(r *run) error{
		"ran out": func(*run) error { return nil },
		"taken up": func(r *run) error {
			_, err := r.e.Unshelve(r.now, "bag/a1")
			return err
		},
	} {
		r := newRun(t, nil)
		require.Equal(t, []string{"raised sensor-silent bag/a1/moisture"}, brief(r.last(10*time.Minute, silent(0))))
		probe, err := r.e.Shelve(r.now, "bag/a1/moisture", r.now.Add(5*24*time.Hour))
		require.NoError(t, err)
		require.Len(t, probe, 1)
		_, err = r.e.Shelve(r.now, "bag/a1", r.now.Add(time.Hour))
		require.NoError(t, err)
		require.NoError(t, after(r))
		assert.Empty(t, brief(r.last(2*time.Hour, silent(0))), name)
		require.Len(t, r.e.Shelves(), 1)
		assert.Equal(t, Shelved, r.e.Status(SensorSilent, "bag/a1/moisture"), name)
	}
}
