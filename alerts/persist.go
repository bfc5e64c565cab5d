package alerts

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"wickd/model"
)

// stateVersion is raised when older states can no longer be read.
const stateVersion = 1

// saved is the persisted form of an Engine.
type saved struct {
	Version int                         `json:"version"`
	Last    time.Time                   `json:"last"`
	Records []*record                   `json:"records"`
	Shelves map[model.Subject]time.Time `json:"shelves,omitempty"`
}

// MarshalState encodes everything the engine remembers. Equal engines give
// equal bytes.
func (e *Engine) MarshalState() ([]byte, error) {
	data, err := json.Marshal(saved{stateVersion, e.last, e.ordered(), e.shelves})
	if err != nil {
		return nil, fmt.Errorf("encode alert state: %w", err)
	}
	return data, nil
}

// RestoreState replaces what the engine remembers. A condition that no longer
// exists is dropped. On an error the engine is as it was.
func (e *Engine) RestoreState(data []byte) error {
	var s saved
	if err := json.Unmarshal(data, &s); err != nil {
		return fmt.Errorf("decode alert state: %w", err)
	}
	if s.Version != stateVersion {
		return fmt.Errorf("decode alert state: version %d is not %d, which this wickd writes", s.Version, stateVersion)
	}
	records := make(map[key]*record, len(s.Records))
	for _, r := range s.Records {
		if r == nil {
			return fmt.Errorf("decode alert state: a record is null")
		}
		if e.byName[r.Condition] != nil {
			records[key{r.Condition, r.Subject}] = r
		}
	}
	if s.Shelves == nil {
		s.Shelves = map[model.Subject]time.Time{}
	}
	e.last, e.records, e.shelves = s.Last, records, s.Shelves
	return nil
}

// ordered lists the records by subject and condition.
func (e *Engine) ordered() []*record {
	all := make([]*record, 0, len(e.records))
	for _, r := range e.records {
		all = append(all, r)
	}
	slices.SortFunc(all, func(a, b *record) int {
		return cmp.Or(cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Condition, b.Condition))
	})
	return all
}

// Shelf is a subject of which nothing is told until a time.
type Shelf struct {
	Subject model.Subject
	Until   time.Time
}

// Shelves lists the subjects that are put aside as a whole, whether anything is
// raised on them or not, in the order of their names.
func (e *Engine) Shelves() []Shelf {
	var all []Shelf
	for _, s := range slices.Sorted(maps.Keys(e.shelves)) {
		all = append(all, Shelf{s, e.shelves[s]})
	}
	return all
}

// Open lists the alerts that are not normal: the most urgent first, then the
// oldest.
func (e *Engine) Open() []State {
	var open []State
	for _, r := range e.ordered() {
		if r.status() != Normal {
			open = append(open, r.state(e.byName[r.Condition].Priority))
		}
	}
	slices.SortStableFunc(open, func(a, b State) int {
		return cmp.Or(cmp.Compare(rank(b.Priority), rank(a.Priority)), a.Raised.Compare(b.Raised))
	})
	return open
}
