package forward

import (
	"context"
	"errors"
	"log/slog"
	"math/rand/v2"
	"sync"
	"time"

	influxdb "github.com/influxdata/influxdb-client-go/v2"
	"github.com/influxdata/influxdb-client-go/v2/api"
)

// Cursors is the journal's memory of how far each stream has come.
type Cursors interface {
	Cursor(ctx context.Context, name string) (int64, error)
	SetCursor(ctx context.Context, name string, seq int64) error
}

// Options of a Forwarder. URL, Bucket, Cursors and Streams are required.
type Options struct {
	URL    string
	Org    string // version 1.8 needs none
	Bucket string // version 1.8: database/retention-policy
	Token  string // version 1.8: user:password; empty without authentication

	Cursors Cursors
	Streams []Stream

	Batch    int              // rows in one write; default 1000
	Interval time.Duration    // between looks for new rows; default 10 s
	MaxDelay time.Duration    // longest back-off; default 1 min
	Timeout  time.Duration    // of one request; default 20 s
	Clock    func() time.Time // default time.Now
	Rand     func() float64   // in [0, 1), for jitter; default math/rand
	Log      *slog.Logger     // default: discard
}

// Forwarder copies streams to InfluxDB.
type Forwarder struct {
	opts   Options
	client influxdb.Client
	write  api.WriteAPIBlocking

	mu     sync.Mutex // guards what follows
	stats  Stats
	since  time.Time // of the oldest row that is not forwarded; zero: none
	heldBy string    // the root of the error that was logged; empty: it flows
}

// Stats is what a Forwarder has done since it started.
type Stats struct {
	Points  uint64 // taken by the server
	Skipped uint64 // fields that were no finite number
	Refused uint64 // points that the server refused for good, left out
	Writes  uint64 // requests that succeeded
	Holds   uint64 // attempts after which the flow was held
	Pending int64  // rows not forwarded at the last look
	Held    string // why the flow is held; empty: it flows
}

// New checks the options and starts nothing.
func New(opts Options) (*Forwarder, error) {
	if opts.URL == "" || opts.Bucket == "" || opts.Cursors == nil || len(opts.Streams) == 0 {
		return nil, errors.New("forward: URL, Bucket, Cursors and Streams are required")
	}
	opts.setDefaults()
	settings := influxdb.DefaultOptions().SetLogLevel(0).SetHTTPRequestTimeout(uint(max(1, opts.Timeout.Seconds()))).SetUseGZip(true)
	client := influxdb.NewClientWithOptions(opts.URL, opts.Token, settings)
	return &Forwarder{opts: opts, client: client, write: client.WriteAPIBlocking(opts.Org, opts.Bucket)}, nil
}

func (o *Options) setDefaults() {
	if o.Batch <= 0 {
		o.Batch = 1000
	}
	if o.Interval <= 0 {
		o.Interval = 10 * time.Second
	}
	if o.MaxDelay <= 0 {
		o.MaxDelay = time.Minute
	}
	if o.Timeout <= 0 {
		o.Timeout = 20 * time.Second
	}
	if o.Clock == nil {
		o.Clock = time.Now
	}
	if o.Rand == nil {
		o.Rand = rand.Float64
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
}
