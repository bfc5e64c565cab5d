package estimate

import "time"

// history keeps what a bag took at each full hour of the last day and a bit.
type history struct {
	Hours []hour
}

type hour struct {
	At        time.Time
	Uptake    float64 // L since the start
	Potential float64
	LnHealth  float64
}

const historyHours = 26

// record notes the state at a full hour; other times are passed over.
func (h *history) record(t time.Time, uptake, potential, lnHealth float64) {
	if !t.Equal(t.Truncate(time.Hour)) {
		return
	}
	if n := len(h.Hours); n > 0 && !h.Hours[n-1].At.Before(t) {
		return
	}
	h.Hours = append(h.Hours, hour{t, uptake, potential, lnHealth})
	if len(h.Hours) > historyHours {
		h.Hours = h.Hours[len(h.Hours)-historyHours:]
	}
}

// lower takes litres back that were not drunk by a full hour.
func (h *history) lower(t time.Time, litres float64) {
	for i := range h.Hours {
		if e := &h.Hours[i]; e.At.Equal(t) {
			e.Uptake, e.Potential = e.Uptake-litres, e.Potential-litres
		}
	}
}

// dayAgo is the latest entry at least 24 h before t, or the oldest there is.
func (h *history) dayAgo(t time.Time) (hour, bool) {
	if len(h.Hours) == 0 {
		return hour{}, false
	}
	best := h.Hours[0]
	for _, e := range h.Hours {
		if t.Sub(e.At) >= 24*time.Hour {
			best = e
		}
	}
	return best, true
}
