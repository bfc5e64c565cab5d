package notify

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/alerts"
	"wickd/model"
)

// rich has everything beside its text; the letters are those that a header or a
// list could be cut at.
var rich = Message{
	Title: sample.Title, Text: sample.Text, Priority: model.PriorityHigh,
	Page: "https://yard.example/alert/t.o-k_en", Image: "https://yard.example/alert/t.o-k_en/picture.png",
	Answers: []Answer{{
		Label: "I take care of it", URL: "https://relay.example/in?a=1;b=2,c", ContentType: "application/json",
		Body: `{"occurrence":"bag-dry|bag/a1|2026-05-12T10:00:00Z","token":"a.b-c_d"} ;,'"`,
	}},
	Draw: func(context.Context) []byte { return []byte("\x89PNG, drawn") },
}

// What a push server gets, in the words of its documentation: Click and Attach
// are addresses, Actions a JSON array of action, label, url, method, headers,
// body and clear ("Publishing", ntfy's documentation, [M]).
func TestPushCarriesLinksAndButtons(t *testing.T) {
	h := newHook(t, http.StatusOK)
	require.NoError(t, NewURLSender(0).Send(t.Context(), "ntfy://"+h.host()+"/greenhouse?scheme=http", rich))
	require.Len(t, h.heads, 1)
	head := h.heads[0]
	assert.Equal(t, rich.Page, head.Get("Click"))
	assert.Equal(t, rich.Image, head.Get("Attach"))
	assert.Equal(t, rich.Text, h.bodies[0])
	var actions []map[string]any
	require.NoError(t, json.Unmarshal([]byte(head.Get("Actions")), &actions), "%s", head.Get("Actions"))
	assert.Equal(t, []map[string]any{{
		"action": "http", "label": "I take care of it", "url": rich.Answers[0].URL, "method": "POST",
		"headers": map[string]any{"Content-Type": "application/json"}, "body": rich.Answers[0].Body, "clear": true,
	}}, actions)
}

func TestPushWithoutLinks(t *testing.T) {
	h := newHook(t, http.StatusOK)
	require.NoError(t, NewURLSender(0).Send(t.Context(), "ntfy://"+h.host()+"/greenhouse?scheme=http", sample))
	for _, name := range []string{"Click", "Attach", "Actions"} {
		assert.Empty(t, h.heads[0].Values(name))
	}
}

// A chat bridge takes the picture itself, in base64.
func TestChatCarriesThePicture(t *testing.T) {
	h := newHook(t, http.StatusOK)
	require.NoError(t, NewURLSender(0).Send(t.Context(), "signal://"+h.host()+"/+15550100/+15550101?disabletls=yes", rich))
	require.Len(t, h.bodies, 1)
	var got struct {
		Message     string   `json:"message"`
		Attachments []string `json:"base64_attachments"`
	}
	require.NoError(t, json.Unmarshal([]byte(h.bodies[0]), &got))
	assert.Equal(t, rich.Text, got.Message)
	require.Len(t, got.Attachments, 1)
	picture, err := base64.StdEncoding.DecodeString(got.Attachments[0])
	require.NoError(t, err)
	assert.Equal(t, "\x89PNG, drawn", string(picture))
}

// A webhook is told where page and picture are; only services that take a
// picture have one drawn.
func TestWebhookCarriesLinks(t *testing.T) {
	h := newHook(t, http.StatusOK)
	m := rich
	m.Draw = func(context.Context) []byte {
		t.Error("a picture was drawn for nobody")
		return nil
	}
	require.NoError(t, NewURLSender(0).Send(t.Context(), "generic+"+h.URL+"/alerts?template=json", m))
	var got map[string]string
	require.NoError(t, json.Unmarshal([]byte(h.bodies[0]), &got))
	assert.Equal(t, map[string]string{"title": rich.Title, "message": rich.Text, "page": rich.Page, "picture": rich.Image}, got)
}

func TestAnswers(t *testing.T) {
	links := func(n Notice) Links {
		if n.Condition == "broker-lost" {
			return Links{}
		}
		return Links{Page: "p/" + string(n.Subject), Picture: "i/" + string(n.Subject), Answer: &Answer{Body: string(n.Subject)}}
	}
	n := func(kind model.Change, subject model.Subject) Notice {
		return notice(kind, "bag-dry", subject, model.PriorityHigh)
	}
	over := n(model.Cleared, "bag/a1")
	over.Occurrence = "another"
	tests := map[string]struct {
		notices []Notice
		page    string
		labels  []string
	}{
		"one":              {[]Notice{n(model.Raised, "bag/a1")}, "p/bag/a1", []string{"I take care of it"}},
		"two":              {[]Notice{n(model.Raised, "bag/a1"), n(model.Raised, "bag/a2")}, "p/bag/a1", []string{"I take care of " + alerts.Name("bag/a1"), "I take care of " + alerts.Name("bag/a2")}},
		"one that is over": {[]Notice{over}, "", nil},
		"one is over":      {[]Notice{over, n(model.Raised, "bag/a2")}, "p/bag/a2", []string{"I take care of " + alerts.Name("bag/a2")}},
		"more than a push can carry": {[]Notice{n(model.Raised, "bag/a1"), n(model.Raised, "bag/a2"), n(model.Raised, "bag/a3"),
			n(model.Raised, "bag/a4")}, "p/bag/a1", nil},
		"no links": {[]Notice{notice(model.Raised, "broker-lost", "wickd/broker", model.PriorityHigh)}, "", nil},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			m := Compose(noon, nil, c.notices, links)
			assert.Equal(t, c.page, m.Page)
			var labels []string
			for _, a := range m.Answers {
				labels = append(labels, a.Label)
			}
			assert.Equal(t, c.labels, labels)
		})
	}
}
