package web

import (
	"errors"
	"net/http"
)

// Way is how an answer came.
type Way string

// The ways, which are also labels of the metrics.
const (
	ByLink    Way = "link"    // a link of a message was opened
	ByPage    Way = "page"    // a button of an alert's page, or of a push message that goes there
	ByCommand Way = "command" // wickd ack and wickd shelve
	ByMQTT    Way = "mqtt"    // the topic for answers
)

// Answer is one thing that somebody did about an alert, or tried to.
type Answer struct {
	Way    Way
	Action string // "open", "acknowledge", "shelve", "unshelve"
	Reason string // one word: why it changed nothing; empty: it was taken
}

// reason is the label of an error of a token or an Operator.
func reason(err error) string {
	switch {
	case err == nil:
		return ""
	case errors.Is(err, ErrExpired):
		return "expired"
	case errors.Is(err, ErrForged):
		return "forged"
	case errors.Is(err, ErrNoAlert):
		return "over"
	case errors.Is(err, ErrNotAside):
		return "not-aside"
	}
	return "failed"
}

// Reason is the label of an error of Signer.Open or of an Operator, for other
// ways in which answers come; empty: there is none.
func Reason(err error) string { return reason(err) }

// statused notes the status of an answer.
type statused struct {
	http.ResponseWriter
	status int
}

func (w *statused) WriteHeader(status int) {
	w.status = status
	w.ResponseWriter.WriteHeader(status)
}

// counted counts what comes of the requests of a command.
func (s *Server) counted(action string, next http.Handler) http.Handler {
	reasons := map[int]string{
		http.StatusNoContent: "", http.StatusBadRequest: "malformed", http.StatusUnsupportedMediaType: "malformed",
		http.StatusForbidden: "not-local", http.StatusNotFound: "over", http.StatusConflict: "not-aside",
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		noted := &statused{w, http.StatusOK}
		next.ServeHTTP(noted, r)
		why, known := reasons[noted.status]
		if !known {
			why = "failed"
		}
		s.options.Answered(Answer{ByCommand, action, why})
	})
}
