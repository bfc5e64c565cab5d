package daemon

import (
	"context"
	"errors"
	"log/slog"
	"sync/atomic"
	"time"

	"wickd/cmd/internal/config"
	"wickd/cmd/internal/expose"
	"wickd/cmd/internal/web"
	"wickd/ingest"
	"wickd/ingest/mqtt"
)

const (
	// answersWaiting are held while one is worked on: more come only from
	// something that does not stop, and readings must not wait behind them.
	answersWaiting = 64
	replyTimeout   = 5 * time.Second
)

// answers takes what people answer by MQTT. It is no reading: it is not
// journalled as a message, and a replay does not see it; what comes of it is a
// transition like any other answer's.
type answers struct {
	config.Ack
	open     func(token string) (web.Claim, error) // checks a signature
	alerts   func() []expose.AlertState
	operator web.Operator
	publish  func(ctx context.Context, topic string, payload []byte, retain bool) error
	count    func(web.Answer)
	log      *slog.Logger

	waiting   chan answered
	flooded   atomic.Bool // one was left out since the last time that none waited
	complaint string      // the last refusal logged; run's own
}

// answered is a message on the topic, and what to do when it has been taken.
type answered struct {
	message ingest.Message
	done    func()
}

func (d *Daemon) newAnswers() *answers {
	ack := d.o.Config.MQTT.Ack
	if ack == nil {
		return nil
	}
	return &answers{
		Ack: *ack, alerts: d.alertStates, operator: operator{d}, waiting: make(chan answered, answersWaiting),
		open:  func(token string) (web.Claim, error) { return d.signer.Open(token, d.o.Clock()) },
		count: d.answered, log: d.o.Log,
	}
}

// topics are those to subscribe to besides the sensors'.
func (a *answers) topics(sensors []string) []string {
	if a == nil {
		return sensors
	}
	return append(sensors, a.Topic)
}

// takes reports whether a message is an answer.
func (a *answers) takes(topic string) bool { return a != nil && topic == a.Topic }

// submit leaves a message for run; done is called when it has been taken. When
// too many wait it is left out: an alert that stays unanswered is told again.
func (a *answers) submit(m ingest.Message, done func()) {
	select {
	case a.waiting <- answered{m, done}:
	default:
		a.tally("too-many")
		if a.flooded.CompareAndSwap(false, true) {
			a.log.Warn("answers come faster than they can be taken, and some are left out; who publishes to the topic?", "topic", a.Topic)
		}
		done()
	}
}

// wait submits a message and waits until it has been taken.
func (a *answers) wait(ctx context.Context, m ingest.Message) error {
	taken := make(chan struct{})
	a.submit(m, func() { close(taken) })
	select {
	case <-taken:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// run takes answers until ctx ends. What waits then is not acknowledged, so a
// broker that keeps it sends it again.
func (a *answers) run(ctx context.Context) error {
	for {
		select {
		case <-ctx.Done():
			return nil
		case m := <-a.waiting:
			r := a.take(ctx, m.message)
			m.done()
			if len(a.waiting) == 0 {
				a.flooded.Store(false)
			}
			a.tally(r.reason)
			a.note(r)
			if err := a.reply(ctx, r); err != nil && ctx.Err() == nil {
				a.log.Warn("what came of an answer could not be published", "err", err)
			}
		}
	}
}

// note logs what came of an answer, but the same refusal only once in a row:
// whoever may publish could fill the log with them.
func (a *answers) note(r reply) {
	if r.Outcome == refused && r.Why == a.complaint {
		return
	}
	a.complaint = r.Why
	a.log.Info("an answer came by MQTT", "outcome", r.Outcome, "occurrence", r.Occurrence, "by", r.By, "why", r.Why)
}

func (a *answers) reply(ctx context.Context, r reply) error {
	ctx, cancel := context.WithTimeout(ctx, replyTimeout)
	defer cancel()
	return a.publish(ctx, a.Reply(), r.encode(), false)
}

func (a *answers) tally(reason string) {
	a.count(web.Answer{Way: web.ByMQTT, Action: string(web.Confirm), Reason: reason})
}

// take does what an answer asks, if it may.
func (a *answers) take(ctx context.Context, m ingest.Message) reply {
	if m.Retained {
		return reply{Outcome: refused, Why: "it was published with the retain flag: the broker would answer with it for ever; delete it there", reason: "retained"}
	}
	asked, err := parseAnswer(m.Payload)
	if err != nil {
		return reply{Outcome: refused, Why: err.Error(), reason: "malformed"}
	}
	occurrence, by, err := a.allowed(asked)
	r := reply{Occurrence: occurrence, By: by}
	if err != nil {
		r.Outcome, r.Why, r.reason = refused, err.Error(), reasonOf(err)
		return r
	}
	for _, s := range a.alerts() {
		if s.Occurrence == occurrence && s.By != "" {
			r.Outcome, r.By, r.reason = already, s.By, "already"
			return r
		}
	}
	err = a.operator.Acknowledge(context.WithoutCancel(ctx), occurrence, by)
	switch r.reason = reasonOf(err); {
	case err == nil:
		r.Outcome = acknowledged
	case errors.Is(err, web.ErrNoAlert):
		r.Outcome, r.Why = over, "the alert is over, or never was"
	default:
		r.Outcome, r.Why = refused, "wickd has trouble of its own; try again"
	}
	return r
}

// unallowed is why an answer is not taken: in words, and in one for the metrics.
type unallowed struct{ reason, text string }

func (u unallowed) Error() string { return u.text }

func reasonOf(err error) string {
	var u unallowed
	if errors.As(err, &u) {
		return u.reason
	}
	return web.Reason(err)
}

// allowed says whose answer to which occurrence it is. The signature is that of
// a button: the link of a message, which opens without anybody's intent when it
// is looked at by a mail scanner, is none.
func (a *answers) allowed(asked answer) (occurrence, by string, err error) {
	if asked.Token == "" {
		switch {
		case !a.Trusted:
			return asked.Occurrence, "", unallowed{"unsigned", "it has no token, and the site file does not say that the broker is trusted (mqtt.ack.trusted)"}
		case asked.Occurrence == "":
			return "", "", unallowed{"malformed", "it names no occurrence"}
		case asked.By == "":
			return asked.Occurrence, "somebody by MQTT", nil
		}
		return asked.Occurrence, asked.By, nil
	}
	claim, err := a.open(asked.Token)
	switch {
	case err != nil:
		return asked.Occurrence, "", err
	case claim.Action != web.Confirm:
		return asked.Occurrence, "", unallowed{"wrong-token", "its token is not one that acknowledges"}
	case asked.Occurrence != "" && asked.Occurrence != claim.Occurrence:
		return asked.Occurrence, "", unallowed{"wrong-token", "its token is for another alert"}
	}
	return claim.Occurrence, claim.Recipient, nil
}

// sorting is an intake that keeps answers apart from what sensors send.
type sorting struct {
	answers *answers
	sensors mqtt.Intake
}

var _ mqtt.Intake = sorting{}

// Submit implements mqtt.Intake.
func (s sorting) Submit(ctx context.Context, m ingest.Message, ack func()) error {
	if s.answers.takes(m.Topic) {
		s.answers.submit(m, ack)
		return nil
	}
	return s.sensors.Submit(ctx, m, ack)
}
