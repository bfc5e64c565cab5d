package daemon

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/journal"
)

// What finds no room is written when there is some; that it waits is said once.
func TestRoomIsWaitedFor(t *testing.T) {
	t.Parallel()
	var log bytes.Buffer
	var told []bool
	now := time.Date(2026, 6, 8, 12, 0, 0, 0, time.UTC)
	full := fmt.Errorf("appending: %w", journal.ErrFull)
	var looked error
	r := &room{
		look: func(context.Context) error { return looked }, clock: func() time.Time { return now },
		log: slog.New(slog.NewTextHandler(&log, nil)), dir: "/data", again: time.Millisecond,
		filled: func(why error) { told = append(told, why != nil) },
	}
	tries := 0
	require.NoError(t, r.patiently(t.Context(), func() error {
		if tries++; tries < 4 {
			r.check(t.Context()) // there may be room for the look and none for what waits
			return full
		}
		return nil
	}))
	assert.Equal(t, 4, tries)
	assert.ErrorIs(t, r.wanted(), journal.ErrFull)
	assert.ErrorContains(t, r.wanted(), "/data has been full since Mon 8 Jun 12:00 UTC")
	assert.Equal(t, []bool{true}, told)
	looked = full
	r.check(t.Context())
	assert.Error(t, r.wanted())
	looked = nil
	r.check(t.Context())
	assert.NoError(t, r.wanted())
	assert.Equal(t, []bool{true, false}, told)
	assert.Equal(t, 1, strings.Count(log.String(), "level=ERROR"))

	broken := errors.New("disk on fire")
	assert.Equal(t, broken, r.patiently(t.Context(), func() error { return broken }), "waiting is of no use")
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	assert.ErrorIs(t, r.patiently(ctx, func() error { return full }), context.Canceled)
}
