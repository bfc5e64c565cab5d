package expose_test

import (
	"math"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/expose"
	"wickd/model"
)

func registry(t *testing.T, o expose.Options) *prometheus.Registry {
	t.Helper()
	c, err := expose.NewCollector(o)
	require.NoError(t, err)
	r := prometheus.NewPedanticRegistry()
	require.NoError(t, r.Register(c))
	return r
}

// The values are the fixture's in base units: 2.592 L/d is 3e-5 L/s (1 d is
// 86400 s), 25 cm of water 2451.6625 Pa (1 cmH₂O is 98.0665 Pa by definition),
// 1.5 mS/cm 0.15 S/m, 250 mm 0.25 m.
func TestASnapshotInBaseUnits(t *testing.T) {
	r := registry(t, expose.Options{Snapshot: snapshot, Alerts: alerts})
	tests := map[string]string{
		"wickd_bag_water_content_ratio": `
# HELP wickd_bag_water_content_ratio Mean volumetric water content of the bag.
# TYPE wickd_bag_water_content_ratio gauge
wickd_bag_water_content_ratio{bag="a1",channel="a"} 0.51
wickd_bag_water_content_ratio{bag="a2",channel="a"} 0.51
`,
		"wickd_bag_water_content_standard_deviation_ratio": `
# HELP wickd_bag_water_content_standard_deviation_ratio Standard deviation of: Mean volumetric water content of the bag.
# TYPE wickd_bag_water_content_standard_deviation_ratio gauge
wickd_bag_water_content_standard_deviation_ratio{bag="a1",channel="a"} 0.01
wickd_bag_water_content_standard_deviation_ratio{bag="a2",channel="a"} 0.01
`,
		"wickd_bag_uptake_liters_total": `
# HELP wickd_bag_uptake_liters_total Water taken by the plants since the start.
# TYPE wickd_bag_uptake_liters_total counter
wickd_bag_uptake_liters_total{bag="a1",channel="a"} 12.5
wickd_bag_uptake_liters_total{bag="a2",channel="a"} 12.5
`,
		"wickd_bag_uptake_liters_per_second": `
# HELP wickd_bag_uptake_liters_per_second Water taken by the plants, mean of the last 24 h.
# TYPE wickd_bag_uptake_liters_per_second gauge
wickd_bag_uptake_liters_per_second{bag="a1",channel="a"} 3e-05
wickd_bag_uptake_liters_per_second{bag="a2",channel="a"} 3e-05
`,
		"wickd_bag_suction_pascals": `
# HELP wickd_bag_suction_pascals Suction at the bag's base; negative above atmospheric.
# TYPE wickd_bag_suction_pascals gauge
wickd_bag_suction_pascals{bag="a1",channel="a"} 2451.6625
wickd_bag_suction_pascals{bag="a2",channel="a"} 2451.6625
`,
		"wickd_reservoir_electrical_conductivity_siemens_per_meter": `
# HELP wickd_reservoir_electrical_conductivity_siemens_per_meter Electrical conductivity of the solution at 25 °C (0.1 is 1 mS/cm).
# TYPE wickd_reservoir_electrical_conductivity_siemens_per_meter gauge
wickd_reservoir_electrical_conductivity_siemens_per_meter{reservoir="tank"} 0.15
`,
		"wickd_reservoir_level_meters": `
# HELP wickd_reservoir_level_meters Height of the solution above the reservoir's floor.
# TYPE wickd_reservoir_level_meters gauge
wickd_reservoir_level_meters{reservoir="tank"} 0.25
`,
		"wickd_reservoir_empty_timestamp_seconds": `
# HELP wickd_reservoir_empty_timestamp_seconds When the reservoir is forecast to be empty, by the probability that it is by then. Absent beyond the horizon.
# TYPE wickd_reservoir_empty_timestamp_seconds gauge
wickd_reservoir_empty_timestamp_seconds{probability="0.05",reservoir="tank"} 1.77876e+09
wickd_reservoir_empty_timestamp_seconds{probability="0.5",reservoir="tank"} 1.7788464e+09
wickd_reservoir_empty_timestamp_seconds{probability="0.95",reservoir="tank"} 1.7789328e+09
`,
		"wickd_sensor_last_reading_timestamp_seconds": `
# HELP wickd_sensor_last_reading_timestamp_seconds When the last good reading was taken. Absent: never.
# TYPE wickd_sensor_last_reading_timestamp_seconds gauge
wickd_sensor_last_reading_timestamp_seconds{sensor="bag/a1/moisture"} 1.7785869e+09
`,
		"wickd_sensor_refused_readings_total": `
# HELP wickd_sensor_refused_readings_total Readings that were not used as evidence, by reason.
# TYPE wickd_sensor_refused_readings_total counter
wickd_sensor_refused_readings_total{reason="jump",sensor="bag/a1/moisture"} 3
wickd_sensor_refused_readings_total{reason="out-of-range",sensor="bag/a1/moisture"} 1
`,
		"wickd_alert_active": `
# HELP wickd_alert_active Whether an alert is open (1), by its state. Absent once it is back to normal.
# TYPE wickd_alert_active gauge
wickd_alert_active{condition="bag-drying",priority="high",state="unacknowledged",subject="bag/a1"} 1
`,
		"wickd_forward_behind_seconds": `
# HELP wickd_forward_behind_seconds Age of the oldest reading that is not yet in the time-series database.
# TYPE wickd_forward_behind_seconds gauge
wickd_forward_behind_seconds 90
`,
	}
	for name, want := range tests {
		t.Run(name, func(t *testing.T) {
			assert.NoError(t, testutil.GatherAndCompare(r, strings.NewReader(want), name))
		})
	}
}

// The forecast of the bag has no 95 % point: beyond the horizon there is no
// series, rather than a far or a zero time.
func TestAForecastBeyondTheHorizonHasNoSeries(t *testing.T) {
	r := registry(t, expose.Options{Snapshot: func() model.Snapshot {
		s := snapshot()
		s.Bags = s.Bags[:1]
		return s
	}})
	n, err := testutil.GatherAndCount(r, "wickd_bag_dry_timestamp_seconds")
	require.NoError(t, err)
	assert.Equal(t, 2, n)
}

func TestABagThatIsGoneDisappears(t *testing.T) {
	now := snapshot()
	r := registry(t, expose.Options{Snapshot: func() model.Snapshot { return now }})
	require.NotEmpty(t, seriesOf(t, r, "bag", "a2"))

	now.Bags = now.Bags[:1]
	assert.Empty(t, seriesOf(t, r, "bag", "a2"))
	assert.Empty(t, seriesOf(t, r, "subject", "bag/a2"))
	assert.NotEmpty(t, seriesOf(t, r, "bag", "a1"))
}

func TestAnAlertThatIsBackToNormalDisappears(t *testing.T) {
	open := alerts()
	r := registry(t, expose.Options{Snapshot: snapshot, Alerts: func() []expose.AlertState { return open }})
	require.Len(t, seriesOf(t, r, "condition", "bag-drying"), 2)
	open = nil
	assert.Empty(t, seriesOf(t, r, "condition", "bag-drying"))
}

func TestWhatIsNotKnownHasNoSeries(t *testing.T) {
	s := snapshot()
	s.Bags = s.Bags[:1]
	s.Bags[0].WaterContent = model.Measured{Quality: model.Unknown}
	s.Bags[0].WickHealth.Value = math.NaN()
	s.Bags[0].SupplyAtLimit = math.Inf(1)
	r := registry(t, expose.Options{Snapshot: func() model.Snapshot { return s }})

	for _, name := range []string{
		"wickd_bag_water_content_ratio", "wickd_bag_wick_health_ratio",
		"wickd_bag_supply_limit_liters_per_second", "wickd_bag_suction_pascals",
	} {
		n, err := testutil.GatherAndCount(r, name)
		require.NoError(t, err)
		assert.Zero(t, n, name)
	}
	assert.Contains(t, seriesOf(t, r, "quality", "unknown"),
		`wickd_estimate_quality{figure="bag_water_content",quality="unknown",subject="bag/a1"} 1`)
}

// Before the first snapshot there is nothing to say of the site, but a broker
// that was never there or a full disk must not wait for a reading.
func TestBeforeTheFirstSnapshotThereIsOnlyTheDaemonsHealth(t *testing.T) {
	r := registry(t, expose.Options{Snapshot: func() model.Snapshot {
		return model.Snapshot{Daemon: model.DaemonHealth{JournalFailing: true}}
	}})
	families, err := r.Gather()
	require.NoError(t, err)
	var names []string
	for _, f := range families {
		names = append(names, f.GetName())
	}
	assert.Equal(t, []string{
		"wickd_broker_connected", "wickd_broker_dropped_messages_total", "wickd_clock_wrong",
		"wickd_forward_behind_seconds", "wickd_forward_pending_rows", "wickd_journal_failing",
	}, names)
}

// Two occurrences of one alert would be two equal series, and that would fail
// the scrape of everything else.
func TestTheSameAlertTwiceDoesNotFailTheScrape(t *testing.T) {
	r := registry(t, expose.Options{Snapshot: snapshot, Alerts: func() []expose.AlertState {
		return append(alerts(), alerts()...)
	}})
	n, err := testutil.GatherAndCount(r, "wickd_alert_active")
	require.NoError(t, err)
	assert.Equal(t, 1, n)
}

func TestScrapesRunTogetherWithChanges(t *testing.T) {
	var current atomic.Pointer[model.Snapshot]
	first := snapshot()
	current.Store(&first)
	r := registry(t, expose.Options{Snapshot: func() model.Snapshot { return *current.Load() }, Alerts: alerts})

	var scrapers sync.WaitGroup
	for range 4 {
		scrapers.Go(func() {
			for range 25 {
				_, err := r.Gather()
				assert.NoError(t, err)
			}
		})
	}
	for i := range 100 {
		next := snapshot()
		next.Time = noon.Add(time.Duration(i) * time.Minute)
		next.Bags = next.Bags[:i%3]
		current.Store(&next)
	}
	scrapers.Wait()
}

func TestACollectorNeedsASnapshot(t *testing.T) {
	_, err := expose.NewCollector(expose.Options{})
	assert.ErrorContains(t, err, "Snapshot")
}
