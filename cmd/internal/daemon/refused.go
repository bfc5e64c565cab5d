package daemon

import (
	"log/slog"
	"strconv"
	"time"

	"wickd/ingest"
	"wickd/model"
)

// refusedEvery is how often the same complaint about the same sensor is logged:
// one that is broken sends for days.
const refusedEvery = time.Hour

// refusalLog logs payloads that gave no reading, or none that can be used. It belongs to one goroutine.
type refusalLog struct {
	log  *slog.Logger
	said map[complaint]*repeated
}

// complaint is what makes two refusals the same. Sensors and reasons are few.
type complaint struct {
	sensor model.Subject
	reason ingest.Reason
}

// repeated is when a complaint was logged last, and how often it came since.
type repeated struct {
	at   time.Time
	more int
}

func newRefusalLog(log *slog.Logger) *refusalLog {
	return &refusalLog{log: log, said: map[complaint]*repeated{}}
}

func (r *refusalLog) note(m ingest.Message, refusals []ingest.Refusal) {
	for _, refusal := range refusals {
		c := complaint{refusal.Sensor, refusal.Reason}
		before := r.said[c]
		if before != nil && m.Arrived.Sub(before.at) < refusedEvery {
			before.more++
			continue
		}
		attrs := []any{"sensor", refusal.Sensor, "topic", m.Topic, "reason", refusal.Reason, "err", refusal.Detail,
			"payload", excerpt(m.Payload), "bytes", len(m.Payload)}
		if before != nil {
			attrs = append(attrs, "same_since", before.more)
		}
		r.said[c] = &repeated{at: m.Arrived}
		r.log.Warn("a payload gave no reading that can be used; the next hour's of this sensor and reason are counted and not logged", attrs...)
	}
}

// excerpt is the beginning of a payload, on one line and in plain ASCII, however
// it was meant.
func excerpt(payload []byte) string {
	const most = 60
	cut := ""
	if len(payload) > most {
		payload, cut = payload[:most], "…"
	}
	quoted := strconv.QuoteToASCII(string(payload))
	return quoted[1:len(quoted)-1] + cut
}
