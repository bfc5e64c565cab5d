package climate

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"
)

// state is the checkpoint of a Tracker. Counts and sums rather than means, so
// that what is restored goes on exactly as if it had never stopped.
type state struct {
	BinSeconds int64      `json:"bin_seconds"`
	Bins       []binState `json:"bins"`
}

type binState struct {
	Bin    int64               `json:"bin"`
	Counts [quantities]int64   `json:"counts"`
	Sums   [quantities]float64 `json:"sums"`
}

// MarshalJSON writes the memory, oldest bin first.
func (tr *Tracker) MarshalJSON() ([]byte, error) {
	s := state{BinSeconds: int64(binWidth / time.Second), Bins: []binState{}}
	for _, h := range tr.hours {
		for i, b := range h.bins {
			if b != (bin{}) {
				s.Bins = append(s.Bins, stateOf(h.key*binsPerHour+int64(i), b))
			}
		}
	}
	slices.SortFunc(s.Bins, func(a, b binState) int { return int(a.Bin - b.Bin) })
	return json.Marshal(s)
}

// UnmarshalJSON replaces the memory. Read into a Demand made by New: its own
// length of memory and age limit stay, and bins that no longer fit are
// dropped. On an error the memory is left as it was.
func (tr *Tracker) UnmarshalJSON(data []byte) error {
	var s state
	if err := json.Unmarshal(data, &s); err != nil {
		return fmt.Errorf("weather memory: %w", err)
	}
	if s.BinSeconds != int64(binWidth/time.Second) {
		return fmt.Errorf("weather memory: bins of %d s, want %v: written by another version", s.BinSeconds, binWidth)
	}
	for i, b := range s.Bins {
		if err := b.validate(); err != nil {
			return fmt.Errorf("weather memory: bin %d: %w", b.Bin, err)
		}
		if i > 0 && b.Bin <= s.Bins[i-1].Bin {
			return fmt.Errorf("weather memory: bin %d comes after bin %d", b.Bin, s.Bins[i-1].Bin)
		}
	}
	if len(tr.hours) == 0 {
		o := Options{}.withDefaults()
		*tr = *newTracker(o.Days, o.MaxAge)
	}
	tr.clear()
	for _, b := range s.Bins {
		tr.add(b.Bin, b.bin())
	}
	return nil
}

func stateOf(key int64, b bin) binState {
	s := binState{Bin: key}
	for q, c := range b {
		s.Counts[q], s.Sums[q] = c.count, c.sum
	}
	return s
}

func (s binState) bin() bin {
	var b bin
	for q := range b {
		b[q] = column{count: s.Counts[q], sum: s.Sums[q]}
	}
	return b
}

func (b binState) validate() error {
	const century = 200 * 366 * 24 * binsPerHour
	if b.Bin < -century || b.Bin > century {
		return errors.New("not a time of this age")
	}
	for q := range quantities {
		if b.Counts[q] < 0 {
			return errors.New("negative count")
		}
		if b.Counts[q] == 0 && b.Sums[q] != 0 {
			return errors.New("a sum of nothing")
		}
		low, high := plausible(q)
		mean := column{count: b.Counts[q], sum: b.Sums[q]}.mean()
		if b.Counts[q] > 0 && !(mean >= low && mean <= high) || math.IsInf(b.Sums[q], 0) {
			return fmt.Errorf("mean %v is not weather", mean)
		}
	}
	return nil
}
