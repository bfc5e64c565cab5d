package main

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/design"
)

// of is a course of an hour's steps that stays where it is.
func steady(from time.Time, hours int, value float64) *series {
	s := &series{}
	for i := range hours {
		s.at, s.values = append(s.at, from.Add(time.Duration(i)*time.Hour)), append(s.values, value)
	}
	return s
}

// A truth is doubted where most bags are far from it, not where one probe is, and
// not for what nobody measured.
func TestATruthOfAnotherRecordingIsDoubted(t *testing.T) {
	t.Parallel()
	g := galleryOf(49, newChronicle(true))
	for _, id := range []string{"a1", "a2", "a3"} {
		g.story.readings[model.BagSubject(id).Sensor(model.Moisture)] = steady(g.from.Add(10*time.Minute), 48, 0.52)
	}
	doubts := func(water map[string]float64) string {
		g.truth = newTruth()
		for id, v := range water {
			g.truth.water[id] = steady(g.from, 48, v)
		}
		return strings.Join(g.doubts(), "; ")
	}
	assert.Empty(t, doubts(map[string]float64{"a1": 0.5, "a2": 0.55}), "a3 was not measured")
	assert.Empty(t, doubts(map[string]float64{"a1": 0.3, "a2": 0.55, "a3": 0.52}), "the probe of a1 errs, as a truth is to show")
	assert.Equal(t, "the water contents of 2 of 3 bags lie more than 10 % of the volume from their readings most of the time",
		doubts(map[string]float64{"a1": 0.3, "a2": 0.35, "a3": 0.52}))
	assert.Equal(t, "it has 1 bag that is not in the site file, z1", doubts(map[string]float64{"a1": 0.5, "z1": 0.5}))
}

func TestAVolumeOfAnotherRecordingIsDoubted(t *testing.T) {
	t.Parallel()
	g := galleryOf(49, newChronicle(true))
	site := &model.Site{TimeZone: time.UTC, Reservoirs: []model.Reservoir{{ID: "tank", Full: 400, Shape: model.Shape{Kind: model.Box, Length: 1000, Width: 500}}}}
	physics, err := design.Build(site)
	require.NoError(t, err)
	g.site, g.physics, g.truth = site, physics, newTruth()
	for i := range g.story.hours {
		g.story.hours[i].Reservoirs = []model.ReservoirEstimate{{Volume: model.Measured{Value: 150, SD: 1, Quality: model.Fresh}}}
	}
	g.truth.volume = steady(g.from, 48, 155)
	assert.Empty(t, g.doubts())
	g.truth.volume = steady(g.from, 48, 60)
	assert.Equal(t, []string{"the reservoir's volume lies more than 30 L from what its level says most of the time"}, g.doubts())
}

// The user is told, and so is whoever reads the report.
func TestADoubtIsTold(t *testing.T) {
	t.Parallel()
	other := written(t, `{"bags": ["p1", "z9"], "rows": [{"tst": "2026-06-09T08:00:00Z", "theta": [0.5, 0.5]}]}`)
	const want = "hat was so may be of another recording: it has 1 bag that is not in the site file, z9"
	files, complaint := report(t, "UTC", "UTC", "--truth", other)
	assert.Contains(t, complaint, "note: w"+want+"; it is drawn all the same")
	assert.Contains(t, files(reportName), "<strong>W"+want+".")
}
