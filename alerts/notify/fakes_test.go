package notify

import (
	"cmp"
	"context"
	"errors"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/model"
)

// noon is a Tuesday.
var noon = time.Date(2026, 6, 2, 12, 0, 0, 0, time.UTC)

func transition(kind model.Change, c model.Condition, s model.Subject, p model.Priority) model.Transition {
	return model.Transition{
		Time: noon, Occurrence: string(c) + "|" + string(s) + "|2026-06-02T12:00:00Z", Condition: c, Subject: s,
		Kind: kind, Priority: p, Since: noon,
		Message: model.Message{Headline: string(kind) + " " + string(s), Why: "Because.", Action: "Do this."},
	}
}

func raised(s model.Subject, p model.Priority) model.Transition {
	return transition(model.Raised, "bag-dry", s, p)
}

func person(id string) Recipient {
	return Recipient{ID: id, URL: func() (string, error) { return "test://" + id, nil }}
}

// shelf is an outbox in memory, with the unique key of the real one.
type shelf struct {
	mu      sync.Mutex
	rows    []row
	keys    map[string]bool
	failSet error // of MarkSent
	failDue error
}

type row struct {
	Item
	sent   time.Time
	reason string
}

func (s *shelf) put(deliveries []Delivery) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, d := range deliveries {
		if s.keys[d.Key] {
			continue
		}
		if s.keys == nil {
			s.keys = map[string]bool{}
		}
		s.keys[d.Key] = true
		s.rows = append(s.rows, row{Item: Item{ID: int64(len(s.rows) + 1), Key: d.Key, Recipient: d.Recipient, Body: d.Body, NotBefore: d.NotBefore}})
	}
}

func (s *shelf) Due(_ context.Context, now time.Time, limit int) ([]Item, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	var due []Item
	for _, r := range s.rows {
		if r.sent.IsZero() && !r.NotBefore.After(now) && len(due) < limit {
			due = append(due, r.Item)
		}
	}
	return due, s.failDue
}

func (s *shelf) MarkSent(_ context.Context, id int64, at time.Time) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.failSet == nil {
		s.rows[id-1].sent = at
	}
	return s.failSet
}

func (s *shelf) MarkFailed(_ context.Context, id int64, reason string, notBefore time.Time) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	r := &s.rows[id-1]
	r.Attempts++
	r.NotBefore, r.reason = notBefore, reason
	return nil
}

func (s *shelf) Drop(_ context.Context, id int64, reason string, at time.Time) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	r := &s.rows[id-1]
	r.sent, r.reason = at, reason
	return nil
}

func (s *shelf) unsent() (n int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, r := range s.rows {
		if r.sent.IsZero() {
			n++
		}
	}
	return n
}

func (s *shelf) breakWith(err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.failSet = err
}

// post records what is sent, and fails when told to.
type post struct {
	mu    sync.Mutex
	clock func() time.Time
	fail  func(url string) error
	sent  []sent
	tries int
}

type sent struct {
	at  time.Time
	url string
	Message
}

func (p *post) Send(_ context.Context, url string, m Message) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.tries++
	if p.fail != nil {
		if err := p.fail(url); err != nil {
			return err
		}
	}
	p.sent = append(p.sent, sent{p.clock(), url, m})
	return nil
}

func (p *post) to(id string) []sent {
	p.mu.Lock()
	defer p.mu.Unlock()
	var own []sent
	for _, s := range p.sent {
		if s.url == "test://"+id {
			own = append(own, s)
		}
	}
	slices.SortFunc(own, func(a, b sent) int { return cmp.Compare(a.at.UnixNano(), b.at.UnixNano()) })
	return own
}

func (p *post) failWith(fail func(url string) error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.fail = fail
}

// house is a dispatcher with its outbox and post, inside a synctest bubble.
type house struct {
	beforeRun  func() // with the dispatcher made and not running; nil: nothing
	t          *testing.T
	clock      func() time.Time
	outbox     *shelf
	post       *post
	recipients []Recipient
	options    Options
	sender     Sender // nil: post
	d          *Dispatcher
	stop       func()
}

// open starts a dispatcher; again after stop it is a restart.
func (h *house) open() {
	h.t.Helper()
	o := h.options
	o.Outbox, o.Recipients, o.Sender, o.Clock = h.outbox, h.recipients, h.post, h.clock
	if h.sender != nil {
		o.Sender = h.sender
	}
	o.Rand = rand.New(rand.NewPCG(1, 2))
	d, err := New(o)
	require.NoError(h.t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	h.d = d
	if h.beforeRun != nil {
		h.beforeRun()
	}
	go func() { done <- d.Run(ctx) }()
	h.stop = func() {
		cancel()
		require.NoError(h.t, <-done)
	}
}

func newHouse(t *testing.T, recipients ...Recipient) *house {
	t.Helper()
	// The bubble's clock starts at a fixed time; it is moved to noon.
	start := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	clock := func() time.Time { return noon.Add(time.Since(start)) }
	return &house{t: t, clock: clock, outbox: &shelf{}, post: &post{clock: clock}, recipients: recipients}
}

func (h *house) tell(transitions ...model.Transition) {
	h.t.Helper()
	for i := range transitions {
		transitions[i].Time = h.clock()
	}
	planned, err := Plan(h.clock(), Tell(transitions, nil), h.recipients)
	require.NoError(h.t, err)
	h.outbox.put(planned)
	h.d.Poke()
}

var errDown = &SendError{Reason: Refused}

func down(string) error { return errDown }

var errDisk = errors.New("disk is full")
