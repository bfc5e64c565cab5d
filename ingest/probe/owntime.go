package probe

import (
	"time"

	"wickd/ingest"
	"wickd/ingest/payload"
)

// OwnTime is the time that the payload itself carries for the first of its
// readings, if it carries a believable one. A time relative to now is none: it
// does not say when the message was sent. OwnTime changes no state.
func (d *Decoder) OwnTime(m ingest.Message) (time.Time, bool) {
	sources := d.byTopic[m.Topic]
	if len(sources) == 0 {
		return time.Time{}, false
	}
	body := payload.NewBody(m.Payload, m.Arrived)
	for _, s := range sources {
		samples, err := body.Samples(s.selector)
		if err != nil {
			continue
		}
		for _, sample := range samples {
			if !sample.Time.IsZero() && !sample.Relative && d.doubt(sample.Time, m.Arrived) == "" {
				return sample.Time.UTC(), true
			}
		}
	}
	return time.Time{}, false
}
