package ingest

import (
	"slices"
	"time"
)

// Settle closes the backlog at now and gives its rows in the order of handing
// on, each with the time it was laid out at, if it was.
//
// Laid out are, topic by topic, messages without a time of their own that
// came more than once and much faster than usual. n messages between the last
// reading seen (t₀) and now (t₁, the arrival of the topic's last) get
//
//	tᵢ = t₀ + i·(t₁−t₀)/(n+½),  i = 1…n
//
// because a sensor with period P that sent n messages sent the last one
// between 0 and P before now: the half makes that P/2, in the middle. None is
// laid out after its arrival.
func (b *Backlog) Settle(now time.Time) []Placement {
	byTopic := map[string][]int{}
	for i, row := range b.rows {
		if row.own.IsZero() && !row.retained {
			byTopic[row.topic] = append(byTopic[row.topic], i)
		}
	}
	taken := make([]time.Time, len(b.rows))
	for topic, rows := range byTopic {
		b.layOut(topic, rows, taken)
	}
	places := b.order(taken)
	for topic, rows := range byTopic {
		last := rows[len(rows)-1]
		b.topic(topic).move(later(taken[last], b.rows[last].arrived))
	}
	b.close(now)
	return places
}

// layOut sets the times of one topic's rows, unless they came as usual.
func (b *Backlog) layOut(topic string, rows []int, taken []time.Time) {
	n := len(rows)
	first, last := b.rows[rows[0]].arrived, b.rows[rows[n-1]].arrived
	start, usual := b.gap.From, time.Duration(0)
	if known := b.topics[topic]; known != nil && !known.last.IsZero() {
		usual = known.usual()
		start = known.last
	}
	if start.IsZero() {
		return // nothing is known of when it can have been sent
	}
	// What was queued was sent after the gap began: a sensor that had been
	// silent before it is laid out from there.
	if step := spacing(start, last, n); start.Add(step).Before(b.gap.From) {
		start = b.gap.From
	}
	step := spacing(start, last, n)
	if usual == 0 {
		usual = step
	}
	if n < 2 || step <= 0 || last.Sub(first) >= time.Duration(n-1)*usual/2 {
		return
	}
	for i, row := range rows {
		taken[row] = earlier(start.Add(time.Duration(i+1)*step), b.rows[row].arrived)
	}
}

func spacing(start, end time.Time, n int) time.Duration {
	return time.Duration(float64(end.Sub(start)) / (float64(n) + 0.5))
}

// order sorts the rows by when they were taken; those of one time keep the
// order in which they arrived.
func (b *Backlog) order(taken []time.Time) []Placement {
	index := make([]int, len(b.rows))
	keys := make([]time.Time, len(b.rows))
	for i, row := range b.rows {
		index[i], keys[i] = i, row.arrived
		switch {
		case !taken[i].IsZero():
			keys[i] = taken[i]
		case !row.own.IsZero() && row.own.Before(row.arrived):
			keys[i] = row.own
		}
	}
	slices.SortStableFunc(index, func(a, c int) int { return keys[a].Compare(keys[c]) })
	places := make([]Placement, len(index))
	for at, i := range index {
		places[at] = Placement{Seq: b.rows[i].seq, Taken: taken[i]}
	}
	return places
}

// close ends the backlog. One that was cut off by its bounds while the flow
// was still fast is followed by another.
func (b *Backlog) close(now time.Time) {
	if !b.calm(now) {
		b.armed = Gap{From: b.gap.From, To: now}
	}
	b.open, b.rows, b.recent = false, nil, nil
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
