package alerts

import (
	"slices"
	"time"

	"wickd/model"
)

// covering finds the cause that stands over an alert, or stood until so lately
// that its effects are still going; empty: none. What it has once explained it goes on
// explaining, should it be over and come back meanwhile.
func (e *Engine) covering(now time.Time, r *record) model.Condition {
	for _, c := range e.covers[r.Condition] {
		above := e.over(c.cause, r.Subject)
		if above == nil || c.lead > 0 && r.SuppressedBy != c.cause && above.Since.Sub(r.Since) > c.lead {
			continue
		}
		if above.Active || !above.Cleared.IsZero() && now.Sub(above.Cleared) < c.linger {
			return c.cause
		}
	}
	return ""
}

// over is the alert of a cause that may stand over a subject; nil: none does.
func (e *Engine) over(cause model.Condition, s model.Subject) *record {
	if cause == SensorsLost {
		n, ok := e.together[s]
		if !ok {
			return nil // it fell silent by itself
		}
		return e.records[key{cause, OutageSubject(n)}]
	}
	return e.records[key{cause, subjectAbove(e.site, cause, s)}]
}

// stands reports whether a cause over a subject still is.
func (e *Engine) stands(cause model.Condition, s model.Subject) bool {
	above := e.over(cause, s)
	return above != nil && above.Active
}

// awaited reports whether a cause above is about to be raised: then its effect
// waits, for no longer than the cause's own on-delay.
func (e *Engine) awaited(c model.Condition, s model.Subject) bool {
	for _, cv := range e.covers[c] {
		above := e.over(cv.cause, s)
		if above != nil && above.holding && !above.Active {
			return true
		}
	}
	return false
}

// cover suppresses a standing alert under a cause that has come, and releases
// it when the cause is gone. What was never told is raised then, unless it is
// about to end by itself, or a cause above it about to be raised; what was told and
// should have gone with its cause calls again, whoever answered before.
func (e *Engine) cover(now time.Time, d *Definition, r *record) []model.Transition {
	before, by := r.SuppressedBy, e.covering(now, r)
	if by == "" && !r.Announced && e.awaited(d.Condition, r.Subject) {
		return nil
	}
	if by == "" && !r.Returning.IsZero() && (!r.Announced || e.outlives(before, r)) {
		return nil
	}
	r.SuppressedBy = by
	switch {
	case by != "" && before == "":
		return []model.Transition{r.transition(now, model.Suppressed, d.Priority)}
	case by == "" && before != "" && !r.Announced && !r.quiet():
		r.Announced = true
		r.call(now)
		return []model.Transition{r.transition(now, model.Raised, d.Priority)}
	case by == "" && e.outlives(before, r):
		r.Acked, r.By = false, ""
	}
	return nil
}

// outlives reports whether a told alert stands although its cause has been gone for
// as long as its effects take.
func (e *Engine) outlives(cause model.Condition, r *record) bool {
	return r.Announced && slices.ContainsFunc(e.covers[r.Condition], func(c cover) bool { return c.cause == cause && c.lead > 0 })
}
