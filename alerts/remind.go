package alerts

import (
	"slices"
	"time"

	"wickd/model"
)

// calls says that somebody should be called of it: it was told, nobody has
// acknowledged it, and it is not about to end by itself.
func (r *record) calls() bool {
	return r.status() == Unacknowledged && r.Announced && r.Returning.IsZero()
}

// lastHeard is when people last heard of it: what was quiet at first, under a
// cause of it or a shelf, was not told when it was raised.
func (r *record) lastHeard() time.Time {
	return slices.MaxFunc([]time.Time{r.Raised, r.Called, r.Told}, time.Time.Compare)
}

// Remind repeats the alerts that stand, that were told and that nobody has
// acknowledged in the time that their priority allows. It changes no alert's
// state but when it was last told. The order is that of the subjects.
func (e *Engine) Remind(now time.Time) []model.Transition {
	if len(e.reminders) == 0 {
		return nil
	}
	now = now.Round(0).UTC()
	var again []model.Transition
	for _, r := range e.ordered() {
		p := e.byName[r.Condition].Priority
		every := e.reminders[p]
		if every <= 0 || !r.calls() {
			continue
		}
		if now.Sub(r.lastHeard()) < every {
			continue
		}
		r.Told = now
		t := r.transition(now, model.Reminder, p)
		t.Message.Headline = "Still: " + t.Message.Headline
		again = append(again, t)
	}
	return again
}
