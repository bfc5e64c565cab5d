package daemon

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whatever comes over the topic is refused with an empty answer, or is one that
// says the same when it is written and read again.
func FuzzParseAnswer(f *testing.F) {
	for _, seed := range []string{
		`{"occurrence":"bag-dry|bag/p1|2026-05-12T10:00:00Z","token":"e30.AAAA"}`, `{"by":"caretaker"}`, `{}`, `null`, `[]`, `{"a":1}`,
		`{"token":"\u0000"} {"token":""}`, `{"Token":"x","token":"y"}`, "{\"by\":\"\xff\"}",
		`{"occurrence":"a"}]`, `{"occurrence":"a"}} {"token":"x"}`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, payload []byte) {
		a, err := parseAnswer(payload)
		if err != nil {
			require.Empty(t, a)
			return
		}
		assert.LessOrEqual(t, len(a.Occurrence), maxNamed)
		written, err := json.Marshal(a)
		require.NoError(t, err)
		if len(written) > maxAnswer {
			return // letters that JSON writes longer than they were
		}
		again, err := parseAnswer(written)
		require.NoError(t, err)
		assert.Equal(t, a, again)
	})
}
