package sim

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkAdvance is one 10-min step of twelve bags, weather, noise and
// payloads included; days of all kinds are among them.
func BenchmarkAdvance(b *testing.B) {
	s, err := New(Options{Site: DemoSite(), Seed: 1, Start: time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)})
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		s.Advance()
	}
	require.NoError(b, s.Err())
}
