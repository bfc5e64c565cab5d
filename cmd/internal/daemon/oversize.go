package daemon

import (
	"log/slog"
	"sync"
	"time"
)

// oversize notes messages that are larger than any reading. They are
// acknowledged and dropped, or they would come again for ever.
type oversize struct {
	log   *slog.Logger
	count func(topic string)

	mu   sync.Mutex
	said map[string]bool // by topic; those of the site are not many
}

// note counts a message, and logs the first of its topic.
func (o *oversize) note(_ time.Time, topic string, bytes int) {
	o.count(topic)
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.said[topic] {
		return
	}
	o.said[topic] = true
	o.log.Warn("message refused: larger than any reading; see to what publishes there; more of them are counted and not logged", "topic", topic, "bytes", bytes)
}
