package notify

import (
	"wickd/alerts"
	"wickd/model"
)

// Links are how a recipient gets from a message to its alert.
type Links struct {
	Page    string  // where it can be looked at and answered; empty: nowhere
	Picture string  // where its picture is; empty: nowhere
	Answer  *Answer // how it is acknowledged at one touch; nil: it cannot be
}

// Answer is a request that acknowledges an alert, for a button of the push
// service's own: the phone sends it, to whoever can pass it on to wickd.
type Answer struct {
	Label       string // on the button
	URL         string // taken by POST
	ContentType string
	Body        string
}

// maxAnswers is how many buttons a push message can carry (ntfy's limit); a
// message of more alerts is answered on their pages.
const maxAnswers = 3

// link gives a message the links of its most urgent notice, and a button for
// each alert that stands.
func (m *Message) link(notices []Notice, links func(Notice) Links) {
	if notices[0].Kind != model.Cleared {
		first := links(notices[0])
		m.Page, m.Image = first.Page, first.Picture
	}
	if len(notices) > maxAnswers {
		return
	}
	for _, n := range notices {
		answer := links(n).Answer
		if answer == nil || n.Kind == model.Cleared {
			continue
		}
		a := *answer
		a.Label = "I take care of it"
		if len(notices) > 1 {
			a.Label = "I take care of " + alerts.Name(n.Subject)
		}
		m.Answers = append(m.Answers, a)
	}
}
