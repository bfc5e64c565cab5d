package web

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"wickd/cmd/internal/expose"
	"wickd/model"
)

// The limits of one request. A scrape of a large site takes well under a
// second; the rest is room for a slow board and a phone at the edge of Wi-Fi.
const (
	headerTimeout   = 5 * time.Second
	readTimeout     = 10 * time.Second
	writeTimeout    = 30 * time.Second
	idleTimeout     = 2 * time.Minute
	shutdownTimeout = time.Second
	maxHeaderBytes  = 16 << 10
)

// Operator takes what a person does about an alert.
type Operator interface {
	// Acknowledge takes a person's word that an alert has been seen.
	Acknowledge(ctx context.Context, occurrence, by string) error
	// Shelve silences an alert until a time.
	Shelve(ctx context.Context, occurrence string, until time.Time) error
	// Unshelve takes an alert up again before that time.
	Unshelve(ctx context.Context, occurrence string) error
}

// What an Operator returns, wrapped or bare, when there is nothing to do.
var (
	ErrNoAlert  = errors.New("no open alert with this occurrence")
	ErrNotAside = errors.New("the alert is not put aside")
)

// Registry is where the metrics come from and where the page's own go.
type Registry interface {
	prometheus.Gatherer
	prometheus.Registerer
}

// Options is what a Server is made of.
type Options struct {
	Listen   string         // host:port; port 0: any free one. Required for Listen and Serve.
	SiteName string         // heading of the page
	TimeZone *time.Location // of times on the page; nil: UTC
	Version  string         // shown at the foot of the page

	Registry Registry              // required
	Snapshot func() model.Snapshot // required
	Now      func() time.Time      // required: what ages and remaining times are counted from

	Alerts func() []expose.AlertState // nil: none
	// Notes are what an operator should know besides, in words; nil: nothing.
	Notes func() []string
	// Undelivered are the recipients whom messages do not reach; nil: none.
	Undelivered func() []expose.Undelivered
	Ready       func() error // nil: always ready
	Healthy     func() error // nil: always healthy
	Operator    Operator     // nil: the POST requests are refused
	Answered    func(Answer) // told of every answer, for the metrics; nil: nobody
	Signer      *Signer      // nil: no links are signed, and no page takes an answer
	History     History      // nil: no pictures
	Site        *model.Site  // for the targets in pictures and the water that goes in; nil: none
	Log         *slog.Logger // nil: nothing is logged
}

func (o Options) validate() error {
	var problems []error
	for _, field := range []struct {
		name    string
		missing bool
	}{
		{"Registry", o.Registry == nil},
		{"Snapshot", o.Snapshot == nil},
		{"Now", o.Now == nil},
	} {
		if field.missing {
			problems = append(problems, fmt.Errorf("web: Options.%s is missing", field.name))
		}
	}
	return errors.Join(problems...)
}

func (o Options) withDefaults() Options {
	always := func() error { return nil }
	if o.TimeZone == nil {
		o.TimeZone = time.UTC
	}
	if o.Alerts == nil {
		o.Alerts = func() []expose.AlertState { return nil }
	}
	if o.Undelivered == nil {
		o.Undelivered = func() []expose.Undelivered { return nil }
	}
	if o.Notes == nil {
		o.Notes = func() []string { return nil }
	}
	if o.Answered == nil {
		o.Answered = func(Answer) {}
	}
	if o.Ready == nil {
		o.Ready = always
	}
	if o.Healthy == nil {
		o.Healthy = always
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	return o
}

// Server serves the site over HTTP.
type Server struct {
	options Options
	handler http.Handler
	pages   *template.Template

	mu       sync.Mutex // guards listener
	listener net.Listener
}

// New checks the options and builds the handlers. It opens no socket.
func New(o Options) (*Server, error) {
	if err := o.validate(); err != nil {
		return nil, err
	}
	pages, err := template.ParseFS(assets, "*.html")
	if err != nil {
		return nil, fmt.Errorf("web: read the pages: %w", err)
	}
	s := &Server{options: o.withDefaults(), pages: pages}
	s.handler = s.routes()
	return s, nil
}

// Handler is the whole HTTP side, for tests and for other servers.
func (s *Server) Handler() http.Handler { return s.handler }

// Listen opens the socket, so that an address that is taken is known before
// anything else starts. Serve calls it when nobody has.
func (s *Server) Listen() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.listener != nil {
		return nil
	}
	l, err := net.Listen("tcp", s.options.Listen)
	if err != nil {
		return fmt.Errorf("listen for HTTP on %q: %w (choose another address with --listen, for example 127.0.0.1:9920)", s.options.Listen, err)
	}
	s.listener = l
	return nil
}

// Addr is the address that the socket is open on; empty before Listen.
func (s *Server) Addr() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.listener == nil {
		return ""
	}
	return s.listener.Addr().String()
}

// Serve answers requests until ctx ends, then waits up to a second for those
// that are open. It returns nil after an ordered end. A Server serves once.
func (s *Server) Serve(ctx context.Context) error {
	if err := s.Listen(); err != nil {
		return err
	}
	server := &http.Server{
		Handler:           s.handler,
		ReadHeaderTimeout: headerTimeout,
		ReadTimeout:       readTimeout,
		WriteTimeout:      writeTimeout,
		IdleTimeout:       idleTimeout,
		MaxHeaderBytes:    maxHeaderBytes,
		ErrorLog:          slog.NewLogLogger(s.options.Log.Handler(), slog.LevelDebug),
	}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(s.listener) }()
	select {
	case err := <-ended:
		return fmt.Errorf("serve HTTP: %w", err)
	case <-ctx.Done():
	}
	// ctx has ended already, and the open requests still need their moment.
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), shutdownTimeout)
	defer cancel()
	err := server.Shutdown(grace)
	if errors.Is(err, context.DeadlineExceeded) {
		err = server.Close() // a browser keeps connections open without a request; they are cut
	}
	<-ended
	if err != nil {
		return fmt.Errorf("end HTTP: %w", err)
	}
	return nil
}
