package alertmanager

import (
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"time"

	"wickd/alerts"
)

// Options of a Pusher. URL, Standing, Clock and Timer are required.
type Options struct {
	URL      string                 // base URL of the server
	Username string                 // of its basic authentication; empty: none
	Password func() (string, error) // required with Username
	Site     string                 // its name, a label of every alert

	// Standing lists the alerts that are not normal.
	Standing func() []alerts.State
	Clock    func() time.Time
	// Timer is over after a time, unless it is stopped before: time.NewTimer.
	Timer func(d time.Duration) (over <-chan time.Time, stop func() bool)
	// Zone is that of the times in words; nil: UTC.
	Zone *time.Location
	// Memory keeps what the server has heard; nil: what came and went while it
	// was down is told unless wickd was restarted meanwhile.
	Memory Memory
	// Page gives the address of an alert's page; nil or "": it has none.
	Page func(s alerts.State, now time.Time) string

	// Every is how often all that stands is posted; zero: 1 min, as Prometheus
	// does (rules.alert.resend-delay).
	Every time.Duration
	// Observe is told of every post, for the metrics; nil: nobody.
	Observe func(alerts int, err error)
	Client  *http.Client // nil: one that gives up after 10 s
	Log     *slog.Logger // nil: nothing is logged
}

// ErrOptions says that the Options cannot be used.
var ErrOptions = errors.New("the options of the way to an Alertmanager are not usable")

func (o Options) orDefault() (Options, error) {
	u, err := url.Parse(o.URL)
	switch {
	case err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https":
		return o, fmt.Errorf("%w: the URL looks like http://127.0.0.1:9093", ErrOptions)
	case o.Standing == nil || o.Clock == nil || o.Timer == nil:
		return o, fmt.Errorf("%w: standing, clock and timer are required", ErrOptions)
	case o.Username != "" && o.Password == nil:
		return o, fmt.Errorf("%w: a username needs a password", ErrOptions)
	}
	o.URL = strings.TrimRight(o.URL, "/") + "/api/v2/alerts"
	if o.Every <= 0 {
		o.Every = time.Minute
	}
	if o.Page == nil {
		o.Page = func(alerts.State, time.Time) string { return "" }
	}
	if o.Observe == nil {
		o.Observe = func(int, error) {}
	}
	if o.Client == nil {
		o.Client = &http.Client{
			Timeout:   10 * time.Second,
			Transport: &http.Transport{Proxy: http.ProxyFromEnvironment, IdleConnTimeout: 2 * o.Every},
			// A redirect would hand the password on to somebody else.
			CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		}
	}
	if o.Zone == nil {
		o.Zone = time.UTC
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	return o, nil
}
