package alerts

import (
	"math"
	"slices"
	"time"

	"wickd/model"
)

// scene is what the conditions look at: one snapshot, the site it is of and
// which alerts stand, which hysteresis needs.
type scene struct {
	now     time.Time
	site    *model.Site
	horizon time.Duration
	snap    *model.Snapshot
	held    func(model.Condition, model.Subject) bool
}

func (sc *scene) bags(d *Definition, decide func(b *model.BagEstimate, held bool) Verdict) []finding {
	found := make([]finding, 0, len(sc.snap.Bags))
	for i := range sc.snap.Bags {
		b := &sc.snap.Bags[i]
		subject := model.BagSubject(b.Bag)
		found = append(found, finding{subject, decide(b, sc.held(d.Condition, subject))})
	}
	return found
}

func (sc *scene) channels(d *Definition, decide func(c *model.ChannelEstimate, held bool) Verdict) []finding {
	found := make([]finding, 0, len(sc.snap.Channels))
	for i := range sc.snap.Channels {
		c := &sc.snap.Channels[i]
		subject := model.ChannelSubject(c.Channel)
		found = append(found, finding{subject, decide(c, sc.held(d.Condition, subject))})
	}
	return found
}

// reservoirs decides for every reservoir that is both in the snapshot and in
// the site file, which holds the marks and targets.
func (sc *scene) reservoirs(d *Definition, decide func(r *model.ReservoirEstimate, built model.Reservoir, held bool) Verdict) []finding {
	found := make([]finding, 0, len(sc.snap.Reservoirs))
	for i := range sc.snap.Reservoirs {
		r := &sc.snap.Reservoirs[i]
		built, ok := sc.site.ReservoirByID(r.Reservoir)
		if !ok {
			continue
		}
		subject := model.ReservoirSubject(r.Reservoir)
		found = append(found, finding{subject, decide(r, built, sc.held(d.Condition, subject))})
	}
	return found
}

func (sc *scene) sensors(d *Definition, decide func(s *model.SensorHealth, held bool) Verdict) []finding {
	found := make([]finding, 0, len(sc.snap.Sensors))
	for i := range sc.snap.Sensors {
		s := &sc.snap.Sensors[i]
		found = append(found, finding{s.Sensor, decide(s, sc.held(d.Condition, s.Sensor))})
	}
	return found
}

// daemon decides for one part of the daemon itself.
func (sc *scene) daemon(d *Definition, part string, decide func(h *model.DaemonHealth, held bool) Verdict) []finding {
	subject := model.DaemonSubject(part)
	return []finding{{subject, decide(&sc.snap.Daemon, sc.held(d.Condition, subject))}}
}

// litresPer is the water in a bag per unit of water content: its filled
// volume, π/4·d²·length·fill, in L. Zero: the bag is not in the site file.
func (sc *scene) litresPer(bag string) float64 {
	b, ok := sc.site.BagByID(bag)
	if !ok {
		return 0
	}
	const mm3PerL = 1e6
	return math.Pi / 4 * b.Diameter * b.Diameter * b.Length * b.Fill / mm3PerL
}

// known reports whether the site file still has what a subject names.
func known(site *model.Site, s model.Subject) bool {
	owner := s.Owner()
	switch owner.Kind() {
	case model.KindDaemon:
		if n := outageNumber(s); n > 0 {
			return n <= mostOutages(len(site.AllSensors()))
		}
		return slices.Contains(daemonParts, s.ID())
	case model.KindBag:
		if _, ok := site.BagByID(owner.ID()); !ok || owner == s {
			return ok
		}
	case model.KindReservoir:
		if _, ok := site.ReservoirByID(owner.ID()); !ok || owner == s {
			return ok
		}
	case model.KindChannel:
		_, ok := site.ChannelByID(owner.ID())
		return ok
	}
	for _, sensor := range site.AllSensors() {
		if sensor.ID == s {
			return true
		}
	}
	return false
}
