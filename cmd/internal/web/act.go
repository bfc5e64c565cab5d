package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"time"
)

// Bounds of what a POST may carry.
const (
	maxBody       = 4 << 10
	maxOccurrence = 200
	maxName       = 100
	// MaxShelf is the longest time that an alert can be shelved for: shelving
	// ends by itself, so that nobody can silence an alert for good and forget it.
	MaxShelf = 7 * 24 * time.Hour
)

// AcknowledgeRequest is the body of POST /api/v1/acknowledge.
type AcknowledgeRequest struct {
	Occurrence string `json:"occurrence"`
	By         string `json:"by"` // who has seen it, as that person wants to be called
}

// ShelveRequest is the body of POST /api/v1/shelve.
type ShelveRequest struct {
	Occurrence string    `json:"occurrence"`
	Until      time.Time `json:"until"`
}

// UnshelveRequest is the body of POST /api/v1/unshelve.
type UnshelveRequest struct {
	Occurrence string `json:"occurrence"`
}

// Problem is the body of every answer that is not a success.
type Problem struct {
	Error string `json:"error"`
}

func (s *Server) acknowledge(w http.ResponseWriter, r *http.Request) {
	var body AcknowledgeRequest
	if !decode(w, r, &body) {
		return
	}
	if body.By == "" || len(body.By) > maxName {
		refuse(w, http.StatusBadRequest, fmt.Sprintf("by: a name of 1 to %d bytes is needed", maxName))
		return
	}
	if !validOccurrence(w, body.Occurrence) {
		return
	}
	s.answer(w, s.options.Operator.Acknowledge(r.Context(), body.Occurrence, body.By))
}

func (s *Server) shelve(w http.ResponseWriter, r *http.Request) {
	var body ShelveRequest
	if !decode(w, r, &body) || !validOccurrence(w, body.Occurrence) {
		return
	}
	now := s.options.Now()
	if !body.Until.After(now) || body.Until.After(now.Add(MaxShelf)) {
		refuse(w, http.StatusBadRequest, fmt.Sprintf("until: must lie ahead, by at most %d days", int(MaxShelf.Hours()/24)))
		return
	}
	s.answer(w, s.options.Operator.Shelve(r.Context(), body.Occurrence, body.Until))
}

func (s *Server) unshelve(w http.ResponseWriter, r *http.Request) {
	var body UnshelveRequest
	if !decode(w, r, &body) || !validOccurrence(w, body.Occurrence) {
		return
	}
	s.answer(w, s.options.Operator.Unshelve(r.Context(), body.Occurrence))
}

func validOccurrence(w http.ResponseWriter, occurrence string) bool {
	if occurrence == "" || len(occurrence) > maxOccurrence {
		refuse(w, http.StatusBadRequest, "occurrence: the identity of an open alert is needed, as wickd status prints it")
		return false
	}
	return true
}

func (s *Server) answer(w http.ResponseWriter, err error) {
	switch {
	case err == nil:
		w.WriteHeader(http.StatusNoContent)
	case errors.Is(err, ErrNoAlert):
		refuse(w, http.StatusNotFound, err.Error())
	case errors.Is(err, ErrNotAside):
		refuse(w, http.StatusConflict, ErrNotAside.Error())
	default:
		refuse(w, http.StatusInternalServerError, err.Error())
	}
}

// decode reads exactly one JSON document of known keys.
func decode(w http.ResponseWriter, r *http.Request, into any) bool {
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, maxBody))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		refuse(w, http.StatusBadRequest, fmt.Sprintf("the body is not what is expected: %v", err))
		return false
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		refuse(w, http.StatusBadRequest, "the body goes on after its document")
		return false
	}
	return true
}

func refuse(w http.ResponseWriter, status int, why string) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	// The client is gone if this fails, and there is nobody left to tell.
	_ = json.NewEncoder(w).Encode(Problem{Error: why})
}
