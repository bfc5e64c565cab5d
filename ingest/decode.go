package ingest

import (
	"fmt"
	"time"

	"wickd/model"
)

// decode calls the decoder so that nothing a message holds can stall the flow:
// a message that the broker would send again and again after each crash is
// recorded as refused instead. Readings at a laid-out time are marked.
func decode(d Decoder, m Message) (readings []model.Reading, refusals []Refusal) {
	defer func() {
		if cause := recover(); cause != nil {
			readings = nil
			refusals = []Refusal{{Reason: ReasonDecoderFailed, Detail: fmt.Sprint(cause)}}
		}
	}()
	readings, refusals = d.Decode(m)
	if len(readings) == 0 && len(refusals) == 0 {
		refusals = []Refusal{{Reason: ReasonNothingDecoded}}
	}
	if m.Taken.IsZero() {
		return readings, refusals
	}
	for i := range readings {
		readings[i].Reconstructed = readings[i].Time.Equal(m.Taken)
	}
	return readings, refusals
}

// ownTime is the time that the payload carries, or zero.
func ownTime(d Decoder, m Message) (t time.Time) {
	defer func() {
		if recover() != nil { // Decode will meet the same payload and say so
			t = time.Time{}
		}
	}()
	if own, ok := d.OwnTime(m); ok {
		return own
	}
	return time.Time{}
}
