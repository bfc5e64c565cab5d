package daemon_test

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"

	"wickd/cmd/internal/daemon"
	"wickd/ingest/rig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// phone is a real web server that a webhook tells.
type phone struct {
	t      testing.TB
	server *httptest.Server
	mu     sync.Mutex
	told   []note
}

type note struct{ Title, Message string }

func newPhone(t testing.TB) *phone {
	p := &phone{t: t}
	p.server = httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		var n note
		body, err := io.ReadAll(r.Body)
		if assert.NoError(t, err) && assert.NoError(t, json.Unmarshal(body, &n), "%s", body) {
			p.mu.Lock()
			p.told = append(p.told, n)
			p.mu.Unlock()
		}
	}))
	t.Cleanup(p.server.Close)
	return p
}

// section names the phone in a site file; the URL is a secret.
func (p *phone) section() string {
	return `notify: {recipients: {keeper: {url_file: ` + secret(p.t, "generic+"+p.server.URL+"/alerts?template=json") + `}}}`
}

func (p *phone) notes() []note {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]note(nil), p.told...)
}

// about are the notes that hold a text.
func (p *phone) about(text string) []note {
	var some []note
	for _, n := range p.notes() {
		if strings.Contains(n.Title+"\n"+n.Message, text) {
			some = append(some, n)
		}
	}
	return some
}

// mailbox is a real mail server.
type mailbox struct{ smtp, http string }

func startMailbox(t testing.TB) (b mailbox) {
	t.Helper()
	b.smtp, b.http = rig.StartMailpit(t)
	return b
}

func (b mailbox) subjects(t testing.TB) []string {
	t.Helper()
	_, body := fetch(t, b.http, "/api/v1/messages")
	var list struct{ Messages []struct{ Subject string } }
	require.NoError(t, json.Unmarshal([]byte(body), &list))
	var subjects []string
	for _, m := range list.Messages {
		subjects = append(subjects, m.Subject)
	}
	return subjects
}

// picture is the one in the mail whose subject holds a text.
func (b mailbox) picture(t testing.TB, about string) []byte {
	t.Helper()
	_, body := fetch(t, b.http, "/api/v1/messages")
	var list struct {
		Messages []struct{ ID, Subject string }
	}
	require.NoError(t, json.Unmarshal([]byte(body), &list))
	for _, m := range list.Messages {
		if !strings.Contains(m.Subject, about) {
			continue
		}
		_, body := fetch(t, b.http, "/api/v1/message/"+m.ID)
		var whole struct {
			Inline []struct{ PartID, ContentType string }
		}
		require.NoError(t, json.Unmarshal([]byte(body), &whole))
		require.Len(t, whole.Inline, 1, "%s", body)
		assert.Equal(t, "image/png", whole.Inline[0].ContentType)
		_, content := fetch(t, b.http, "/api/v1/message/"+m.ID+"/part/"+whole.Inline[0].PartID)
		return []byte(content)
	}
	require.FailNow(t, "no such mail", "%q", about)
	return nil
}

// An address that cannot work is said at the start, not with the first alert.
func TestAnAddressThatCannotWorkIsSaidAtOnce(t *testing.T) {
	t.Parallel()
	for name, url := range map[string]string{"no service": "foo://secret@x/y", "empty": ""} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			d := run(t, daemon.Options{Config: bench(t, embedded, `notify: {recipients: {keeper: {url_file: "`+secret(t, url)+`"}}}`)})
			assert.Contains(t, d.log.String(), "this recipient cannot be told of anything")
			assert.Contains(t, d.log.String(), "recipient=keeper")
			assert.NotContains(t, d.log.String(), "secret@")
		})
	}
}
