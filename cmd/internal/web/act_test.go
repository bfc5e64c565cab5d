package web_test

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/web"
)

const (
	ackBody   = `{"occurrence": "` + occurrence + `", "by": "Robin"}`
	shelfBody = `{"occurrence": "` + occurrence + `", "until": "2026-05-12T20:00:00+02:00"}`
)

func TestACommandOnTheMachineActs(t *testing.T) {
	tests := map[string]struct {
		path, body, remote, host string
		want                     string
	}{
		"acknowledge":      {"/api/v1/acknowledge", ackBody, "127.0.0.1:5000", "127.0.0.1:9920", "acknowledged by Robin"},
		"shelve":           {"/api/v1/shelve", shelfBody, "127.0.0.1:5000", "localhost:9920", "shelved until 2026-05-12T18:00:00Z"},
		"unshelve":         {"/api/v1/unshelve", `{"occurrence": "` + occurrence + `"}`, "127.0.0.1:5000", "localhost:9920", "taken up"},
		"over IPv6":        {"/api/v1/acknowledge", ackBody, "[::1]:5000", "[::1]:9920", "acknowledged by Robin"},
		"IPv4 within IPv6": {"/api/v1/acknowledge", ackBody, "[::ffff:127.0.0.1]:5000", "127.0.0.1", "acknowledged by Robin"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			var o operator
			s := newServer(t, func(opt *web.Options) { opt.Operator = &o })
			r := local(tt.path, tt.body)
			r.RemoteAddr, r.Host = tt.remote, tt.host
			w := httptest.NewRecorder()
			s.Handler().ServeHTTP(w, r)
			assert.Equal(t, http.StatusNoContent, w.Code, w.Body)
			assert.Equal(t, []string{tt.want}, o.heard())
		})
	}
}

func TestWhatMustNotActIsRefused(t *testing.T) {
	tests := map[string]struct {
		path, body string
		change     func(*http.Request)
		status     int
		why        string
	}{
		"from another machine": {
			change: func(r *http.Request) { r.RemoteAddr = "192.0.2.7:5000" },
			status: http.StatusForbidden, why: "only from the machine",
		},
		"through a proxy here": {
			change: func(r *http.Request) { r.Header.Set("X-Forwarded-For", "192.0.2.7") },
			status: http.StatusForbidden, why: "only from the machine",
		},
		"through a standard proxy": {
			change: func(r *http.Request) { r.Header.Set("Forwarded", "for=192.0.2.7") },
			status: http.StatusForbidden, why: "only from the machine",
		},
		"a foreign name pointed at loopback": {
			change: func(r *http.Request) { r.Host = "rebound.example:9920" },
			status: http.StatusForbidden, why: "only from the machine",
		},
		"a form on a foreign page": {
			change: func(r *http.Request) { r.Header.Set("Content-Type", "text/plain") },
			status: http.StatusUnsupportedMediaType, why: "application/json",
		},
		"a browser that calls it cross-site": {
			change: func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") },
			status: http.StatusForbidden,
		},
		"an alert that is not open": {
			body:   `{"occurrence": "gone", "by": "Robin"}`,
			status: http.StatusNotFound, why: "no open alert",
		},
		"nobody's name":           {body: `{"occurrence": "` + occurrence + `"}`, status: http.StatusBadRequest, why: "by:"},
		"no occurrence":           {body: `{"by": "Robin"}`, status: http.StatusBadRequest, why: "occurrence:"},
		"an unknown key":          {body: `{"occurence": "x"}`, status: http.StatusBadRequest, why: "unknown field"},
		"two documents":           {body: ackBody + ackBody, status: http.StatusBadRequest, why: "goes on"},
		"more than a body's room": {body: `{"by": "` + strings.Repeat("x", 5000) + `"}`, status: http.StatusBadRequest, why: "too large"},
		"taking up nothing":       {path: "/api/v1/unshelve", body: `{}`, status: http.StatusBadRequest, why: "occurrence:"},
		"shelving into the past": {
			path: "/api/v1/shelve", body: `{"occurrence": "` + occurrence + `", "until": "2026-05-12T12:00:00Z"}`,
			status: http.StatusBadRequest, why: "until:",
		},
		"shelving for good": {
			path: "/api/v1/shelve", body: `{"occurrence": "` + occurrence + `", "until": "2036-05-12T12:00:00Z"}`,
			status: http.StatusBadRequest, why: "7 days",
		},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			var o operator
			s := newServer(t, func(opt *web.Options) { opt.Operator = &o })
			if tt.path == "" {
				tt.path = "/api/v1/acknowledge"
			}
			if tt.body == "" {
				tt.body = ackBody
			}
			r := local(tt.path, tt.body)
			if tt.change != nil {
				tt.change(r)
			}
			w := httptest.NewRecorder()
			s.Handler().ServeHTTP(w, r)
			assert.Equal(t, tt.status, w.Code, w.Body)
			assert.Contains(t, w.Body.String(), tt.why)
			assert.Empty(t, o.heard())
		})
	}
}

func TestAGetNeverActs(t *testing.T) {
	var o operator
	s := newServer(t, func(opt *web.Options) { opt.Operator = &o })
	for _, path := range []string{"/api/v1/acknowledge", "/api/v1/shelve", "/api/v1/unshelve"} {
		r := local(path, ackBody)
		r.Method = http.MethodGet
		w := httptest.NewRecorder()
		s.Handler().ServeHTTP(w, r)
		assert.Equal(t, http.StatusMethodNotAllowed, w.Code, path)
	}
	assert.Empty(t, o.heard())
}

func TestWithoutAnOperatorNothingIsTaken(t *testing.T) {
	w := httptest.NewRecorder()
	newServer(t, nil).Handler().ServeHTTP(w, local("/api/v1/acknowledge", ackBody))
	assert.Equal(t, http.StatusNotImplemented, w.Code)
}

func TestAFailureIsSaid(t *testing.T) {
	s := newServer(t, func(opt *web.Options) { opt.Operator = &operator{fail: errors.New("append to the journal: disk full")} })
	w := httptest.NewRecorder()
	s.Handler().ServeHTTP(w, local("/api/v1/acknowledge", ackBody))
	assert.Equal(t, http.StatusInternalServerError, w.Code)
	var p web.Problem
	require.NoError(t, json.Unmarshal(w.Body.Bytes(), &p))
	assert.Contains(t, p.Error, "disk full")
}
