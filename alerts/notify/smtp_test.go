package notify

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/rig"
	"wickd/model"
)

// sink is a real mail server with an HTTP interface to what it took.
type sink struct{ smtp, http string }

func startSink(t *testing.T, args ...string) (s sink) {
	t.Helper()
	s.smtp, s.http = rig.StartMailpit(t, args...)
	return s
}

func (s sink) get(t *testing.T, path string, into any) {
	t.Helper()
	r, err := http.Get("http://" + s.http + path)
	require.NoError(t, err)
	defer r.Body.Close()
	require.Equal(t, http.StatusOK, r.StatusCode)
	require.NoError(t, json.NewDecoder(r.Body).Decode(into))
}

// mail is what arrived.
type mail struct {
	ID      string
	Subject string
	Text    string
	To      []struct{ Address string }
	Date    time.Time
	Inline  []attachment
	// Attachments are those that a reader has to ask for.
	Attachments []attachment
}

type attachment struct{ PartID, FileName, ContentType string }

func (s sink) mails(t *testing.T) []mail {
	t.Helper()
	var list struct{ Messages []struct{ ID string } }
	s.get(t, "/api/v1/messages", &list)
	var mails []mail
	for _, m := range list.Messages {
		var whole mail
		s.get(t, "/api/v1/message/"+m.ID, &whole)
		mails = append(mails, whole)
	}
	return mails
}

func (s sink) part(t *testing.T, m mail, a attachment) []byte {
	t.Helper()
	r, err := http.Get("http://" + s.http + "/api/v1/message/" + m.ID + "/part/" + a.PartID)
	require.NoError(t, err)
	defer r.Body.Close()
	content, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	return content
}

func TestMail(t *testing.T) {
	s := startSink(t)
	address := "smtp://" + s.smtp + "/?from=wickd@example.com&to=grower@example.com"
	texts := map[string]Message{
		"plain":  {Title: "Bag a1 is dry: 24 % water, it needs 31 %. Plants wilt within hours", Text: "Bag a1 is dry\nSince Tue 14:20.\n\n.a line that begins with a dot\nWater it."},
		"degree": sample,
		"long":   {Title: strings.Repeat("°C and so on, ", 8), Text: strings.Repeat("line\n", 500) + "the end"},
		"broken": {Title: "one\r\nBcc: everybody@example.com", Text: "body"},
	}
	for name, m := range texts {
		require.NoError(t, NewURLSender(0).Send(context.Background(), address, m), name)
	}
	got := map[string]mail{}
	for _, m := range s.mails(t) {
		got[m.Subject] = m
	}
	require.Len(t, got, len(texts))
	for name, m := range texts {
		arrived, ok := got[clip(m.Title)]
		require.True(t, ok, "%s: no mail with the subject %q among %v", name, clip(m.Title), got)
		assert.Equal(t, m.Text, strings.TrimRight(strings.ReplaceAll(arrived.Text, "\r\n", "\n"), "\n"), name)
		require.Len(t, arrived.To, 1)
		assert.Equal(t, "grower@example.com", arrived.To[0].Address)
	}
}

// The picture stands under the text, byte for byte, for every address.
func TestMailCarriesItsPicture(t *testing.T) {
	s := startSink(t)
	picture := []byte("\x89PNG\r\n\x1a\n" + strings.Repeat("\x00\xff\r\n.\r\n", 5000))
	m := sample
	m.Time = noon
	m.Draw = func(context.Context) []byte { return picture }
	require.NoError(t, NewURLSender(0).Send(t.Context(), "smtp://"+s.smtp+"/?from=wickd@example.com&fromname=Kestrel+Yard&to=grower@example.com,deputy@example.com", m))
	got := s.mails(t)
	require.Len(t, got, 2)
	for _, mail := range got {
		assert.Equal(t, m.Title, mail.Subject)
		assert.Equal(t, m.Text, strings.TrimSpace(strings.ReplaceAll(mail.Text, "\r\n", "\n")))
		assert.True(t, mail.Date.Equal(noon), "%s", mail.Date)
		require.Len(t, mail.To, 1, "nobody sees who else is told")
		require.Len(t, mail.Inline, 1, "%+v", mail)
		assert.Equal(t, "image/png", mail.Inline[0].ContentType)
		assert.Empty(t, mail.Attachments)
		assert.Equal(t, picture, s.part(t, mail, mail.Inline[0]))
	}
}

// An address that the server refuses does not keep the others from their mail;
// when it refuses all, the mail is to be tried again.
func TestMailToSeveral(t *testing.T) {
	s := startSink(t, "--smtp-allowed-recipients", `^(grower|deputy)@example\.com$`)
	address := func(to string) string { return "smtp://" + s.smtp + "/?from=wickd@example.com&to=" + to }
	require.NoError(t, NewURLSender(0).Send(t.Context(), address("nobody@example.com,grower@example.com"), sample))
	assert.Len(t, s.mails(t), 1)
	err := NewURLSender(0).Send(t.Context(), address("nobody@example.com"), sample)
	var got *SendError
	require.ErrorAs(t, err, &got)
	assert.Equal(t, Rejected, got.Reason)
	assert.Len(t, s.mails(t), 1)
}

func TestMailWithAWrongPassword(t *testing.T) {
	file := filepath.Join(t.TempDir(), "users")
	require.NoError(t, os.WriteFile(file, []byte("grower:right\n"), 0o600))
	s := startSink(t, "--smtp-auth-file", file, "--smtp-auth-allow-insecure")
	address := func(password string) string {
		return "smtp://grower:" + url.QueryEscape(password) + "@" + s.smtp + "/?from=wickd@example.com&to=grower@example.com"
	}
	require.NoError(t, NewURLSender(0).Send(context.Background(), address("right"), sample))
	err := NewURLSender(0).Send(context.Background(), address("wr0ng-pass"), sample)
	assert.Equal(t, Auth, reasonOf(err))
	assert.NotContains(t, err.Error(), "wr0ng")
	assert.Len(t, s.mails(t), 1)
}

// From transitions to the mail in the box, with a server that is not there at
// first: nothing is lost and nothing comes twice.
func TestFromTransitionToMail(t *testing.T) {
	s := startSink(t)
	later := rig.FreeAddress(t)
	target := later
	recipient := Recipient{ID: "mail", MinPriority: model.PriorityHigh, URL: func() (string, error) {
		return "smtp://" + target + "/?from=wickd@example.com&to=grower@example.com", nil
	}}
	h := newHouse(t, recipient)
	h.sender = NewURLSender(5 * time.Second)
	h.options.Gather, h.options.Poll = 10*time.Millisecond, 20*time.Millisecond
	h.options.Backoff = Backoff{First: 50 * time.Millisecond, Most: 100 * time.Millisecond}
	tried := make(chan Attempt, 100)
	h.options.Observe = func(a Attempt) { tried <- a }

	h.open()
	h.tell(raised("bag/a1", model.PriorityUrgent), raised("bag/a2", model.PriorityLow))
	require.Equal(t, Refused, (<-tried).Reason)
	h.stop()
	target = s.smtp
	h.open()
	require.Eventually(t, func() bool { return h.outbox.unsent() == 0 }, 10*time.Second, 20*time.Millisecond)
	h.stop()
	got := s.mails(t)
	require.Len(t, got, 1, "the low one is not for this recipient")
	assert.Equal(t, "raised bag/a1", got[0].Subject)
	assert.Equal(t, "raised bag/a1\nBecause.\nDo this.", strings.TrimSpace(strings.ReplaceAll(got[0].Text, "\r\n", "\n")))
}
