package main

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"wickd/ingest"
	"wickd/model"
)

// longHole is longer than a site with a dozen sensors is ever silent.
const longHole = 6 * time.Hour

// hearing counts what the messages of a recording gave.
type hearing struct {
	readings int
	twice    int64
	hole     ingest.Gap // the longest
	refused  int        // messages of the site's sensors
	reasons  map[ingest.Reason]*example
}

// example is a reason why messages gave no reading, with the first of them.
type example struct {
	count  int
	line   int64
	sensor model.Subject
	detail string
}

func newHearing() *hearing { return &hearing{reasons: map[ingest.Reason]*example{}} }

func (h *hearing) hear(e ingest.Event) {
	if e.Record == nil {
		return
	}
	h.readings += len(e.Record.Readings)
	for _, r := range e.Record.Refusals {
		if r.Sensor == "" {
			continue // on a topic of no sensor
		}
		h.refused++
		if h.reasons[r.Reason] == nil {
			h.reasons[r.Reason] = &example{line: e.Record.Seq, sensor: r.Sensor, detail: r.Detail}
		}
		h.reasons[r.Reason].count++
	}
}

// tell says what was left out, and refuses a recording of which nothing could
// be read; times are those of the site.
func (h *hearing) tell(zone *time.Location, c console) error {
	if h.twice > 0 {
		note(c, "%s recorded twice, with the same time, topic and payload; each is used once", plural(int(h.twice), "message is", "messages are"))
	}
	if h.hole.Length() > longHole {
		note(c, "nothing was recorded for %.0f hours from %s on; if the recorder was off, the silence of the sensors in that time is its own",
			h.hole.Length().Hours(), h.hole.From.In(zone).Format("2006-01-02 15:04 MST"))
	}
	switch {
	case h.refused == 0:
	case h.readings == 0:
		return errors.New("replay: no message of the site's sensors could be read: " + h.why() +
			"; see to the unit, pointer or record of these sensors in the site file")
	default:
		note(c, "%s of the site's sensors could not be read: %s", plural(h.refused, "value", "values"), h.why())
	}
	return nil
}

// why lists the reasons, the most frequent first.
func (h *hearing) why() string {
	reasons := slices.SortedFunc(maps.Keys(h.reasons), func(a, b ingest.Reason) int {
		return cmp.Or(cmp.Compare(h.reasons[b].count, h.reasons[a].count), cmp.Compare(a, b))
	})
	var parts []string
	for _, reason := range reasons {
		x := h.reasons[reason]
		parts = append(parts, fmt.Sprintf("%s %d (first in line %d, %s: %s)", reason, x.count, x.line, x.sensor, x.detail))
	}
	return strings.Join(parts, "; ")
}
