package alerts

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"wickd/model"
)

// Step decides every condition on a snapshot at time now and returns what
// changed, in the order of the table and then of the subjects. Times must not
// run backwards; if they do, the delays wait until now has caught up.
func (e *Engine) Step(now time.Time, s model.Snapshot) []model.Transition {
	now = now.Round(0).UTC()
	sc := &scene{now: now, site: e.site, horizon: e.horizon, snap: &s, held: e.held}
	e.together = together(s.Sensors)
	changes := e.expire(now)
	for i := range e.table {
		changes = append(changes, e.decide(sc, &e.table[i])...)
	}
	if now.After(e.last) {
		e.last = now
	}
	return changes
}

// held reports whether an alert stands, which its deadband depends on.
func (e *Engine) held(c model.Condition, s model.Subject) bool {
	r := e.records[key{c, s}]
	return r != nil && r.Active
}

// decide takes one condition through all subjects for which something is wrong
// or remembered, whether the snapshot has them or lacks them.
func (e *Engine) decide(sc *scene, d *Definition) []model.Transition {
	var telling []finding
	judged := map[model.Subject]bool{}
	if !e.idle[d.Condition] {
		for _, f := range d.judge(sc, d) {
			if f.verdict.State == Holds || e.records[key{d.Condition, f.subject}] != nil {
				telling = append(telling, f)
				judged[f.subject] = true
			}
		}
	}
	for k := range e.records {
		if k.condition == d.Condition && !judged[k.subject] {
			telling = append(telling, finding{k.subject, Verdict{State: absent}})
		}
	}
	slices.SortStableFunc(telling, func(a, b finding) int { return cmp.Compare(a.subject, b.subject) })

	var changes []model.Transition
	for _, f := range telling {
		changes = append(changes, e.follow(sc, d, f.subject, f.verdict)...)
	}
	return changes
}

// follow takes one alert through one verdict. What is not remembered yet holds.
func (e *Engine) follow(sc *scene, d *Definition, s model.Subject, v Verdict) []model.Transition {
	k := key{d.Condition, s}
	r := e.records[k]
	if r == nil {
		r = &record{Condition: d.Condition, Subject: s}
		e.records[k] = r
	}
	if e.idle[d.Condition] || v.State == absent && !known(e.site, s) {
		return e.close(sc, d, r)
	}
	r.holding = v.State == Holds
	var changes []model.Transition
	switch v.State {
	case Unknown, absent:
		r.stand(sc.now.Sub(e.last))
	case Holds:
		changes = e.hold(sc, d, r, v)
	case Clear:
		changes = e.relieve(sc, d, r, v)
	}
	if r.Active {
		changes = append(changes, e.cover(sc.now, d, r)...)
	}
	if !r.Active && sc.now.Sub(r.Cleared) >= e.forget {
		r.Announced = false
	}
	if r.spent(sc.now, d.window()) {
		delete(e.records, k)
	}
	return changes
}

// Pause is told that nothing could be known until then: the delays wait meanwhile.
func (e *Engine) Pause(until time.Time) {
	if e.last.IsZero() || !until.After(e.last) {
		return
	}
	for _, r := range e.records {
		r.stand(until.Sub(e.last))
	}
	e.last = until.Round(0).UTC()
}

// stand lets the delays wait while nothing is known.
func (r *record) stand(elapsed time.Duration) {
	elapsed = max(elapsed, 0)
	if !r.Pending.IsZero() {
		r.Pending = r.Pending.Add(elapsed)
	}
	if !r.Returning.IsZero() {
		r.Returning = r.Returning.Add(elapsed)
	}
}

func (e *Engine) hold(sc *scene, d *Definition, r *record, v Verdict) []model.Transition {
	r.Returning = time.Time{}
	if !r.Active && r.Pending.IsZero() {
		r.Pending = sc.now
	}
	if !r.Active && (sc.now.Sub(r.Pending) < d.OnDelay && !v.Soon || e.awaited(d.Condition, r.Subject)) {
		return nil
	}
	fresh := !r.Active
	if fresh {
		e.raise(sc.now, d, r, v.Since)
	}
	r.Cause, r.Due, r.Message = v.Cause, copied(v.Due), v.Message
	if d.dated {
		r.Message.Why = sentences("Since "+sc.clock(r.Since), r.Message.Why)
	}
	if r.Chattering {
		r.Message.Why = sentences(r.Message.Why, sc.chatterText(d, r))
	}
	if !fresh {
		return nil
	}
	return []model.Transition{r.transition(sc.now, model.Raised, d.Priority)}
}

// raise begins a new occurrence.
func (e *Engine) raise(now time.Time, d *Definition, r *record, since time.Time) {
	if since.IsZero() || since.After(r.Pending) {
		since = r.Pending
	}
	r.Active, r.Acked, r.By = true, false, ""
	r.Since, r.Raised, r.Pending = since.Round(0).UTC(), now, time.Time{}
	r.Occurrence = string(r.Condition) + "|" + string(r.Subject) + "|" + now.Format(time.RFC3339Nano)
	r.ShelvedUntil = e.shelf(r.Subject)
	r.SuppressedBy = e.covering(now, r)
	r.count(now, d.window())
	if r.Announced = !r.quiet(); r.Announced {
		r.call(now)
	}
}

func (e *Engine) relieve(sc *scene, d *Definition, r *record, v Verdict) []model.Transition {
	r.Pending = time.Time{}
	if !r.Active {
		return nil
	}
	if r.Returning.IsZero() {
		r.Returning = sc.now
	}
	if left := r.offDelay(d) - sc.now.Sub(r.Returning); left > 0 {
		r.ease(sc, v, left)
		return nil
	}
	message := v.Message
	if message.Why == "" {
		message.Why = "It lasted " + length(sc.now.Sub(r.Since)) + ", from " + sc.clock(r.Since) + " on."
	}
	if r.Announced && !e.stands(r.SuppressedBy, r.Subject) {
		r.SuppressedBy = "" // its cause is over too, and only lingers
	}
	return []model.Transition{r.clear(sc.now, d.Priority, message)}
}

// ease says of an alert that stands only until its delay is over what is so now:
// whoever waters by what it said before would water too much.
func (r *record) ease(sc *scene, v Verdict, left time.Duration) {
	if v.Message.Headline == "" {
		return
	}
	was, easedBefore, _ := strings.Cut(r.Message.Why, easing)
	if easedBefore == "" {
		was = "It was: " + r.Message.Headline
	}
	r.Due = nil
	r.Message = model.Message{Headline: v.Message.Headline, Why: was + easing + sc.clock(sc.now.Add(left)) + "."}
}

// easing parts what an alert was from until when it stands.
const easing = ". If it stays so, this is over at "

// clear ends an occurrence. Only who was told of it is told that it is over.
func (r *record) clear(now time.Time, p model.Priority, m model.Message) model.Transition {
	r.Message, r.Due = m, nil
	t := r.transition(now, model.Cleared, p)
	t.Suppressed = t.Suppressed || !r.Announced
	r.Active, r.Cleared, r.Returning = false, now, time.Time{}
	r.ShelvedUntil, r.SuppressedBy, r.Chattering = time.Time{}, "", false
	return t
}

// close ends an alert whose subject is gone or whose condition was taken out
// of service, at once and for good.
func (e *Engine) close(sc *scene, d *Definition, r *record) []model.Transition {
	delete(e.records, key{r.Condition, r.Subject})
	if !r.Active {
		return nil
	}
	headline := title(r.Subject) + " is no longer in the site file"
	if e.idle[d.Condition] {
		headline = title(r.Subject) + " is no longer watched for " + string(d.Condition)
	}
	return []model.Transition{r.clear(sc.now, d.Priority, model.Message{Headline: headline})}
}

// spent reports whether a record may be forgotten: nothing runs, nobody waits
// for it, as a cause it covers nothing any more, and its last raising no longer counts
// with the next within a window.
func (r *record) spent(now time.Time, window time.Duration) bool {
	return r.status() == Normal && r.Pending.IsZero() && now.Sub(r.Cleared) >= max(rewetting, window)
}
