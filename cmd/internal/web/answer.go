package web

import (
	"bytes"
	"errors"
	"net/http"
	"time"
)

// ButtonKey is the form's field that holds the token of the pressed button.
const ButtonKey = "do"

// shelvings are what the page offers: over a meal, over a night, over a day.
var shelvings = [...]struct {
	label string
	span  time.Duration
}{{"2 hours", 2 * time.Hour}, {"8 hours", 8 * time.Hour}, {"a day", 24 * time.Hour}}

// alert shows one alert to whoever holds its link. It changes nothing, so that
// a mail scanner that follows links does no harm.
func (s *Server) alert(w http.ResponseWriter, r *http.Request) {
	claim, err := s.holder(w, r)
	s.options.Answered(Answer{ByLink, "open", reason(err)})
	if err != nil {
		return
	}
	s.writeAlert(w, r, http.StatusOK, claim, "")
}

// answerAlert takes a button of that page. The link in the path must be good,
// and so must the button's own token, for the same alert and the same person.
func (s *Server) answerAlert(w http.ResponseWriter, r *http.Request) {
	claim, err := s.holder(w, r)
	if err != nil {
		s.options.Answered(Answer{ByPage, "", reason(err)})
		return
	}
	r.Body = http.MaxBytesReader(w, r.Body, maxBody)
	button, err := s.options.Signer.Open(r.PostFormValue(ButtonKey), s.options.Now())
	if err == nil && (button.Occurrence != claim.Occurrence || button.Recipient != claim.Recipient || !button.Action.button()) {
		err = ErrForged
	}
	if err != nil {
		s.options.Answered(Answer{ByPage, "", reason(err)})
		said := "Nothing was done: this button is not of this page. Open the link in the message again."
		if errors.Is(err, ErrExpired) {
			said = "Nothing was done: the page had been open for too long. Try again."
		}
		s.writeAlert(w, r, http.StatusForbidden, claim, said)
		return
	}
	status, said, why := s.take(r, button)
	s.options.Answered(Answer{ByPage, string(button.Action), why})
	s.writeAlert(w, r, status, claim, said)
}

// button reports whether an action is one of the page's buttons.
func (a Action) button() bool { return a == Confirm || a == PutAside || a == TakeUp }

// take does what a button asks and says what came of it: in words, and in one
// word why nothing was changed.
func (s *Server) take(r *http.Request, button Claim) (status int, said, why string) {
	c := clock{s.options.Now(), s.options.TimeZone}
	before, open := s.find(button.Occurrence)
	var err error
	switch button.Action {
	case Confirm:
		if open && before.By != "" {
			return http.StatusOK, "It was acknowledged already, by " + before.By + ". Nothing was changed.", "already"
		}
		err = s.options.Operator.Acknowledge(r.Context(), button.Occurrence, button.Recipient)
		said = "Acknowledged. You will not be reminded of it again."
	case PutAside:
		if !button.Until.After(c.now) {
			return http.StatusGone, "Nothing was done: the time to put it aside for is over.", "expired"
		}
		err = s.options.Operator.Shelve(r.Context(), button.Occurrence, button.Until)
		said = "Put aside until " + c.moment(button.Until) + "."
	case TakeUp:
		if open && before.State != "shelved" {
			return http.StatusOK, "It was taken up already. Nothing was changed.", "not-aside"
		}
		err = s.options.Operator.Unshelve(r.Context(), button.Occurrence)
		said = "Taken up again."
	}
	switch {
	case err == nil:
		return http.StatusOK, said, ""
	case errors.Is(err, ErrNoAlert):
		return http.StatusOK, "There was nothing to do: the alert is over.", reason(err)
	case errors.Is(err, ErrNotAside):
		return http.StatusOK, "It was taken up already. Nothing was changed.", reason(err)
	}
	s.options.Log.Error("an answer from the page was not taken", "action", button.Action, "error", err)
	return http.StatusInternalServerError, "It could not be done. wickd may have trouble of its own; try again.", reason(err)
}

// holder checks the link of a request; after an error it has been answered.
func (s *Server) holder(w http.ResponseWriter, r *http.Request) (Claim, error) {
	claim, err := s.options.Signer.Open(r.PathValue("token"), s.options.Now())
	if err == nil && claim.Action != Look {
		err = ErrForged
	}
	switch {
	case err == nil:
		return claim, nil
	case errors.Is(err, ErrExpired):
		s.write(w, http.StatusGone, "refusal.html", refusalView{s.options.SiteName, "This link is too old",
			"A link opens its alert for a week. If the alert still stands, newer messages carry a newer link."})
	default:
		s.write(w, http.StatusForbidden, "refusal.html", refusalView{s.options.SiteName, "This link is not good",
			"It was changed or cut off on its way, or it is not from this wickd. Open the whole link of the message."})
	}
	return Claim{}, err
}

// refusalView is the page of a link that opens nothing.
type refusalView struct{ Site, Title, Text string }

// linked refuses when no links are signed.
func (s *Server) linked(next http.HandlerFunc) http.Handler {
	if s.options.Signer == nil || s.options.Operator == nil {
		return http.NotFoundHandler()
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", policy("form-action 'self'"))
		w.Header().Set("X-Robots-Tag", "noindex")
		next(w, r)
	})
}

// write answers with a page. It is written to memory first, so that a fault
// shows as an error and not as half a page.
func (s *Server) write(w http.ResponseWriter, status int, page string, content any) {
	var out bytes.Buffer
	if err := s.pages.ExecuteTemplate(&out, page, content); err != nil {
		s.options.Log.Error("write a page", "page", page, "error", err)
		http.Error(w, "the page cannot be written", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(out.Bytes())
}
