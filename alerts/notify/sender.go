package notify

import (
	"context"
	"errors"
	"strings"
	"time"

	"github.com/nicholas-fedor/shoutrrr"
	"github.com/nicholas-fedor/shoutrrr/pkg/services/email/smtp"
	"github.com/nicholas-fedor/shoutrrr/pkg/types"
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
		done <- send(ctx, url, m)
	}()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
		return &SendError{Reason: Timeout}
	}
}

// send ends when the library lets it.
func send(ctx context.Context, url string, m Message) error {
	service, err := locate(url) // some services log in here
	if err != nil {
		return err
	}
	if mailbox, ok := service.(*smtp.Service); ok {
		err = sendMail(ctx, mailbox.Config, m)
	} else {
		err = service.Send(m.Text, params(ctx, url, service, m))
	}
	if err != nil {
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

// reasonOf is the label of an error of a Sender.
func reasonOf(err error) Reason {
	var e *SendError
	if errors.As(err, &e) {
		return e.Reason
	}
	return Rejected
}
