package payload_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/ingest/payload"
)

// now is when the messages of these tests arrive.
var now = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

var reasons = []payload.Reason{
	payload.Empty, payload.TooLarge, payload.CommaDecimal, payload.NaN, payload.Infinite, payload.Null,
	payload.Unavailable, payload.NotANumber, payload.Overflow, payload.WrongFormat, payload.BadJSON,
	payload.BadCBOR, payload.DuplicateKey, payload.TooDeep, payload.NotFound, payload.BadTime,
	payload.BadSenML, payload.SenMLVersion, payload.MustUnderstand, payload.NoRecord, payload.Ambiguous,
}

// requireRefused asks for an error with one of the listed reasons: they are
// metric labels, so the list is closed.
func requireRefused(t *testing.T, err error) {
	t.Helper()
	require.Contains(t, reasons, payload.ReasonOf(err), err.Error())
}

func mustPointer(t testing.TB, text string) payload.Pointer {
	t.Helper()
	p, err := payload.ParsePointer(text)
	require.NoError(t, err)
	return p
}

// seconds is a time of so many seconds since 1970, to the microsecond.
func seconds(s float64) time.Time { return time.UnixMicro(int64(s*1e6 + 0.5)).UTC() }
