package expose_test

import (
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/expose"
	"wickd/model"
)

// What only some bags have is exposed for those alone. 2.5 mS/cm is 0.25 S/m.
func TestRootsAreExposedWhereTheyAreKnown(t *testing.T) {
	s := snapshot()
	s.Bags[0].Salt = model.Salt{EC: measured(2.5, 0.5), Limit: 3, Above: 0.16, LimitAt: later(time.Hour)}
	s.Bags[1].Temperature = measured(31.5, 0.2)
	r := registry(t, expose.Options{Snapshot: func() model.Snapshot { return s }})
	for name, want := range map[string]string{
		"wickd_bag_salt_electrical_conductivity_siemens_per_meter": `
# HELP wickd_bag_salt_electrical_conductivity_siemens_per_meter Estimated electrical conductivity of the water in the root zone at 25 °C.
# TYPE wickd_bag_salt_electrical_conductivity_siemens_per_meter gauge
wickd_bag_salt_electrical_conductivity_siemens_per_meter{bag="a1",channel="a"} 0.25
`,
		"wickd_bag_salt_limit_siemens_per_meter": `
# HELP wickd_bag_salt_limit_siemens_per_meter Electrical conductivity that the crop bears in the root zone.
# TYPE wickd_bag_salt_limit_siemens_per_meter gauge
wickd_bag_salt_limit_siemens_per_meter{bag="a1",channel="a"} 0.3
`,
		"wickd_bag_salt_limit_timestamp_seconds": `
# HELP wickd_bag_salt_limit_timestamp_seconds When the salt in the root zone reaches what the crop bears, at the course of the last day. Absent when it does not within a year.
# TYPE wickd_bag_salt_limit_timestamp_seconds gauge
wickd_bag_salt_limit_timestamp_seconds{bag="a1",channel="a"} 1.7785908e+09
`,
		"wickd_bag_root_temperature_celsius": `
# HELP wickd_bag_root_temperature_celsius Temperature of the root zone.
# TYPE wickd_bag_root_temperature_celsius gauge
wickd_bag_root_temperature_celsius{bag="a2",channel="a"} 31.5
`,
	} {
		require.NoError(t, testutil.GatherAndCompare(r, strings.NewReader(want), name))
	}
}

// A reason is exposed while it holds and is gone when it does not.
func TestReasonsOfTheSolution(t *testing.T) {
	s := snapshot()
	r := registry(t, expose.Options{Snapshot: func() model.Snapshot { return s }})
	count := func() int {
		n, err := testutil.GatherAndCount(r, "wickd_reservoir_solution_diagnosis")
		require.NoError(t, err)
		return n
	}
	assert.Zero(t, count())
	s.Reservoirs[0].ECCourse.Cause = model.CauseWaterOverFeed
	s.Reservoirs[0].Poured = &model.Poured{Cause: model.CauseWrongRefill}
	assert.Equal(t, 2, count())
	assert.Len(t, seriesOf(t, r, "cause", "wrong-refill"), 1)
	s.Reservoirs[0].Poured = &model.Poured{} // it was right
	assert.Equal(t, 1, count())
}
