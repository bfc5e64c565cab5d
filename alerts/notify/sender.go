package notify

import (
	"context"
	"errors"
	"mime"
	"slices"
	"strings"
	"time"

	"github.com/nicholas-fedor/shoutrrr"
	"github.com/nicholas-fedor/shoutrrr/pkg/format"
	"github.com/nicholas-fedor/shoutrrr/pkg/types"

	"wickd/model"
)

// DefaultTimeout is how long a service has to take a message: mail servers that
// greet slowly on purpose take up to half a minute.
const DefaultTimeout = 30 * time.Second

// inFlight bounds the sends that hang beyond their timeout, which the library
// gives no means to end.
const inFlight = 16

// URLSender sends by service URL: push, chat, e-mail, SMS gateways, webhooks.
// It is safe for concurrent use.
type URLSender struct {
	timeout time.Duration
	slots   chan struct{}
}

var _ Sender = (*URLSender)(nil)

// NewURLSender builds a sender; a timeout of zero is DefaultTimeout.
func NewURLSender(timeout time.Duration) *URLSender {
	if timeout <= 0 {
		timeout = DefaultTimeout
	}
	return &URLSender{timeout: timeout, slots: make(chan struct{}, inFlight)}
}

// Check reports whether a URL names a service and is complete. It sends
// nothing, but a service that works with a session (matrix) logs in.
func (s *URLSender) Check(url string) error {
	_, err := locate(url)
	return err
}

// Send implements Sender. A send that is given up may still go through, so that
// a timeout can repeat a message but not lose it.
func (s *URLSender) Send(ctx context.Context, url string, m Message) error {
	ctx, cancel := context.WithTimeout(ctx, s.timeout)
	defer cancel()
	select {
	case s.slots <- struct{}{}:
	case <-ctx.Done():
		return &SendError{Reason: Timeout}
	}
	done := make(chan error, 1)
	go func() {
		defer func() { <-s.slots }()
		done <- send(url, m)
	}()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
		return &SendError{Reason: Timeout}
	}
}

// send ends when the library lets it.
func send(url string, m Message) error {
	service, err := locate(url) // some services log in here
	if err != nil {
		return err
	}
	if err := service.Send(m.Text, params(url, service, m)); err != nil {
		return classify(err)
	}
	return nil
}

// locate makes the service of a URL anew each time, because some of them keep
// the last title in themselves.
func locate(url string) (types.Service, error) {
	sender, err := shoutrrr.CreateSender()
	if err != nil {
		return nil, &SendError{Reason: BadURL}
	}
	service, err := sender.Locate(strings.TrimSpace(url))
	if err != nil {
		return nil, &SendError{Reason: BadURL}
	}
	return service, nil
}

// params passes title and priority to a service that knows them; the others
// refuse what they do not know.
func params(url string, service types.Service, m Message) *types.Params {
	p := types.Params{}
	scheme, _, _ := strings.Cut(strings.ToLower(strings.TrimSpace(url)), ":")
	if hasTitle(service) {
		title := clip(m.Title)
		if scheme == "smtp" {
			title = mime.QEncoding.Encode("utf-8", title) // RFC 2047; as it is when plain ASCII
		}
		p.SetTitle(title)
	}
	if level := priority(scheme, m.Priority); level != "" {
		p["priority"] = level
	}
	return &p
}

// hasTitle reports whether a service has a title or subject to set.
func hasTitle(service types.Service) bool {
	resolver := format.NewPropKeyResolver(format.GetServiceConfig(service))
	return slices.ContainsFunc(resolver.QueryFields(), func(key string) bool {
		return strings.EqualFold(key, types.TitleKey)
	})
}

// priority is what the push services call the urgent and the high, so that a
// phone rings for them. Their own default serves for the rest.
func priority(scheme string, p model.Priority) string {
	urgent, high := p == model.PriorityUrgent, p == model.PriorityHigh
	switch {
	case scheme == "ntfy" && urgent:
		return "max"
	case scheme == "ntfy" && high:
		return "high"
	case scheme == "gotify" && urgent:
		return "10"
	case scheme == "gotify" && high:
		return "7"
	case scheme == "pushover" && (urgent || high):
		return "1" // 2 would need a receipt to be fetched
	}
	return ""
}

// reasonOf is the label of an error of a Sender.
func reasonOf(err error) Reason {
	var e *SendError
	if errors.As(err, &e) {
		return e.Reason
	}
	return Rejected
}
