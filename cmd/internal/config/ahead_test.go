package config_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
	"wickd/model"
)

// Days of planting and flushing that lie ahead are named with their place, once
// it is before that day everywhere.
func TestDaysAhead(t *testing.T) {
	data := strings.Replace(string(read(t, "testdata/good-services.yaml")), "planted: 2026-04-10", "planted: 2026-04-10\n    flushed: 2026-06-20", 1)
	cfg, err := config.Parse("site.yaml", []byte(data))
	require.NoError(t, err)
	tests := map[string]struct {
		now  time.Time
		want []string
	}{
		"before both":              {time.Date(2026, 4, 1, 12, 0, 0, 0, time.UTC), []string{"planted: 2026-04-10", "flushed: 2026-06-20"}},
		"the day begins somewhere": {time.Date(2026, 4, 9, 10, 0, 0, 0, time.UTC), []string{"flushed: 2026-06-20"}},
		"the evening before":       {time.Date(2026, 4, 9, 9, 59, 0, 0, time.UTC), []string{"planted: 2026-04-10", "flushed: 2026-06-20"}},
		"after both, for long":     {time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC), nil},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			ahead := cfg.Ahead(tt.now)
			require.Len(t, ahead, len(tt.want))
			for i, want := range tt.want {
				assert.Contains(t, ahead[i].String(), want+" lies ahead")
				assert.NotEmpty(t, ahead[i].Hint)
			}
		})
	}
}

// What was measured at the roots of a group holds for each of its bags; half of it is no
// sample, and its day may not lie ahead.
func TestASampleOfTheRoots(t *testing.T) {
	good := string(read(t, "testdata/good-services.yaml"))
	with := func(sample string) (*config.Config, error) {
		return config.Parse("site.yaml", []byte(strings.Replace(good, "planted: 2026-04-10", "planted: 2026-04-10\n    root_zone: "+sample, 1)))
	}
	cfg, err := with("{ec: 3100 uS/cm, measured: 2026-06-18}")
	require.NoError(t, err)
	for _, b := range cfg.Site.Bags {
		assert.Equal(t, model.Pressed{EC: 3.1, At: time.Date(2026, 6, 18, 0, 0, 0, 0, time.UTC)}, b.Pressed, b.ID)
	}
	ahead := cfg.Ahead(time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC))
	require.Len(t, ahead, 1)
	assert.Contains(t, ahead[0].String(), "root_zone.measured: 2026-06-18 lies ahead")

	_, err = with("{ec: 3.1 mS/cm}")
	assert.ErrorContains(t, err, "root_zone.measured")
	_, err = with("{ec: 31 mS/cm, measured: 2026-06-18}")
	assert.ErrorContains(t, err, "root_zone.ec")
}
