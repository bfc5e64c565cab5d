package web_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/expose"
	"wickd/cmd/internal/web"
	"wickd/model"
)

// noon is a Tuesday; the tests' page speaks in a zone two hours ahead of UTC.
var (
	noon = time.Date(2026, 5, 12, 12, 0, 0, 0, time.UTC)
	zone = time.FixedZone("UTC+2", 2*60*60)
)

const occurrence = "bag-drying/bag/a1/1778583600"

func later(d time.Duration) *time.Time {
	t := noon.Add(d)
	return &t
}

func fresh(value, sd float64) model.Measured {
	return model.Measured{Value: value, SD: sd, Time: noon, Age: time.Minute, Quality: model.Fresh}
}

func snapshot() model.Snapshot {
	stale := fresh(0.31, 0.05)
	stale.Quality, stale.Age = model.Stale, 3*time.Hour
	return model.Snapshot{
		Time: noon,
		Bags: []model.BagEstimate{
			{
				Bag: "a1", Channel: "a", WaterContent: fresh(0.51, 0.01), Suction: 20, Uptake: 12.5,
				UptakePerDay: fresh(1.44, 0.1), WickHealth: fresh(0.93, 0.1), DryLimit: 0.25, WetLimit: 0.62,
				Salt: model.Salt{EC: fresh(2.46, 0.31), Limit: 3, Above: 0.04, LimitAt: later(12 * 24 * time.Hour)}, Temperature: fresh(24.3, 0.2),
				DryAt: later(20 * time.Hour), Dry: model.Quantiles{P05: later(14 * time.Hour), P50: later(20 * time.Hour), P95: later(34 * time.Hour)},
			},
			{Bag: "a2", Channel: "a", WaterContent: stale, DryLimit: 0.25, WetLimit: 0.62},
		},
		Channels: []model.ChannelEstimate{{Channel: "a", Reservoir: "tank", Quality: model.Fresh}},
		Reservoirs: []model.ReservoirEstimate{{
			Reservoir: "tank", Level: fresh(250, 2), Volume: fresh(121, 1), DrawPerDay: fresh(14.2, 0.5),
			EC: fresh(1.42, 0.05), PH: fresh(5.8, 0.1), Temperature: fresh(18.5, 0.2),
			EmptyAt: &model.Quantiles{P05: later(48 * time.Hour), P50: later(72 * time.Hour), P95: later(96 * time.Hour)},
		}},
		Sensors: []model.SensorHealth{
			{Sensor: "bag/a1/moisture", LastMessage: noon, LastGood: noon, Expected: 10 * time.Minute, Value: 0.5},
			{Sensor: "bag/a2/moisture", LastMessage: noon.Add(-3 * time.Hour), LastGood: noon.Add(-3 * time.Hour), Silent: true},
		},
	}
}

func alerts() []expose.AlertState {
	low := expose.AlertState{
		Occurrence: "sensor-silent/bag/a2/moisture/1", Condition: "sensor-silent", Subject: "bag/a2/moisture",
		Priority: model.PriorityLow, State: "acknowledged", Since: noon.Add(-2 * time.Hour),
		Message: model.Message{Headline: "The moisture probe of a2 is silent"},
	}
	high := expose.AlertState{
		Occurrence: occurrence, Condition: "bag-drying", Subject: "bag/a1",
		Priority: model.PriorityHigh, State: "unacknowledged", Since: noon.Add(-time.Hour), Due: later(20 * time.Hour),
		Message: model.Message{
			Headline: "Bag a1 will be dry tomorrow at 10:00", Why: "Its wicks lift less than the plants drink.",
			Action: "Look at the wicks of a1.", Caution: "Caution: wear gloves.",
		},
	}
	shelved := expose.AlertState{
		Occurrence: "x", Condition: "ec-off-target", Subject: "reservoir/tank", Priority: model.PriorityMedium,
		State: "shelved", Since: noon.Add(-time.Hour), Until: later(24 * time.Hour),
		Message: model.Message{Headline: "The EC of tank is too high"},
	}
	return []expose.AlertState{low, high, shelved}
}

func options() web.Options {
	return web.Options{
		Listen: "127.0.0.1:0", SiteName: "Kestrel Yard", TimeZone: zone, Version: "1.2.3",
		Registry: prometheus.NewPedanticRegistry(),
		Snapshot: snapshot, Alerts: alerts,
		Now: func() time.Time { return noon },
		Site: &model.Site{
			Name: "Kestrel Yard", Reservoirs: []model.Reservoir{{ID: "tank"}}, Channels: []model.Channel{{ID: "a", Reservoir: "tank"}},
			Bags: []model.Bag{{ID: "a1", Channel: "a"}, {ID: "a2", Channel: "a"}},
		},
	}
}

func newServer(t *testing.T, change func(*web.Options)) *web.Server {
	t.Helper()
	o := options()
	if change != nil {
		change(&o)
	}
	s, err := web.New(o)
	require.NoError(t, err)
	return s
}

func get(t *testing.T, s *web.Server, path string) *httptest.ResponseRecorder {
	t.Helper()
	w := httptest.NewRecorder()
	s.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	return w
}

// local is a POST as a command on the same machine sends it.
func local(path, body string) *http.Request {
	r := httptest.NewRequest(http.MethodPost, "http://127.0.0.1:9920"+path, strings.NewReader(body))
	r.RemoteAddr = "127.0.0.1:50000"
	r.Header.Set("Content-Type", "application/json")
	return r
}

// operator notes what it is told; only one occurrence is open.
type operator struct {
	mu   sync.Mutex
	told []string
	fail error
}

func (o *operator) Acknowledge(_ context.Context, occurrence, by string) error {
	return o.note(occurrence, "acknowledged by "+by)
}

func (o *operator) Shelve(_ context.Context, occurrence string, until time.Time) error {
	return o.note(occurrence, "shelved until "+until.UTC().Format(time.RFC3339))
}

func (o *operator) Unshelve(_ context.Context, occurrence string) error {
	return o.note(occurrence, "taken up")
}

func (o *operator) note(id, what string) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.fail != nil {
		return o.fail
	}
	if id != occurrence {
		return fmt.Errorf("acknowledge %q: %w", id, web.ErrNoAlert)
	}
	o.told = append(o.told, what)
	return nil
}

func (o *operator) heard() []string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return append([]string(nil), o.told...)
}
