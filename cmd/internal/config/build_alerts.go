package config

import (
	"fmt"
	"slices"
	"time"

	"wickd/model"
	"wickd/model/unit"
)

func (b *builder) alerts() Alerts {
	a := Alerts{
		Horizon: defaultHorizon,
		Reminders: map[model.Priority]time.Duration{
			model.PriorityUrgent: defaultUrgentReminder,
			model.PriorityHigh:   defaultHighReminder,
		},
		Conditions: map[model.Condition]Condition{},
	}
	raw := b.raw.Alerts
	if raw == nil {
		return a
	}
	if raw.Horizon.given() {
		a.Horizon = seconds(raw.Horizon)
	}
	for _, name := range inOrder(raw.Reminders) {
		b.reminder(a.Reminders, name, raw.Reminders[name])
	}
	for _, name := range inOrder(raw.Conditions) {
		c := raw.Conditions[name]
		if !c.given() {
			continue
		}
		i := slices.Index(Conditions(), model.Condition(name))
		if i < 0 {
			b.report(c.place, fmt.Sprintf("no condition %q", name), choose(name, conditionNames()))
			continue
		}
		a.Conditions[model.Condition(name)] = b.condition(c, conditions[i].deadband)
	}
	return a
}

func conditionNames() []string {
	var names []string
	for _, c := range Conditions() {
		names = append(names, string(c))
	}
	return names
}

// priorities lists the names of the priorities, lowest first.
func priorities() []string {
	return []string{
		string(model.PriorityLow), string(model.PriorityMedium),
		string(model.PriorityHigh), string(model.PriorityUrgent),
	}
}

func seconds(d duration) time.Duration { return time.Duration(d.value * float64(time.Second)) }

func (b *builder) reminder(all map[model.Priority]time.Duration, name string, d duration) {
	switch {
	case !d.given():
	case !slices.Contains(priorities(), name):
		b.report(d.place, fmt.Sprintf("no priority %q", name), choose(name, priorities()))
	case d.value < shortestReminder.Seconds() || d.value > 7*24*3600:
		b.report(d.place, fmt.Sprintf("%q is impossible", d.shown), "must lie between 10 min and 7 d")
	default:
		all[model.Priority(name)] = seconds(d)
	}
}

// condition makes the changes of one condition.
func (b *builder) condition(raw rawCondition, q model.Quantity) Condition {
	var c Condition
	if raw.Enabled.given() {
		c.Enabled = &raw.Enabled.value
	}
	if raw.Priority.given() {
		p := model.Priority(raw.Priority.value)
		c.Priority = &p
	}
	if raw.OnDelay.given() {
		d := seconds(raw.OnDelay)
		c.OnDelay = &d
	}
	if raw.OffDelay.given() {
		d := seconds(raw.OffDelay)
		c.OffDelay = &d
	}
	if raw.Deadband.given() {
		c.Deadband = b.deadband(raw.Deadband, q)
	}
	return c
}

// deadband reads a difference of the condition's quantity.
func (b *builder) deadband(l loose, q model.Quantity) *float64 {
	if q == "" {
		b.report(l.place, "the deadband of this condition cannot be changed", "use on_delay and off_delay")
		return nil
	}
	dim := unit.Of(q)
	if q == model.Temperature {
		dim = unit.TemperatureDifference
	}
	v, ok := b.resolve(l, dim)
	if !ok {
		return nil
	}
	if v < 0 {
		b.report(l.place, "a deadband cannot be below 0", "")
		return nil
	}
	if lowest, highest := unit.Plausible(q); v > highest-lowest {
		b.report(l.place, "a deadband wider than anything that is measured never lets the alert clear", "")
		return nil
	}
	return &v
}
