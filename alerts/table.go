package alerts

import "wickd/model"

// Above lists the conditions that stand over one: while they do, it is
// suppressed, because they explain it.
func Above(c model.Condition) []model.Condition {
	var all []model.Condition
	for _, cover := range covers()[c] {
		all = append(all, cover.cause)
	}
	return all
}

// OutOfService reports whether the site file has switched a condition off.
func (e *Engine) OutOfService(c model.Condition) bool { return e.idle[c] }
