package daemon

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// Of a reservoir that is empty nothing is forecast, which must not read as one
// that lasts.
func TestRecordOfAnEmptyReservoir(t *testing.T) {
	now := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	record := func(at time.Time) string {
		out, err := json.Marshal(reservoirRecord(model.ReservoirEstimate{Time: now, EmptyAt: &model.Quantiles{P05: &now, P50: &at}}))
		require.NoError(t, err)
		return string(out)
	}
	assert.Contains(t, record(now), `"empty_at":null,"empty":true`)
	later := record(now.Add(time.Hour))
	assert.Contains(t, later, `"empty_at":{"p05":"2026-06-01T12:00:00Z","p50":"2026-06-01T13:00:00Z"`)
	assert.NotContains(t, later, `"empty":`)
}
