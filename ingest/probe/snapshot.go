package probe

import (
	"fmt"
	"maps"
	"time"

	"wickd/model"
)

// Useless messages make a sensor implausible when there are several in a row
// over some time: one bad conversion, or a burst of them, is nothing to act on.
const (
	leastUseless     = 3
	leastUselessTime = 15 * time.Minute
)

func (u *Useless) add(why model.Verdict, at time.Time) {
	if u.Count == 0 {
		u.Since = at.UTC()
	}
	u.Count++
	u.Last, u.Why = at.UTC(), why
}

func (u *Useless) implausible() bool {
	return u.Count >= leastUseless && u.Last.Sub(u.Since) >= leastUselessTime
}

// Snapshot is the health of every sensor in the order in which they were given,
// as the events up to the last Tick have it; now only dates the evidence. It
// shares no memory with h.
func (h *Health) Snapshot(now time.Time) []model.SensorHealth {
	all := make([]model.SensorHealth, len(h.state.Sensors))
	for i := range h.state.Sensors {
		all[i] = h.describe(&h.state.Sensors[i], now)
	}
	return all
}

func (h *Health) describe(s *SensorState, now time.Time) model.SensorHealth {
	health := model.SensorHealth{
		Sensor:      s.Sensor,
		LastMessage: s.LastMessage,
		LastGood:    s.LastGood,
		Expected:    s.Silence.Expected,
		Silent:      s.Silence.Silent,
		Together:    s.Silence.Together,
		Stuck:       s.Run.Stuck,
		Implausible: s.Useless.implausible(),
		Value:       s.Value,
		Behind:      s.Lag.behind(),
		Refused:     maps.Clone(s.Refused),
	}
	if health.Stuck {
		health.StuckSince = s.Run.Since
	}
	if health.Implausible {
		health.Since = s.Useless.Since
	}
	health.Cause, health.Evidence = h.explain(s, health, now)
	return health
}

// explain gives the first that holds: nothing else can be known of a silent
// sensor, and little of one that sends nothing usable.
func (h *Health) explain(s *SensorState, health model.SensorHealth, now time.Time) (model.Cause, string) {
	switch {
	case health.Silent:
		return model.CauseProbeSilent, h.silentEvidence(s, now)
	case health.Implausible:
		return "", fmt.Sprintf("the last %d messages in a row brought nothing usable, the last one: %s", s.Useless.Count, s.Useless.Why)
	case health.Stuck:
		return model.CauseProbeStuck, stuckEvidence(&s.Run)
	case s.Run.Pairs >= leastPairs && !s.Run.judgeable(s.Silence.Expected):
		return "", fmt.Sprintf("whether it is stuck cannot be judged: %s of its readings repeat the one before", percent(s.Run.repeats()))
	}
	return "", ""
}

func (h *Health) silentEvidence(s *SensorState, now time.Time) string {
	if s.LastMessage.IsZero() {
		return fmt.Sprintf("nothing has come from it in the %s since listening began", span(now.Sub(h.state.Start)))
	}
	text := fmt.Sprintf("nothing has come from it for %s", span(now.Sub(s.LastMessage)))
	if s.Silence.Expected > 0 {
		text += fmt.Sprintf("; it sends every %s", span(s.Silence.Expected))
	}
	if s.Silence.Together > 0 {
		text += "; others fell silent at the same time"
	}
	return text
}

func stuckEvidence(r *Run) string {
	return fmt.Sprintf("%d readings in a row over %s are the same; before, %s repeated the one before them",
		r.Length, span(r.Last.Sub(r.Since)), percent(r.repeats()))
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

// span prints a duration in its two largest units, as people say it.
func span(d time.Duration) string {
	if d < time.Minute {
		return fmt.Sprintf("%d s", int(d.Seconds()))
	}
	minutes := int(d.Round(time.Minute) / time.Minute)
	days, hours, minutes := minutes/1440, minutes/60%24, minutes%60
	switch {
	case days > 0:
		return join(days, "d", hours, "h")
	case hours > 0:
		return join(hours, "h", minutes, "min")
	}
	return fmt.Sprintf("%d min", minutes)
}

func join(large int, largeUnit string, small int, smallUnit string) string {
	if small == 0 {
		return fmt.Sprintf("%d %s", large, largeUnit)
	}
	return fmt.Sprintf("%d %s %d %s", large, largeUnit, small, smallUnit)
}
