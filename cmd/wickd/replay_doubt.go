package main

import (
	"fmt"
	"slices"
	"time"

	"wickd/model"
)

// doubts say why a truth may be of another recording; none where nothing speaks
// for it. Probes err, and to show that is what a truth is for: so one bag far from
// its readings is nothing, and most of them are.
func (g gallery) doubts() []string {
	if g.truth == nil {
		return nil
	}
	return slices.Concat(g.otherBags(), g.farWater(), g.farVolume())
}

// otherBags are those that the site does not have. What the truth lacks may not
// have been measured.
func (g gallery) otherBags() []string {
	var foreign []string
	for id := range g.truth.water {
		if _, own := g.site.BagByID(id); !own {
			foreign = append(foreign, id)
		}
	}
	if len(foreign) == 0 {
		return nil
	}
	slices.Sort(foreign)
	return []string{fmt.Sprintf("it has %s that %s not in the site file, %s", plural(len(foreign), "bag", "bags"), pluralOf(len(foreign), "is", "are"), list(foreign))}
}

// farWater compares the water contents with the readings.
func (g gallery) farWater() []string {
	// A probe that is not calibrated for its mix errs by 0.03 to 0.05; a bag that is dry
	// and one that is fed lie 0.2 apart.
	const far = 0.1
	distant, known := 0, 0
	for _, b := range g.site.Bags {
		so, heard := g.truth.water[b.ID], g.story.readings[model.BagSubject(b.ID).Sensor(model.Moisture)]
		off, ok := apart(so, heard)
		if !ok {
			continue
		}
		if known++; off > far {
			distant++
		}
	}
	if 2*distant <= known {
		return nil
	}
	return []string{fmt.Sprintf("the water contents of %d of %s lie more than %.0f %% of the volume from their readings most of the time", distant, plural(known, "bag", "bags"), inPercent*far)}
}

// farVolume compares the reservoir's content with its estimate, which follows the
// level.
func (g gallery) farVolume() []string {
	const far = 0.15 // of what it holds
	if len(g.site.Reservoirs) != 1 || g.physics == nil {
		return nil
	}
	var held series
	for _, s := range g.story.hours {
		if m := s.Reservoirs[0].Volume; isKnown(m) {
			held.at, held.values = append(held.at, s.Time), append(held.values, m.Value)
		}
	}
	full := g.physics.Reservoirs[0].Full()
	if off, ok := apart(g.truth.volume, &held); !ok || off <= far*full {
		return nil
	}
	return []string{fmt.Sprintf("the reservoir's volume lies more than %.0f L from what its level says most of the time", far*full)}
}

// apart is the median distance of what was so from what came nearest in time,
// within an hour; false: they meet too seldom to say.
func apart(so, heard *series) (float64, bool) {
	if so == nil || heard == nil {
		return 0, false
	}
	var offs []float64
	for i, at := range so.at {
		if v, ok := heard.near(at, time.Hour); ok {
			offs = append(offs, max(v-so.values[i], so.values[i]-v))
		}
	}
	const enough = 3
	if len(offs) < enough {
		return 0, false
	}
	return medianOf(offs, func(v float64) float64 { return v }), true
}

// near is the value next to a time; the series is in the order of its times.
func (s *series) near(at time.Time, within time.Duration) (value float64, ok bool) {
	i, _ := slices.BinarySearchFunc(s.at, at, func(a, b time.Time) int { return a.Compare(b) })
	for _, j := range []int{i - 1, i} {
		if j < 0 || j >= len(s.at) {
			continue
		}
		if d := s.at[j].Sub(at).Abs(); d <= within {
			value, ok, within = s.values[j], true, d
		}
	}
	return value, ok
}
