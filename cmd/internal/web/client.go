package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"
)

// maxDocument bounds what a client reads: some thousand bags and sensors.
const maxDocument = 32 << 20

// Client talks to a running daemon on the same machine.
type Client struct {
	Base string       // for example "http://127.0.0.1:9920"
	HTTP *http.Client // nil: one with a timeout of 10 s
}

// Snapshot asks for everything that the daemon knows.
func (c Client) Snapshot(ctx context.Context) (Document, error) {
	var d Document
	err := c.do(ctx, http.MethodGet, "/api/v1/snapshot", nil, &d)
	return d, err
}

// Acknowledge says that a person has seen an alert.
func (c Client) Acknowledge(ctx context.Context, occurrence, by string) error {
	return c.do(ctx, http.MethodPost, "/api/v1/acknowledge", AcknowledgeRequest{Occurrence: occurrence, By: by}, nil)
}

// Shelve silences an alert until a time.
func (c Client) Shelve(ctx context.Context, occurrence string, until time.Time) error {
	return c.do(ctx, http.MethodPost, "/api/v1/shelve", ShelveRequest{Occurrence: occurrence, Until: until}, nil)
}

// Unshelve takes an alert up again before its time.
func (c Client) Unshelve(ctx context.Context, occurrence string) error {
	return c.do(ctx, http.MethodPost, "/api/v1/unshelve", UnshelveRequest{Occurrence: occurrence}, nil)
}

func (c Client) do(ctx context.Context, method, path string, body, into any) error {
	request, err := c.request(ctx, method, path, body)
	if err != nil {
		return fmt.Errorf("ask the daemon: %w", err)
	}
	client := c.HTTP
	if client == nil {
		client = &http.Client{Timeout: 10 * time.Second}
	}
	answer, err := client.Do(request)
	if err != nil {
		return fmt.Errorf("ask the daemon: %w (is wickd running, and is this the address of its --listen?)", err)
	}
	defer answer.Body.Close()
	content := io.LimitReader(answer.Body, maxDocument)
	if answer.StatusCode >= http.StatusMultipleChoices {
		return refusal(answer, content)
	}
	if into == nil {
		return nil
	}
	if err := json.NewDecoder(content).Decode(into); err != nil {
		return fmt.Errorf("read the daemon's answer: %w", err)
	}
	return nil
}

func (c Client) request(ctx context.Context, method, path string, body any) (*http.Request, error) {
	var content io.Reader
	if body != nil {
		encoded, err := json.Marshal(body)
		if err != nil {
			return nil, err
		}
		content = bytes.NewReader(encoded)
	}
	r, err := http.NewRequestWithContext(ctx, method, strings.TrimSuffix(c.Base, "/")+path, content)
	if err != nil {
		return nil, err
	}
	if body != nil {
		r.Header.Set("Content-Type", "application/json")
	}
	return r, nil
}

// refusal is the daemon's own reason where it gave one. It is ErrNoAlert or
// ErrNotAside where the daemon says so.
func refusal(answer *http.Response, content io.Reader) error {
	var p Problem
	if err := json.NewDecoder(content).Decode(&p); err != nil || p.Error == "" {
		return fmt.Errorf("the daemon answers %s", answer.Status)
	}
	switch answer.StatusCode {
	case http.StatusNotFound:
		return fmt.Errorf("the daemon refuses: %w", ErrNoAlert)
	case http.StatusConflict:
		return fmt.Errorf("the daemon refuses: %w", ErrNotAside)
	}
	return fmt.Errorf("the daemon refuses: %s", p.Error)
}
