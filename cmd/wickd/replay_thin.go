package main

import (
	"slices"
	"time"
)

// How many points a line has at most: beyond, they lie closer than its stroke is
// wide. EC and pH come as probes read them, noise and all, and are shown as medians
// of a few hours sooner.
const (
	mostPoints     = 350
	mostCalmPoints = 80
)

// sample is a figure at a time, with the span in which it lies.
type sample struct {
	at             time.Time
	low, mid, high float64
}

// stretch is how long a point stands for where most of them stand beside each
// other over a length of time.
func stretch(length time.Duration, most int) time.Duration {
	const minute, hour, day = time.Minute, time.Hour, 24 * time.Hour
	for _, step := range []time.Duration{10 * minute, 20 * minute, hour / 2, hour, 2 * hour, 3 * hour, 4 * hour, 6 * hour, 12 * hour, day} {
		if length <= step*time.Duration(most) {
			return step
		}
	}
	return day * (1 + length/(day*time.Duration(most)))
}

// thinned gives for every step of time the medians: unlike a mean, a median keeps
// a leap as sharp as it is.
func thinned(all []sample, from time.Time, step time.Duration) []sample {
	if step <= time.Hour {
		return all
	}
	var out []sample
	for len(all) > 0 {
		part, n := all[0].at.Sub(from)/step, 1
		for n < len(all) && all[n].at.Sub(from)/step == part {
			n++
		}
		of := func(figure func(s sample) float64) float64 { return medianOf(all[:n], figure) }
		out = append(out, sample{
			at:  all[0].at.Add(all[n-1].at.Sub(all[0].at) / 2),
			low: of(func(s sample) float64 { return s.low }), mid: of(func(s sample) float64 { return s.mid }), high: of(func(s sample) float64 { return s.high }),
		})
		all = all[n:]
	}
	return out
}

// medianOf is the middle one of a figure, or between the two that are.
func medianOf[T any](all []T, figure func(s T) float64) float64 {
	values := make([]float64, len(all))
	for i, s := range all {
		values[i] = figure(s)
	}
	slices.Sort(values)
	n := len(values)
	return (values[(n-1)/2] + values[n/2]) / 2
}
