package alertmanager

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"time"

	"wickd/alerts"
)

// posted is an alert as POST /api/v2/alerts takes it (postableAlert of its
// OpenAPI file).
type posted struct {
	Labels       map[string]string `json:"labels"`
	Annotations  map[string]string `json:"annotations"`
	StartsAt     time.Time         `json:"startsAt"`
	EndsAt       time.Time         `json:"endsAt"`
	GeneratorURL string            `json:"generatorURL,omitempty"`
}

// posting is an alert in the server's terms; it ends unless it is posted again.
func (p *Pusher) posting(s alerts.State, now time.Time) posted {
	a := posted{
		Labels: map[string]string{
			"alertname": string(s.Condition), "site": p.o.Site, "subject": string(s.Subject),
			"severity": string(s.Priority), "source": "wickd",
		},
		Annotations:  map[string]string{},
		StartsAt:     s.Raised,
		EndsAt:       now.Add(lives * p.o.Every),
		GeneratorURL: p.o.Page(s, now),
	}
	for name, text := range map[string]string{
		"summary": s.Message.Headline, "description": s.Message.Why, "action": s.Message.Action,
		"caution": s.Message.Caution, "cause": string(s.Cause), "acknowledged_by": s.By,
	} {
		if text != "" {
			a.Annotations[name] = text
		}
	}
	return a
}

// post hands alerts over. Its errors are in words of its own, because those of
// the client quote the URL.
func (p *Pusher) post(ctx context.Context, all []posted) error {
	body, err := json.Marshal(all)
	if err != nil {
		return fmt.Errorf("write alerts for the Alertmanager: %w", err)
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, p.o.URL, bytes.NewReader(body))
	if err != nil {
		return &PostError{Reason: Refused}
	}
	r.Header.Set("Content-Type", "application/json")
	if p.o.Username != "" {
		password, err := p.o.Password()
		if err != nil {
			return fmt.Errorf("read the Alertmanager's password: %w", err)
		}
		r.SetBasicAuth(p.o.Username, password)
	}
	answer, err := p.o.Client.Do(r)
	if err != nil {
		return &PostError{Reason: Refused}
	}
	defer answer.Body.Close()
	_, _ = io.CopyN(io.Discard, answer.Body, 64<<10) // so that the connection can be used again
	switch code := answer.StatusCode; {
	case code == http.StatusUnauthorized || code == http.StatusForbidden:
		return &PostError{Auth, code}
	case code < 200 || code > 299:
		return &PostError{Rejected, code}
	}
	return nil
}

// Reason says in one word why a post failed.
type Reason string

// The reasons, which are also labels of the metrics.
const (
	Refused  Reason = "refused"  // no connection, or no answer in time
	Auth     Reason = "auth"     // the server does not know us
	Rejected Reason = "rejected" // the server answered and did not take it
)

// PostError is why alerts were not handed over.
type PostError struct {
	Reason Reason
	Code   int // of HTTP, if there was an answer
}

func (e *PostError) Error() string {
	switch e.Reason {
	case Auth:
		return fmt.Sprintf("hand alerts to the Alertmanager: it answers %d; check username and password under notify.alertmanager", e.Code)
	case Rejected:
		return fmt.Sprintf("hand alerts to the Alertmanager: it answers %d; check that notify.alertmanager.url is its base URL", e.Code)
	}
	return "hand alerts to the Alertmanager: no answer; check notify.alertmanager.url, the network and that the server runs"
}
