package daemon

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
)

const (
	maxAnswer = 4 << 10 // bytes of a payload; a token has a few hundred
	maxNamed  = 200     // bytes of an occurrence or a name
)

// answer is the payload of the topic for answers.
type answer struct {
	Occurrence string `json:"occurrence,omitempty"` // which alert; with a token it may be left out
	Token      string `json:"token,omitempty"`      // the signature that the message carried
	By         string `json:"by,omitempty"`         // who answers, where no token says it
}

// The outcomes of an answer.
const (
	acknowledged = "acknowledged"
	already      = "already" // somebody had acknowledged it before
	over         = "over"
	refused      = "refused"
)

// reply is what came of an answer. It never repeats a token.
type reply struct {
	Outcome    string `json:"outcome"`
	Occurrence string `json:"occurrence,omitempty"`
	By         string `json:"by,omitempty"` // who acknowledged it
	Why        string `json:"why,omitempty"`

	reason string // label of the metrics: why nothing was changed; empty: it was
}

func (r reply) encode() []byte {
	body, _ := json.Marshal(r) // strings always encode
	return body
}

var errAnswer = errors.New(`the payload is not {"token": …}, or {"occurrence": …} where the broker is trusted`)

// parseAnswer reads exactly one JSON object of known keys. On an error the
// answer is empty. The error quotes nothing of the payload, which may hold a
// token.
func parseAnswer(payload []byte) (answer, error) {
	if len(payload) > maxAnswer || !utf8.Valid(payload) {
		return answer{}, fmt.Errorf("%w: it is too long, or no text", errAnswer)
	}
	var a *answer
	d := json.NewDecoder(bytes.NewReader(payload))
	d.DisallowUnknownFields()
	if d.Decode(&a) != nil || a == nil {
		return answer{}, errAnswer
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return answer{}, errAnswer
	}
	if len(a.Occurrence) > maxNamed || len(a.By) > maxNamed {
		return answer{}, fmt.Errorf("%w: a name in it is too long", errAnswer)
	}
	return *a, nil
}
