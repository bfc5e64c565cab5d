package forward

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"math"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/influxdata/influxdb-client-go/v2/api/write"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/ingest/journal"
	"wickd/model"
)

var _ Source = (*journal.Journal)(nil)
var _ Cursors = (*journal.Journal)(nil)

var start = time.Date(2026, 6, 1, 6, 0, 0, 0, time.UTC)

func openJournal(t *testing.T) *journal.Journal {
	t.Helper()
	j, err := journal.Open(journal.Options{Dir: t.TempDir()})
	require.NoError(t, err)
	t.Cleanup(func() { _ = j.Close(context.Background()) })
	return j
}

// fill journals messages n, n+1, … of one bag's probe.
func fill(t *testing.T, j *journal.Journal, from, n int, value func(int) float64) {
	t.Helper()
	list := make([]ingest.Entry, n)
	for i := range list {
		at := start.Add(time.Duration(from+i) * time.Second)
		list[i] = ingest.Entry{
			Message: ingest.Message{Arrived: at, Topic: "yard/a4"},
			Readings: []model.Reading{
				{Sensor: "bag/a4/moisture", Time: at, Value: value(from + i), Verdict: model.Good, Reconstructed: i%2 == 1},
				{Sensor: "reservoir/tank/ec", Time: at, Value: 1.4, Verdict: model.OutOfRange},
			},
		}
	}
	_, err := j.Append(context.Background(), list)
	require.NoError(t, err)
}

func steady(int) float64 { return 0.52 }

// logs collects what is logged.
type logs struct {
	mu  sync.Mutex
	out bytes.Buffer
}

func (l *logs) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.out.Write(p)
}

func (l *logs) count(text string) int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return strings.Count(l.out.String(), text)
}

// runForwarder runs one until the end of the test or until stop is called.
func runForwarder(t *testing.T, j *journal.Journal, addr string, change func(*Options)) (f *Forwarder, log *logs, stop func()) {
	t.Helper()
	log = &logs{}
	opts := Options{
		URL: "http://" + addr, Bucket: "yard/autogen", Token: "user:quince",
		Cursors: j, Streams: []Stream{Readings(j)}, Batch: 100,
		Interval: 10 * time.Millisecond, MaxDelay: 200 * time.Millisecond,
		Log: slog.New(slog.NewTextHandler(log, nil)),
	}
	if change != nil {
		change(&opts)
	}
	f, err := New(opts)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- f.Run(ctx) }()
	stop = sync.OnceFunc(func() {
		cancel()
		assert.NoError(t, <-done)
	})
	t.Cleanup(stop)
	return f, log, stop
}

func caughtUp(t *testing.T, j *journal.Journal) {
	t.Helper()
	require.Eventually(t, func() bool {
		last, _, err := j.Last(context.Background())
		require.NoError(t, err)
		at, err := j.Cursor(context.Background(), ReadingsCursor)
		require.NoError(t, err)
		return at == last
	}, 60*time.Second, 10*time.Millisecond)
}

func TestAnOutageLosesNothing(t *testing.T) {
	s := startServer(t)
	s.query("CREATE DATABASE yard")
	j := openJournal(t)
	f, log, stop := runForwarder(t, j, s.addr, nil)
	const rows = 3000
	var writer sync.WaitGroup
	writer.Add(1)
	go func() { // readings keep coming all the time
		defer writer.Done()
		for n := 0; n < rows; n += 50 {
			fill(t, j, n, 50, steady)
			time.Sleep(10 * time.Millisecond)
		}
	}()
	require.Eventually(t, func() bool { return f.Stats().Points > 100 }, 30*time.Second, time.Millisecond)
	s.stop()
	require.Eventually(t, func() bool { return f.Stats().Holds > 1 }, 30*time.Second, time.Millisecond)
	behind, pending := f.Behind()
	assert.Positive(t, behind)
	assert.Positive(t, pending)
	stop() // the daemon is restarted too, in the midst of it
	f, log2, _ := runForwarder(t, j, s.addr, nil)
	require.Eventually(t, func() bool { return f.Stats().Held != "" }, 30*time.Second, time.Millisecond)
	writer.Wait()
	s.start()
	caughtUp(t, j)
	assert.Equal(t, 2*rows, s.count("reading"), "rows in, rows out")
	require.Eventually(t, func() bool { _, n := f.Behind(); return n == 0 }, 10*time.Second, time.Millisecond)
	assert.Zero(t, f.Stats().Refused)
	said := log.count("is held")
	assert.Positive(t, said)
	assert.LessOrEqual(t, said, 3, "said when the reason changes, not at each attempt")
	assert.Equal(t, 1, log2.count("InfluxDB goes on"))
}

func TestWhatIsStored(t *testing.T) {
	s := startServer(t)
	s.query("CREATE DATABASE yard")
	j := openJournal(t)
	fill(t, j, 0, 2, steady)
	runForwarder(t, j, s.addr, nil)
	caughtUp(t, j)
	rows := s.query(`SELECT "value", "sensor", "owner", "quantity", "verdict", "reconstructed" FROM "reading" WHERE "quantity" = 'moisture'`)
	assert.Equal(t, [][]any{
		{"2026-06-01T06:00:00Z", 0.52, "bag/a4/moisture", "bag/a4", "moisture", "good", nil},
		{"2026-06-01T06:00:01Z", 0.52, "bag/a4/moisture", "bag/a4", "moisture", "good", "true"},
	}, rows)
	assert.Equal(t, [][]any{{"value", "float"}}, s.query(`SHOW FIELD KEYS FROM "reading"`))
}

// Two readings of one second by the sensor's own clock are two points, also when
// the same rows are sent again after a crash.
func TestReadingsOfOneTimeAreKeptApart(t *testing.T) {
	s := startServer(t)
	s.query("CREATE DATABASE yard")
	j := openJournal(t)
	reading := func(sensor model.Subject, at time.Time, value float64) model.Reading {
		return model.Reading{Sensor: sensor, Time: at, Value: value, Verdict: model.Good}
	}
	at := func(n int) time.Time { return start.Add(time.Hour + time.Duration(n)*time.Second) }
	var list []ingest.Entry
	for n, values := range [][]float64{{0.50}, {0.51}, {0.51}, {0.52, 0.53}} {
		e := ingest.Entry{Message: ingest.Message{Arrived: at(n), Topic: "yard/a4"}}
		for _, v := range values {
			e.Readings = append(e.Readings, reading("bag/a4/moisture", start, v))
		}
		list = append(list, e)
	}
	list = append(list, ingest.Entry{
		Message:  ingest.Message{Arrived: at(9), Topic: "yard/a5"},
		Readings: []model.Reading{reading("bag/a5/moisture", at(9), 0.4), reading("bag/a5/moisture", at(9), 0.5)},
	})
	_, err := j.Append(t.Context(), list)
	require.NoError(t, err)
	runForwarder(t, j, s.addr, nil)
	caughtUp(t, j)
	require.NoError(t, j.SetCursor(t.Context(), ReadingsCursor, 0))
	caughtUp(t, j)
	values := func(bag string) (values []any) {
		for _, row := range s.query(`SELECT "value" FROM "reading" WHERE "owner" = '` + bag + `'`) {
			values = append(values, row[1])
		}
		return values
	}
	assert.Equal(t, []any{0.50, 0.51, 0.51, 0.52, 0.53}, values("bag/a4"), "in the order of the journal")
	assert.Equal(t, []any{0.4, 0.5}, values("bag/a5"))
	last := s.query(`SELECT last("value") FROM "reading" WHERE "owner" = 'bag/a4'`)[0][0].(string)
	moved, err := time.Parse(time.RFC3339Nano, last)
	require.NoError(t, err)
	assert.Less(t, moved.Sub(start), time.Millisecond)
}

func TestOneLineThatTheServerRefusesTakesNoOtherWithIt(t *testing.T) {
	s := startServer(t)
	s.query("CREATE DATABASE yard")
	j := openJournal(t)
	fill(t, j, 0, 300, func(n int) float64 {
		if n == 137 || n == 138 {
			return math.NaN()
		}
		return 0.5
	})
	stream := Readings(j)
	next := stream.Next
	stream.Next = func(ctx context.Context, after int64, limit int) ([]Point, int64, error) {
		points, through, err := next(ctx, after, limit)
		for i := range points {
			if after == 100 && i == 77 {
				points[i].Tags[0].Value = strings.Repeat("x", 70_000) // longer than a key may be
			}
		}
		return points, through, err
	}
	f, log, _ := runForwarder(t, j, s.addr, func(o *Options) { o.Streams = []Stream{stream} })
	caughtUp(t, j)
	assert.Equal(t, 600-2-1, s.count("reading"))
	assert.EqualValues(t, 2, f.Stats().Skipped)
	assert.EqualValues(t, 1, f.Stats().Refused)
	assert.Equal(t, 1, log.count("refused a point"))
}

func TestATypeConflictIsLeftOut(t *testing.T) {
	s := startServer(t)
	s.query("CREATE DATABASE yard")
	j := openJournal(t)
	f, _, stop := runForwarder(t, j, s.addr, nil)
	err := f.write.WriteRecord(t.Context(), fmt.Sprintf(`reading,sensor=x value="text" %d`, start.UnixNano()))
	require.NoError(t, err)
	fill(t, j, 0, 4, steady)
	caughtUp(t, j)
	stop()
	assert.EqualValues(t, 8, f.Stats().Refused, "a partial write is no success")
}

func TestAMissingBucketHoldsUntilItIsThere(t *testing.T) {
	s := startServer(t)
	j := openJournal(t)
	fill(t, j, 0, 10, steady)
	f, _, _ := runForwarder(t, j, s.addr, nil)
	require.Eventually(t, func() bool { return strings.Contains(f.Stats().Held, "create it") }, 10*time.Second, time.Millisecond)
	s.query("CREATE DATABASE yard")
	caughtUp(t, j)
	assert.Equal(t, 20, s.count("reading"))
}

func TestNamesThatWouldBreakALineAreStoredWhole(t *testing.T) {
	s := startServer(t)
	s.query("CREATE DATABASE yard")
	j := openJournal(t)
	f, _, stop := runForwarder(t, j, s.addr, nil)
	names := []string{`ends in a backslash\`, `a\ b`, `a\,b=c`, "two\nlines", `"quoted", with = and spaces`, "\xff", ` ä `}
	var points []Point
	for i, name := range names {
		points = append(points, Point{Measurement: "test", Time: start.Add(time.Duration(i)),
			Tags: []Tag{{"name", name}, {"empty", ""}, {"z", "1"}}, Fields: []Field{{"value", 1}}})
	}
	require.NoError(t, f.send(t.Context(), points))
	stop()
	assert.Equal(t, len(names), s.count("test"))
	var got []string
	for _, row := range s.query(`SELECT "value", "name" FROM "test" WHERE "z" = '1'`) {
		got = append(got, row[2].(string))
	}
	assert.Equal(t, []string{"ends in a backslash/", "a/ b", "a/,b=c", "two_lines", `"quoted", with = and spaces`, "_", "ä"}, got)
}

func TestEncodeLeavesOutWhatIsNoNumber(t *testing.T) {
	p, skipped := Point{Measurement: "m", Tags: []Tag{{"t", "1"}}, Fields: []Field{{"a", math.NaN()}, {"b", math.Inf(-1)}, {"c", 2}}, Time: start}.encode()
	assert.Equal(t, 2, skipped)
	assert.Equal(t, "m,t=1 c=2 1780293600000000000\n", write.PointToLineProtocol(p, time.Nanosecond))
	p, skipped = Point{Measurement: "m", Fields: []Field{{"a", 1}}, Time: time.Date(2500, 1, 1, 0, 0, 0, 0, time.UTC)}.encode()
	assert.Nil(t, p, "its time does not fit into nanoseconds")
	assert.Equal(t, 1, skipped)
	p, skipped = Point{Measurement: "m", Fields: []Field{{"a", math.NaN()}}, Time: start}.encode()
	assert.Nil(t, p)
	assert.Equal(t, 1, skipped)
}
