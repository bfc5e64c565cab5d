package payload_test

import (
	"encoding/hex"
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/ingest/payload"
)

func FuzzSenMLJSON(f *testing.F) {
	for _, seed := range []string{section511, section512a, section512b, section513, `[{"n":"a","t":-1,"v":1e3}]`, `[{"x_":1}]`} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		samples, err := payload.DecodeSenMLJSON(raw, now)
		requireResolved(t, samples, err)
	})
}

func FuzzSenMLCBOR(f *testing.F) {
	for _, seed := range []string{section6, "81a200616102c48221196ab3", "9fa200616102182aff", "81a2616e61616176182a"} {
		raw, err := hex.DecodeString(seed)
		require.NoError(f, err)
		f.Add(raw)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		samples, err := payload.DecodeSenMLCBOR(raw, now)
		requireResolved(t, samples, err)
	})
}

// requireResolved writes the samples as resolved records (RFC 8428, section
// 4.6) in both encodings and wants the same samples back from both.
func requireResolved(t *testing.T, samples []payload.Sample, err error) {
	t.Helper()
	if err != nil {
		requireRefused(t, err)
		require.Empty(t, samples)
		return
	}
	for i, s := range samples {
		samples[i].Relative = false // once resolved, a time is absolute
		// Before 2^28 s a resolved time reads as relative; after 2^32 s a float64
		// no longer holds microseconds.
		if !s.Time.IsZero() && (s.Time.Unix() < 1<<28 || s.Time.Unix() > 1<<32) {
			return
		}
	}
	if len(samples) == 0 {
		return
	}
	asJSON, err := json.Marshal(resolved(samples))
	require.NoError(t, err)
	fromJSON, err := payload.DecodeSenMLJSON(asJSON, now.Add(time.Hour))
	require.NoError(t, err)
	fromCBOR, err := payload.DecodeSenMLCBOR(mustCBOR(t, resolved(samples)), now.Add(time.Hour))
	require.NoError(t, err)
	require.Equal(t, fromJSON, fromCBOR)
	require.ElementsMatch(t, samples, fromJSON)
}

// A body never panics, gives samples or a listed reason, and leaves the
// payload alone.
func FuzzBody(f *testing.F) {
	f.Add([]byte("21.5"), "", "")
	f.Add([]byte(`{"v": 1}`), "/v", "")
	f.Add([]byte(section513), "", "urn:dev:ow:10e2073a01080063")
	f.Fuzz(func(t *testing.T, raw []byte, pointer, record string) {
		selector := payload.Selector{Record: record, Fits: func(unit string) bool { return unit == "Cel" }}
		if p, err := payload.ParsePointer(pointer); err == nil && pointer != "" {
			selector.Pointer = &p
		}
		before := string(raw)
		samples, err := payload.NewBody(raw, now).Samples(selector)
		require.Equal(t, before, string(raw))
		if err != nil {
			requireRefused(t, err)
			require.Empty(t, samples)
			return
		}
		require.NotEmpty(t, samples)
		for _, s := range samples {
			require.True(t, record == "" || s.Name == record || selector.Pointer != nil)
		}
	})
}
