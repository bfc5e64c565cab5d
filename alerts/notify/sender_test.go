package notify

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nicholas-fedor/shoutrrr"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/rig"
	"wickd/model"
)

var sample = Message{
	Title:    "Reservoir tank is too warm: 28.3 °C, limit 26 °C",
	Text:     "Reservoir tank is too warm: 28.3 °C, limit 26 °C\nWarm solution holds little oxygen.\nShade it.",
	Priority: model.PriorityUrgent,
}

// hook is a real HTTP server that records what a webhook brings.
type hook struct {
	*httptest.Server
	mu     sync.Mutex
	bodies []string
	heads  []http.Header
	paths  []string
}

func newHook(t *testing.T, status int) *hook {
	h := &hook{}
	h.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		h.mu.Lock()
		h.bodies, h.heads, h.paths = append(h.bodies, string(body)), append(h.heads, r.Header), append(h.paths, r.URL.Path)
		h.mu.Unlock()
		w.WriteHeader(status)
		// The form in which a push server explains itself: its own code begins
		// with the status.
		_, _ = fmt.Fprintf(w, `{"code":%d01,"http":%d,"error":"%s"}`, status, status, strings.ToLower(http.StatusText(status)))
	}))
	t.Cleanup(h.Close)
	return h
}

func (h *hook) host() string { return strings.TrimPrefix(h.URL, "http://") }

func TestWebhook(t *testing.T) {
	h := newHook(t, http.StatusOK)
	require.NoError(t, NewURLSender(0).Send(context.Background(), "generic+"+h.URL+"/alerts?template=json", sample))
	require.Len(t, h.bodies, 1)
	var got map[string]string
	require.NoError(t, json.Unmarshal([]byte(h.bodies[0]), &got))
	assert.Equal(t, map[string]string{"title": sample.Title, "message": sample.Text}, got)
	assert.Equal(t, "/alerts", h.paths[0])
}

func TestWebhookInPlainText(t *testing.T) {
	h := newHook(t, http.StatusOK)
	require.NoError(t, NewURLSender(0).Send(context.Background(), "generic+"+h.URL+"/alerts", sample))
	require.Len(t, h.bodies, 1)
	assert.Equal(t, sample.Text, h.bodies[0])
}

func TestPushCarriesTitleAndPriority(t *testing.T) {
	h := newHook(t, http.StatusOK)
	require.NoError(t, NewURLSender(0).Send(context.Background(), "ntfy://"+h.host()+"/greenhouse?scheme=http", sample))
	require.Len(t, h.bodies, 1)
	assert.Equal(t, sample.Title, h.heads[0].Get("Title"))
	assert.Equal(t, "max", strings.ToLower(h.heads[0].Get("Priority")))
	assert.Equal(t, sample.Text, h.bodies[0])
}

func TestReasons(t *testing.T) {
	closed := rig.FreeAddress(t)
	silent := silentPort(t)
	status := func(code int) string { return "generic+" + newHook(t, code).URL + "/x" }
	tests := map[string]struct {
		url    string
		reason Reason
		code   int
	}{
		"auth":              {status(401), Auth, 401},
		"forbidden":         {status(403), Auth, 403},
		"not found":         {status(404), Rejected, 404},
		"server error":      {status(503), Rejected, 503},
		"push, auth":        {"ntfy://" + newHook(t, 401).host() + "/x?scheme=http", Auth, 401},
		"push, too much":    {"ntfy://" + newHook(t, 429).host() + "/x?scheme=http", Rejected, 429},
		"closed port":       {"generic+http://" + closed + "/x", Refused, 0},
		"closed, mail":      {"smtp://" + closed + "/?from=a@example.com&to=b@example.com", Refused, 0},
		"certificate":       {"generic+https://" + strings.TrimPrefix(tlsServer(t).URL, "https://") + "/x", Refused, 0},
		"silent":            {"generic+http://" + silent + "/x", Timeout, 0},
		"silent mail":       {"smtp://" + silent + "/?from=a@example.com&to=b@example.com", Timeout, 0},
		"no such service":   {"pigeon://coop/x", BadURL, 0},
		"not a URL":         {"://", BadURL, 0},
		"empty":             {"", BadURL, 0},
		"mail to nobody":    {"smtp://localhost/?from=a@example.com", BadURL, 0},
		"unknown parameter": {"smtp://localhost/?from=a@example.com&to=b@example.com&colour=red", BadURL, 0},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			patience := 20 * time.Second
			if test.reason == Timeout {
				patience = 200 * time.Millisecond
			}
			err := NewURLSender(patience).Send(context.Background(), test.url, sample)
			var got *SendError
			require.ErrorAs(t, err, &got)
			assert.Equal(t, test.reason, got.Reason)
			assert.Equal(t, test.code, got.Code)
		})
	}
}

// silentPort accepts and never says a word.
func silentPort(t *testing.T) string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { l.Close() })
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			t.Cleanup(func() { c.Close() })
		}
	}()
	return l.Addr().String()
}

func tlsServer(t *testing.T) *httptest.Server {
	s := httptest.NewUnstartedServer(http.NotFoundHandler())
	s.Config.ErrorLog = log.New(io.Discard, "", 0) // the bad handshake is what is wanted
	s.StartTLS()
	t.Cleanup(s.Close)
	return s
}

// No part of a URL is ever in an error, whatever form it has and however the
// send fails: unreachable, refused by the service, or not understood.
func TestNoSecretInAnError(t *testing.T) {
	const secret = "tOkEn5ecret0815"
	closed := rig.FreeAddress(t)
	tests := []string{
		"smtp://" + secret + ":pw" + secret + "@" + closed + "/?from=a@example.com&to=" + secret + "@example.com",
		"smtp://user:" + secret + "@" + closed + "/?to=b@example.com",
		"generic+http://" + closed + "/hooks/" + secret,
		"generic+http://" + closed + "/hooks?key=" + secret + "&@Authorization=" + secret,
		"generic+http://user:" + secret + "@" + newHook(t, 401).host() + "/" + secret,
		"generic+" + newHook(t, 500).URL + "/" + secret,
		"generic+http://%zz" + secret,
		"ntfy://user:" + secret + "@" + closed + "/" + secret + "?scheme=http",
		"ntfy://:" + secret + "@" + newHook(t, 403).host() + "/" + secret + "?scheme=http",
		"gotify://" + closed + "/A" + secret + "?disabletls=yes",
		"mattermost://" + secret + "@" + closed + "/" + secret + "?disabletls=yes",
		"matrix://user:" + secret + "@" + closed + "/?disableTLS=yes&rooms=" + secret,
		"rocketchat://" + closed + "/" + secret + "/" + secret,
		"pigeon://" + secret + "/" + secret,
		"smtp://[" + secret,
		secret,
	}
	for i, url := range tests {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			t.Parallel()
			sender := NewURLSender(2 * time.Second)
			err := sender.Send(context.Background(), url, sample)
			require.Error(t, err)
			for e := err; e != nil; e = unwrap(e) {
				assert.NotContains(t, fmt.Sprintf("%v %+v %#v", e, e, e), "5ecret")
			}
			if err := sender.Check(url); err != nil {
				assert.NotContains(t, err.Error(), "5ecret")
			}
		})
	}
}

func unwrap(err error) error {
	if u, ok := err.(interface{ Unwrap() error }); ok {
		return u.Unwrap()
	}
	return nil
}

// The same of services that are somewhere else: their URLs are only looked at.
func TestNoSecretInAnErrorOfAURL(t *testing.T) {
	const secret = "tOkEn5ecret0815"
	for _, url := range []string{
		"telegram://" + secret + "@telegram?chats=@grower",
		"discord://" + secret,
		"slack://" + secret + "@",
		"pushover://shoutrrr:" + secret + "@",
		"pushbullet://" + secret + "/a/b/c",
	} {
		err := NewURLSender(0).Check(url)
		require.Error(t, err, "each of them lacks something")
		assert.Equal(t, BadURL, reasonOf(err))
		assert.NotContains(t, fmt.Sprintf("%v %+v %#v", err, err, err), "5ecret")
	}
}

// Every service of the library can be asked whether it has a title, whichever
// a grower chooses.
func TestEveryServiceCanBeAskedForItsTitle(t *testing.T) {
	router, err := shoutrrr.CreateSender()
	require.NoError(t, err)
	names := router.ListServices()
	require.Greater(t, len(names), 20)
	titled := map[string]bool{}
	for _, name := range names {
		service, err := router.NewService(name)
		require.NoError(t, err)
		assert.NotPanics(t, func() { titled[name] = hasTitle(service) }, name)
	}
	for _, name := range []string{"smtp", "ntfy", "gotify", "pushover", "telegram", "generic"} {
		assert.True(t, titled[name], name)
	}
	assert.False(t, titled["signal"])
}
