package estimate

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/model"
)

// What a figure rests on, by the age of what its sensor last told and by its health.
func TestFreshness(t *testing.T) {
	last := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	for name, tt := range map[string]struct {
		age    time.Duration
		sensor *model.SensorHealth
		want   model.Quality
	}{
		"of now":              {0, nil, model.Fresh},
		"as old as it may be": {staleAfter, &model.SensorHealth{}, model.Fresh},
		"older":               {staleAfter + 1, nil, model.Stale},
		"silent":              {0, &model.SensorHealth{Silent: true}, model.Stale},
		"stuck":               {0, &model.SensorHealth{Stuck: true}, model.Stale},
		"at odds with others": {0, &model.SensorHealth{Implausible: true}, model.Fresh},
	} {
		got, age := freshness(last.Add(tt.age), last, tt.sensor)
		assert.Equal(t, tt.want, got, name)
		assert.Equal(t, tt.age, age, name)
	}
	got, age := freshness(last, time.Time{}, nil)
	assert.Equal(t, model.Unknown, got)
	assert.Zero(t, age)
}
