package daemon

import (
	"bytes"
	"context"
	"encoding/json"
	"image/png"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/alerts/notify"
	"wickd/cmd/internal/config"
	"wickd/cmd/internal/web"
	"wickd/ingest"
	"wickd/ingest/journal"
	"wickd/model"
)

func TestLastWeekly(t *testing.T) {
	t.Parallel()
	berlin, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	w := config.Weekly{Day: time.Sunday, At: 18*time.Hour + 30*time.Minute}
	// 2026: summer time begins on Sunday 29 March and ends on Sunday 25 October.
	for now, want := range map[string]string{
		"2026-06-07T18:30": "2026-06-07T18:30", "2026-06-07T18:29": "2026-05-31T18:30", "2026-06-13T23:59": "2026-06-07T18:30",
		"2026-03-29T18:30": "2026-03-29T18:30", "2026-03-29T18:00": "2026-03-22T18:30", "2026-10-25T19:00": "2026-10-25T18:30",
		"2026-01-01T00:00": "2025-12-28T18:30",
	} {
		at, err := time.ParseInLocation("2006-01-02T15:04", now, berlin)
		require.NoError(t, err)
		assert.Equal(t, want, lastWeekly(at.UTC(), berlin, w).Format("2006-01-02T15:04"), now)
	}
}

// weekOf is a daemon with a journal of eight days.
func weekOf(t *testing.T) (d *Daemon, end time.Time) {
	t.Helper()
	end = time.Date(2026, 6, 7, 18, 0, 0, 0, time.UTC)
	file, err := os.ReadFile("testdata/bench.yaml")
	require.NoError(t, err)
	file = append(file, "\nmqtt: {embedded: {listen: \"127.0.0.1:0\"}}\nnotify: {weekly: Sunday 18:00, recipients: {keeper: {url_file: url}, class: {url_file: url, min_priority: high}}}\n"...)
	c, err := config.Parse(filepath.Join(t.TempDir(), "site.yaml"), file)
	require.NoError(t, err)
	now := end.Add(time.Minute)
	d, err = New(Options{Config: c, Data: t.TempDir(), Listen: "127.0.0.1:0", Clock: func() time.Time { return now }, Log: slog.New(slog.DiscardHandler)})
	require.NoError(t, err)
	t.Cleanup(d.Close)
	u := journal.Update{}
	for h := -8 * 24; h <= 0; h++ {
		at := end.Add(time.Duration(h) * time.Hour)
		hours := float64(h + 8*24)
		u.Estimates = append(u.Estimates,
			row(t, at, "bag", "p1", BagRecord{Uptake: hours * 0.1}),
			row(t, at, "bag", "p2", BagRecord{Uptake: restarted(hours)}),
			row(t, at, "reservoir", "tank", ReservoirRecord{EC: ptr(1.8 - hours/1000)}))
	}
	for i, kind := range []model.Change{model.Raised, model.Raised, model.Cleared} {
		u.Transitions = append(u.Transitions, model.Transition{
			Time: end.Add(-time.Duration(i+1) * time.Hour), Occurrence: string(rune('a' + i)), Kind: kind, Suppressed: i == 1,
		})
	}
	require.NoError(t, d.journal.Commit(context.Background(), u))
	return d, end
}

func ptr(v float64) *float64 { return &v }

// restarted is a count of 0.2 L an hour that began afresh in the midst of the
// week.
func restarted(hours float64) float64 {
	if hours >= 100 {
		hours -= 100
	}
	return hours * 0.2
}

func row(t *testing.T, at time.Time, kind, id string, record any) journal.Estimate {
	t.Helper()
	body, err := json.Marshal(record)
	require.NoError(t, err)
	return journal.Estimate{At: at, Kind: kind, ID: id, Body: body}
}

func TestTheDigestOfAWeek(t *testing.T) {
	t.Parallel()
	d, end := weekOf(t)
	week, err := d.week(t.Context(), end, journal.Stats{})
	require.NoError(t, err)
	require.Len(t, week.Drinks, 1)
	assert.Equal(t, 4, week.Drinks[0].Plants)
	// 168 h at 0.1 L/h, and 168 h at 0.2 L/h less the hour of the restart [D].
	assert.InDelta(t, 16.8+0.2*167, week.Drinks[0].Litres, 1e-6)
	require.Len(t, week.Solutions, 1)
	assert.InDelta(t, 1.8-0.024, week.Solutions[0].EC.First, 1e-9)
	assert.InDelta(t, 1.8-0.192, week.Solutions[0].EC.Last, 1e-9)
	assert.Zero(t, week.Solutions[0].PH.Samples)
	assert.Equal(t, 1, week.Raised, "told, of two that were raised")
}

// The digest has a picture of the week, drawn from the journal; an alert about
// the daemon itself has none.
func TestTheDigestHasAPicture(t *testing.T) {
	t.Parallel()
	d, end := weekOf(t)
	img, err := png.Decode(bytes.NewReader(d.picture(t.Context(), notify.Notice{Kind: notify.Digested, Time: end})))
	require.NoError(t, err)
	// A head of 1.85 cm and panels of 5.4 cm on 9 cm: what is left, the EC and the
	// water of the bags, but no pH, which nobody measures.
	assert.InDelta(t, 1.85+3*5.4, 9*float64(img.Bounds().Dy())/float64(img.Bounds().Dx()), 0.05)
	assert.Nil(t, d.picture(t.Context(), notify.Notice{Condition: "broker-lost", Subject: "wickd/broker"}))
}

// It goes out once however often the calendar is looked at, and not for a week
// in which wickd was not there.
func TestTheDigestGoesOutOnce(t *testing.T) {
	t.Parallel()
	d, end := weekOf(t)
	due := func() []journal.Owed {
		list, err := d.journal.Due(t.Context(), end.AddDate(1, 0, 0), 100)
		require.NoError(t, err)
		return list
	}
	require.NoError(t, d.digest(t.Context(), end))
	assert.Empty(t, due(), "before any message had come, there was no week")

	_, err := d.journal.Append(t.Context(), []ingest.Entry{{Message: ingest.Message{Arrived: end.AddDate(0, 0, -9), Topic: "x"}}})
	require.NoError(t, err)
	for range 3 {
		require.NoError(t, d.digest(t.Context(), end))
	}
	list := due()
	require.Len(t, list, 2, "one for each recipient")
	var n notify.Notice
	require.NoError(t, json.Unmarshal(list[0].Body, &n))
	assert.True(t, strings.HasPrefix(n.Message.Headline, "The week: 1 alert"))
	require.NoError(t, d.digest(t.Context(), end.AddDate(0, 0, -7)))
	assert.Len(t, due(), 2, "a week later it is no news")
}

// The past of one figure is found among the rows of all, from any time on.
func TestThePastOfAFigure(t *testing.T) {
	t.Parallel()
	d, end := weekOf(t)
	p := past{d.journal}
	s := web.Series{Kind: "bag", ID: "p1", Value: "uptake_l", SD: "wick_health_sd"}
	for hours, want := range map[int]int{-48: 49, 0: 1, 1: 0, -1000: 193} {
		points, err := p.series(t.Context(), s, end.Add(time.Duration(hours)*time.Hour))
		require.NoError(t, err)
		require.Len(t, points, want, hours)
		if want > 0 {
			assert.InDelta(t, 19.2, points[want-1].Value, 1e-9)
			assert.True(t, points[want-1].Time.Equal(end))
		}
	}
	none, err := p.series(t.Context(), web.Series{Kind: "bag", ID: "p9", Value: "uptake_l"}, end.AddDate(0, 0, -2))
	require.NoError(t, err)
	assert.Empty(t, none)
}
