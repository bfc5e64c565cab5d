package web

import (
	"fmt"
	"io"
	"log/slog"
	"net/http"

	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// maxScrapes at a time: more would only slow each other down on a small board.
const maxScrapes = 4

func (s *Server) routes() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(s.options.Registry, promhttp.HandlerOpts{
		ErrorLog: slog.NewLogLogger(s.options.Log.Handler(), slog.LevelWarn),
		// One bad series must not take all others with it; the registry
		// counts it in promhttp_metric_handler_errors_total.
		ErrorHandling:       promhttp.ContinueOnError,
		Registry:            s.options.Registry,
		MaxRequestsInFlight: maxScrapes,
		Timeout:             writeTimeout / 2,
		EnableOpenMetrics:   true,
	}))
	mux.Handle("GET /healthz", probe(s.options.Healthy, nil))
	mux.Handle("GET /readyz", probe(s.options.Ready, s.notes))
	mux.HandleFunc("GET /{$}", s.page)
	mux.HandleFunc("GET /style.css", style)
	mux.HandleFunc("GET /api/v1/snapshot", s.snapshot)
	mux.Handle("GET /alert/{token}", s.linked(s.alert))
	mux.Handle("GET /alert/{token}/picture.png", s.linked(s.picture))
	mux.Handle("POST /alert/{token}", s.linked(s.answerAlert))
	mux.Handle("POST /api/v1/acknowledge", s.counted("acknowledge", localOnly(s.operated(s.acknowledge))))
	mux.Handle("POST /api/v1/shelve", s.counted("shelve", localOnly(s.operated(s.shelve))))
	mux.Handle("POST /api/v1/unshelve", s.counted("unshelve", localOnly(s.operated(s.unshelve))))
	return guard(mux)
}

// policy is the content security policy of every answer: no script, no picture
// that is not drawn in the page and nothing from elsewhere. The page of an
// alert alone may send a form.
func policy(forms string) string {
	return "default-src 'none'; style-src 'self'; base-uri 'none'; frame-ancestors 'none'; " + forms
}

// guard sets the headers that every answer carries.
func guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy("form-action 'none'"))
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

// notes are what an operator should know of a wickd that is ready. That a
// recipient cannot be reached is one of them: readings are still taken and
// alerts kept, and whoever restarts what is not ready would mend nothing.
func (s *Server) notes() []string {
	c := clock{s.options.Now(), s.options.TimeZone}
	return append(each(each(s.options.Undelivered(), undeliveredDoc), c.undelivered), s.options.Notes()...)
}

// probe answers whether check is satisfied, and why not; if it is, what there is
// to note, a line each.
func probe(check func() error, notes func() []string) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		if err := check(); err != nil {
			w.WriteHeader(http.StatusServiceUnavailable)
			fmt.Fprintln(w, err)
			return
		}
		io.WriteString(w, "ok\n")
		if notes != nil {
			for _, n := range notes() {
				fmt.Fprintln(w, "note: "+n)
			}
		}
	})
}

// operated refuses what only an Operator can do when there is none.
func (s *Server) operated(next http.HandlerFunc) http.Handler {
	if s.options.Operator != nil {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		refuse(w, http.StatusNotImplemented, "this daemon takes no orders about alerts")
	})
}
