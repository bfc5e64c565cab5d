package twin

import (
	"math"
	"slices"
	"time"

	"wickd/alerts"
	"wickd/model"
	"wickd/model/sim"
)

// Outcome is how one trial went.
type Outcome struct {
	Found    bool
	Named    bool          // with the right cause
	Delay    time.Duration // of the first alert that finds the fault
	Shows    bool          // when the fault could be seen first is known
	Since    time.Duration // of that alert, after the fault could be seen first
	As       string        // condition and cause of that alert
	Supply   bool          // the fault takes a bag's supply, at once or by and by
	Dries    time.Duration // until a bag that the fault hits has less water than its dry limit; 0: it never has
	Mended   bool          // the fault was, after it was found
	Over     bool          // then its alerts ended
	Ends     time.Duration // until the last of them had, from when it was mended
	BagDays  float64       // judged
	False    []model.Transition
	Unheard  int       // sensors rightly called silent, for the link lost every message of three intervals
	Uptake   []float64 // relative error of each sound bag from day 3 on
	Fed      []fed     // of them, those whose supply never failed, beside the least error that could be
	House    []float64 // relative error of a day's uptake of all bags together
	Water    sums      // error of the water content, m³/m³
	WaterIn  share     // 90 % intervals of the water content that hold the truth
	UptakeIn share     // 90 % intervals of the day's uptake that hold it
	WickIn   share     // 90 % intervals of the wick health of sound bags that hold it
	DrawIn   share     // 90 % intervals of the day's draw that hold what left the reservoir
	LooseIn  share     // 90 % intervals of the unexplained draw that hold what leaks
	EmptyIn  share     // 90 % intervals of the time of running empty that hold it
	Empty    []float64 // error of the median, relative to the time left
	Persists []float64 // that of a forecaster who knows what was drawn, see [witness.persists]
	DryIn    share     // 90 % intervals of the time at which a bag is dry that hold it
	Dry      []float64 // error of the median, relative to the time left
	NIS      sums      // normalised innovation squared
	Resets   int
}

// sums are of squares.
type sums struct {
	Sum   float64
	Count int
}

func (s *sums) add(x float64) { s.Sum += x * x; s.Count++ }

// share counts cases among all.
type share struct{ Hits, All int }

func (s *share) add(hit bool) {
	s.All++
	if hit {
		s.Hits++
	}
}

// z90 bounds the middle 90 % of a normal distribution.
const z90 = 1.645

func (w *witness) judge(t Trial) (Outcome, error) {
	o := Outcome{
		NIS: sums{w.consistency.Sum, w.consistency.Count}, Resets: w.consistency.Resets,
		BagDays: (float64(t.Days) - settled.Hours()/24) * float64(len(w.site.Bags)),
	}
	w.alerts(t, &o)
	w.ends(t, &o)
	o.Supply = len(w.faults) > 0 && (starves(w.faults[0].Kind) || w.faults[0].Kind == sim.WickClogging)
	if o.Supply {
		o.Dries = w.dries()
	}
	w.water(&o)
	w.uptake(&o)
	w.loose(&o)
	w.empty(&o)
	w.dryness(&o)
	return o, w.floor(&o)
}

// benign conditions are the grower's own business: a tank that is drawn down,
// salt that builds up, a pH that rises of itself.
func benign(c model.Condition) bool {
	return slices.Contains([]model.Condition{
		alerts.ReservoirLow, alerts.ReservoirRunout, alerts.ReservoirExhausted,
		alerts.PHOffTarget, alerts.SolutionWarm, alerts.SaltBuilding,
	}, c)
}

func (w *witness) alerts(t Trial, o *Outcome) {
	for i, a := range w.raised {
		after := len(w.faults) > 0 && !a.Time.Before(w.at)
		concerns := after && w.concerns(a.Subject)
		switch {
		case concerns && slices.Contains(t.Wanted, a.Condition) && !w.late(t, a):
			w.find(t, o, a)
		case concerns && (slices.Contains(t.Excused, a.Condition)):
		case (after || len(w.faults) == 0) && t.Wanted == nil && slices.Contains(t.Excused, a.Condition):
		case w.unheard[i]:
			o.Unheard++
		case benign(a.Condition) || a.Time.Before(start().Add(settled)):
		case w.thirsty(a):
		default:
			o.False = append(o.False, a)
		}
	}
}

// inHand is how long after a fault was mended it may still be told: a sensor's next
// readings and the delay of the alert.
const inHand = time.Hour

// late says that an alert came when the fault had been mended.
func (w *witness) late(t Trial, a model.Transition) bool {
	return t.Mended > 0 && a.Time.After(w.at.Add(t.Mended+inHand))
}

// ends sees whether the alerts of a fault ended when it was mended.
func (w *witness) ends(t Trial, o *Outcome) {
	mended := w.at.Add(t.Mended)
	o.Mended = t.Mended > 0 && o.Found
	o.Over = o.Mended
	for _, a := range w.raised {
		if !w.concerns(a.Subject) || !slices.Contains(t.Wanted, a.Condition) || a.Time.Before(w.at) {
			continue
		}
		end, ok := w.over[a.Occurrence]
		o.Over = o.Over && ok
		o.Ends = max(o.Ends, end.Sub(mended))
	}
}

// near is how near to its limit, m³/m³, a bag may be called dry: the error of a
// calibrated probe and of the medium as its grower describes it.
const near = 0.02

// thirsty says that a bag was rightly called dry, or going to be: on a bright
// day plants may ask for more than their wicks lift, and nothing is broken.
func (w *witness) thirsty(a model.Transition) bool {
	var until time.Time
	switch a.Condition {
	case alerts.BagDry:
		until = a.Time
	case alerts.BagDrying:
		until = a.Time.Add(horizon)
	default:
		return false
	}
	for _, t := range w.truth {
		if t.Time.Before(a.Time.Add(-time.Hour)) || t.Time.After(until) {
			continue
		}
		for _, b := range t.Bags {
			if model.BagSubject(b.ID) == a.Subject && b.WaterContent <= w.limits[b.ID]+near {
				return true
			}
		}
	}
	return false
}

func (w *witness) find(t Trial, o *Outcome, a model.Transition) {
	if o.Found {
		return
	}
	o.Found, o.Delay = true, a.Time.Sub(w.at)
	if first, ok := w.shows(); ok {
		o.Shows, o.Since = true, a.Time.Sub(first)
	}
	o.As = string(a.Condition) + " " + string(a.Cause)
	o.Named = t.Causes == nil || slices.Contains(t.Causes, a.Cause)
}

// concerns says that a subject is hit by a fault.
func (w *witness) concerns(s model.Subject) bool {
	for _, f := range w.faults {
		if f.Subject == "" || s.Owner() == f.Subject.Owner() {
			return true
		}
		if bag, ok := w.site.BagByID(s.ID()); ok && s.Kind() == model.KindBag && f.Subject == model.ChannelSubject(bag.Channel) {
			return true
		}
	}
	return false
}

// sound says that nothing is wrong with a bag's own plants, wicks and probe. Its channel
// may be dry, and what happens to the whole house happens to it, too.
func (w *witness) sound(bag string) bool {
	return !slices.ContainsFunc(w.faults, func(f sim.Fault) bool { return f.Subject.Owner() == model.BagSubject(bag) })
}

func (w *witness) water(o *Outcome) {
	for _, h := range w.hours {
		truth, ok := w.truthAt(h.Time)
		if !ok || h.Time.Before(start().Add(settled)) {
			continue
		}
		for i, b := range h.Bags {
			if !w.sound(b.Bag) {
				continue
			}
			miss := b.WaterContent.Value - truth.Bags[i].WaterContent
			o.Water.add(miss)
			o.WaterIn.add(math.Abs(miss) <= z90*b.WaterContent.SD)
			if truth.Bags[i].Fed {
				o.WickIn.add(math.Abs(b.WickHealth.Value-truth.Bags[i].WickHealth) <= z90*b.WickHealth.SD)
			}
		}
	}
}

// judgedFrom is the hour from which uptake and forecasts are judged.
const judgedFrom = 72

// uptake compares from the third day on, and each day's by itself.
func (w *witness) uptake(o *Outcome) {
	n := len(w.hours)
	if n <= judgedFrom {
		return
	}
	first, last := w.hours[judgedFrom], w.hours[n-1]
	then, _ := w.truthAt(first.Time)
	now, _ := w.truthAt(last.Time)
	for i, b := range last.Bags {
		if !w.sound(b.Bag) {
			continue
		}
		took := now.Bags[i].Uptake - then.Bags[i].Uptake
		miss := math.Abs(b.Uptake-first.Bags[i].Uptake-took) / math.Max(took, 0.1)
		o.Uptake = append(o.Uptake, miss)
		if w.alwaysFed(i) {
			o.Fed = append(o.Fed, fed{bag: i, Miss: miss})
		}
	}
	for k := judgedFrom; k < n; k += 24 {
		w.dayUptake(w.hours[k], o)
	}
}

func (w *witness) dayUptake(h model.Snapshot, o *Outcome) {
	now, _ := w.truthAt(h.Time)
	then, ok := w.truthAt(h.Time.Add(-24 * time.Hour))
	if !ok {
		return
	}
	var said, all, left float64
	for i, b := range h.Bags {
		took := now.Bags[i].Uptake - then.Bags[i].Uptake
		said, all = said+b.UptakePerDay.Value, all+took
		left += took + now.Bags[i].Storage - then.Bags[i].Storage - (now.Bags[i].Watered - then.Bags[i].Watered)
		if w.sound(b.Bag) {
			miss := b.UptakePerDay.Value - took
			o.UptakeIn.add(math.Abs(miss) <= z90*b.UptakePerDay.SD)
		}
	}
	if len(h.Reservoirs) == 1 { // it alone feeds all bags
		r := h.Reservoirs[0].DrawPerDay
		left += lost(now.Reservoirs[0]) - lost(then.Reservoirs[0])
		o.DrawIn.add(math.Abs(r.Value-left) <= z90*r.SD)
	}
	// What a crop that was taken out drinks is nothing to be relative to.
	if least := 0.1 * 24 * usualDraw * float64(len(h.Bags)); all >= least {
		o.House = append(o.House, math.Abs(said-all)/all)
	}
}

// lost is what leaves a reservoir and reaches no bag, L since the start.
func lost(t sim.ReservoirTruth) float64 { return t.Leaked + t.Evaporated }

// loose judges the unexplained draw against what leaked and evaporated in the
// last hour.
func (w *witness) loose(o *Outcome) {
	for _, h := range w.hours {
		now, _ := w.truthAt(h.Time)
		then, ok := w.truthAt(h.Time.Add(-time.Hour))
		if !ok || h.Time.Before(start().Add(settled)) {
			continue
		}
		for i, r := range h.Reservoirs {
			miss := r.Unexplained.Value - 24*(lost(now.Reservoirs[i])-lost(then.Reservoirs[i]))
			o.LooseIn.add(math.Abs(miss) <= z90*r.Unexplained.SD)
		}
	}
}

// empty judges the forecast at every hour that lies 6 to 96 h before the
// level reaches the empty mark, if nobody refills before.
func (w *witness) empty(o *Outcome) {
	for i, r := range w.site.Reservoirs {
		at, ok := w.runsOut(i, r)
		if !ok {
			continue
		}
		for _, h := range w.hours {
			left := at.Sub(h.Time)
			if h.Time.Before(start().Add(judgedFrom*time.Hour)) || left < 6*time.Hour || left > 96*time.Hour {
				continue
			}
			w.forecast(h.Reservoirs[i].EmptyAt, h.Time, at, o)
			if miss, ok := w.persists(i, h.Time, at); ok {
				o.Persists = append(o.Persists, miss)
			}
		}
	}
}

func (w *witness) forecast(q *model.Quantiles, now, at time.Time, o *Outcome) {
	held, miss := holds(q, now, at)
	o.EmptyIn.add(held)
	o.Empty = append(o.Empty, miss)
}

// holds says that a forecast's 90 % interval holds a time, and by how much its median
// misses it, relative to the time left.
func holds(q *model.Quantiles, now, at time.Time) (held bool, miss float64) {
	if q == nil || q.P05 == nil {
		return false, 1
	}
	held = !q.P05.After(at) && (q.P95 == nil || !q.P95.Before(at))
	if q.P50 == nil {
		return held, 1
	}
	return held, math.Abs(q.P50.Sub(at).Hours()) / at.Sub(now).Hours()
}

// dryAhead is how far ahead of it, h, the forecast of a dry bag is judged.
const dryAhead, dryLeast = 60, 3

// dryness judges the forecasts of every hour that lies so far ahead of the time at
// which a bag falls below its dry limit, of bags that a fault hits once its cause is
// told.
func (w *witness) dryness(o *Outcome) {
	for i, p := range w.physics.Bags {
		for _, h := range w.hours {
			b := h.Bags[i]
			hit := len(w.faults) > 0 && w.concerns(model.BagSubject(b.Bag))
			if h.Time.Before(start().Add(judgedFrom*time.Hour)) || hit && (h.Time.Before(w.at) || b.Cause == "") {
				continue
			}
			at, ok := w.fallsBelow(i, p.DryLimit, h.Time)
			if left := at.Sub(h.Time).Hours(); ok && left >= dryLeast && left <= dryAhead {
				held, miss := holds(&b.Dry, h.Time, at)
				o.DryIn.add(held)
				o.Dry = append(o.Dry, miss)
			}
		}
	}
}

// fallsBelow is when a bag that is above a limit falls below it.
func (w *witness) fallsBelow(bag int, limit float64, now time.Time) (time.Time, bool) {
	k, ok := w.stepAt(now)
	if !ok || w.truth[k].Bags[bag].WaterContent <= limit {
		return time.Time{}, false
	}
	for _, t := range w.truth[k:] {
		if t.Bags[bag].WaterContent <= limit {
			return t.Time, true
		}
	}
	return time.Time{}, false
}

// runsOut is when the level first comes to the empty mark, within a hair's
// breadth: there the outlet takes no more and the level stands still.
func (w *witness) runsOut(i int, r model.Reservoir) (time.Time, bool) {
	const hair = 1.0 // mm
	for _, t := range w.truth {
		if t.Reservoirs[i].Refills > 0 {
			return time.Time{}, false
		}
		if t.Reservoirs[i].Level <= r.Empty+hair {
			return t.Time, true
		}
	}
	return time.Time{}, false
}
