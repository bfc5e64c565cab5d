package expose_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"wickd/cmd/internal/expose"
)

func undelivered() []expose.Undelivered {
	return []expose.Undelivered{{Recipient: "keeper", Since: noon, Waiting: 2, Reason: "timeout"}}
}

// A channel has the series only while messages do not go through.
func TestWhomMessagesDoNotReachIsExposed(t *testing.T) {
	failing := undelivered()
	r := registry(t, expose.Options{Snapshot: snapshot, Undelivered: func() []expose.Undelivered { return failing }})
	const series = "wickd_notifications_undelivered_since_timestamp_seconds"
	assert.Contains(t, text(t, r), series+`{channel="keeper",reason="timeout"} 1.`)
	failing = nil
	assert.NotContains(t, text(t, r), series)
}
