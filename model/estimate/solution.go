package estimate

import (
	"fmt"
	"math"
	"time"

	"wickd/model"
	"wickd/model/solution"
)

const (
	// courseHours bounds what a course is fitted to: five days hold a drift that
	// a grower can still do something about.
	courseHours = 120
	// courseLeast is how long a course is watched before it is named: an EC
	// compensated by another coefficient than the solution's, and a pH that
	// breathes with the light, swing by the day.
	courseLeast = 2 * 24 * time.Hour
	// mixedFrom and mixedTo, after a refill was seen, which takes two readings of
	// the level: what was poured in has mixed through then, and plants have not
	// yet changed it.
	mixedFrom, mixedTo = 20 * time.Minute, 2 * time.Hour
	// ecGain is by how much probes err that were calibrated some weeks ago,
	// relative (common practice).
	ecGain = 0.03
)

// mean of the readings of the hour under way.
type mean struct {
	Sum   float64
	Count int
}

func (m *mean) add(v float64) { m.Sum += v; m.Count++ }

// take gives the mean and begins the next; false: there were no readings.
func (m *mean) take() (v float64, ok bool) {
	if m.Count == 0 {
		return 0, false
	}
	v = m.Sum / float64(m.Count)
	*m = mean{}
	return v, true
}

// sample is an hour of a reservoir.
type sample struct {
	At            time.Time
	Volume, Value float64 // L; mS/cm or pH
	Drawn         float64 // L since the start
}

// watched is a figure of the solution by the hour, since it was last changed by
// hand, and what its course says.
type watched struct {
	Hour    mean
	Samples []sample
	Course  model.Course
	// Before is the share of the solution that was poured in just before the first
	// sample.
	Before float64
}

// add takes the mean of the last hour, of a volume of which so much had been drawn
// since the start, L.
func (w *watched) add(now time.Time, volume, drawn float64) {
	v, ok := w.Hour.take()
	if !ok {
		return
	}
	w.Samples = append(w.Samples, sample{now, volume, v, drawn})
	if passed := len(w.Samples) - courseHours; passed > 0 {
		// What was poured in before a course that is no longer looked at has given off
		// its carbon dioxide.
		w.Samples, w.Before = w.Samples[passed:], 0
	}
}

func (w *watched) restart() { *w = watched{} }

func (w *watched) span() time.Duration {
	if len(w.Samples) == 0 {
		return 0
	}
	return w.Samples[len(w.Samples)-1].At.Sub(w.Samples[0].At)
}

// last is the newest hour's value; zero: there is none.
func (w *watched) last() float64 {
	if len(w.Samples) == 0 {
		return 0
	}
	return w.Samples[len(w.Samples)-1].Value
}

// pour is a refill that is being watched, or was judged.
type pour struct {
	At                      time.Time
	Before, After, VolumeSD float64 // L
	ECBefore                float64 // mS/cm; 0: not known
	Mixed                   mean    // EC once it has mixed
	Judged                  *model.Poured
	Final                   bool // no more is learnt of it
	Dose                    bool // it was told by the EC alone
}

// share of the solution that was poured in.
func (p pour) share() float64 {
	if p.After <= 0 {
		return 0
	}
	return clamp((p.After-p.Before)/p.After, 0, 1)
}

// solutionWatch follows what plants and people do to the solution.
type solutionWatch struct {
	EC, PH watched
	Refill pour
}

// refilled begins to watch a refill. Where the EC is read more often than the level,
// or the level comes hours late, its jump was taken for a dose.
func (w *solutionWatch) refilled(p pour) {
	p.ECBefore = w.EC.last()
	switch last := w.Refill; {
	case last.Dose && p.At.Sub(last.At).Abs() <= mixedTo:
		p.ECBefore, p.Mixed = last.ECBefore, last.Mixed
	case p.ECBefore == 0 && p.At.Sub(last.At) <= mixedTo:
		p.ECBefore = last.ECBefore
	}
	w.Refill = p
	w.EC.restart()
	w.PH.restart()
	w.PH.Before = p.share()
}

func (w *solutionWatch) poured() *model.Poured {
	if w.Refill.Judged == nil {
		return nil
	}
	p := *w.Refill.Judged
	return &p
}

// observeEC takes a good reading, mS/cm.
func (r *reservoir) observeEC(t time.Time, v float64) (late bool) {
	if !r.EC.news(t) {
		return true
	}
	before, agreed := r.EC.Value, r.EC.Readings-r.EC.Doubts > 1 // a first one may be of a probe in the air
	jumped := r.EC.observe(t, v, ecDrift)
	w := &r.Solution
	if jumped {
		w.EC.restart()
		if agreed && t.Sub(w.Refill.At) > mixedTo {
			w.Refill = dosed(t, before, r.EC.Value, r.physics.Reservoir.Target)
		}
	}
	if r.EC.Doubts > 0 {
		return false // it may be the first of a jump
	}
	w.EC.Hour.add(v)
	if since := t.Sub(w.Refill.At); since >= mixedFrom && since <= mixedTo {
		w.Refill.Mixed.add(v)
		r.judgeRefill(t)
	}
	return false
}

// dosed is a change of the EC that no refill explains: a wrong dose, unless it
// brought the solution into its band.
func dosed(t time.Time, from, to float64, target model.Target) pour {
	p := &model.Poured{At: t, By: to - from, Evidence: fmt.Sprintf(
		"the EC went from %.2f to %.2f mS/cm at once, and no refill was seen: concentrate or water was stirred in, or the probe was moved", from, to)}
	if target.EC > 0 && math.Abs(to-target.EC) > target.ECBand() {
		p.Cause = model.CauseWrongDose
	}
	return pour{At: t, ECBefore: from, Judged: p, Final: true, Dose: true}
}

// watchSolution closes an hour.
func (r *reservoir) watchSolution(now time.Time) {
	w := &r.Solution
	volume := r.mixes()
	w.EC.add(now, volume, r.Drawn)
	w.PH.add(now, volume, r.Drawn)
	r.judgeRefill(now)
	w.EC.Course = r.ecCourse()
	w.PH.Course = r.phCourse()
}

// judgeRefill names what was poured in, as soon as it has mixed, and for good
// once there are no more readings to come.
func (r *reservoir) judgeRefill(now time.Time) {
	p := &r.Solution.Refill
	const leastReadings = 2
	n := p.Mixed.Count
	if p.Final || p.ECBefore == 0 || n < leastReadings {
		return
	}
	p.Final = now.Sub(p.At) >= mixedTo
	after := p.Mixed.Sum / float64(n)
	target := r.physics.Reservoir.Target
	judged, err := solution.JudgeRefill(solution.Refill{
		VolumeBefore: p.Before, VolumeAfter: p.After, VolumeSD: p.VolumeSD,
		ECBefore: p.ECBefore, ECAfter: after, ECSD: math.Sqrt(r.EC.Noise.Variance / float64(n)),
		WaterEC: r.physics.Reservoir.WaterEC(), Target: target.EC, Band: target.ECBand(),
	})
	if err != nil {
		return // nothing was poured in that a balance could be made of
	}
	p.Judged = &model.Poured{At: p.At, Litres: judged.Litres, EC: judged.EC, SD: judged.ECSD, By: after - p.ECBefore, Cause: causeOf(judged.Reason), Evidence: judged.Evidence}
}

// causeOf is empty for what is as it should be or cannot be told.
func causeOf(r solution.Reason) model.Cause {
	switch r {
	case solution.Steady, solution.RightRefill, solution.Undecided:
		return ""
	}
	return model.Cause(r)
}

// ecCourse names the course of the EC since the last refill. Without a level,
// salt cannot be told from water, and only the rate is known.
func (r *reservoir) ecCourse() model.Course {
	w := &r.Solution.EC
	if w.span() < courseLeast {
		return model.Course{}
	}
	samples := make([]solution.Sample, len(w.Samples))
	for i, s := range w.Samples {
		samples[i] = solution.Sample{Day: inDays(s.At.Sub(w.Samples[0].At)), Volume: s.Volume, EC: s.Value}
	}
	c, err := solution.FitCourse(samples)
	if err != nil {
		return model.Course{}
	}
	out := model.Course{Rate: c.Rate, SD: c.RateSD, Over: w.span()}
	reason, evidence := c.Judge()
	if out.Cause = causeOf(reason); out.Cause == "" {
		return out
	}
	out.Evidence = evidence
	if out.Cause == model.CauseWaterOverFeed || out.Cause == model.CauseFeedOverWater {
		out.Leaving = c.Leaving()
	}
	if r.Readings == 0 || r.physics.Reservoir.FloatValve {
		out.Leaving = 0
		out.Cause, out.Evidence = model.CauseUndecided, fmt.Sprintf("EC moved by %+.2f mS/cm a day; without a level that falls with the draw nobody can tell water from feed", c.Rate)
	}
	return out
}

func inDays(d time.Duration) float64 { return d.Hours() / 24 }
