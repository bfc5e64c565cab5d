package estimate

import (
	"math"
	"time"

	"wickd/model"
	"wickd/model/solution"
)

func (r *reservoir) observePH(t time.Time, v float64) (late bool) {
	if !r.PH.news(t) {
		return true
	}
	if r.PH.observe(t, v, phDrift) {
		r.Solution.changed(t)
	}
	if r.PH.Doubts == 0 {
		r.Solution.PH.Hour.add(v)
	}
	return false
}

// changed begins the course of the pH anew after somebody changed it. What was
// poured in just before still has its carbon dioxide.
func (w *solutionWatch) changed(t time.Time) {
	w.PH.restart()
	if t.Sub(w.Refill.At) <= mixedTo {
		w.PH.Before = w.Refill.share()
	}
}

// phCourse names the course of the pH, and says how much of it the water makes
// where the site file states what that is. Where it does not, the evidence names
// what then cannot be told from uptake.
func (r *reservoir) phCourse() model.Course {
	w := &r.Solution.PH
	if w.span() < courseLeast {
		return model.Course{}
	}
	samples := make([]solution.PHSample, len(w.Samples))
	for i, s := range w.Samples {
		samples[i] = solution.PHSample{Day: inDays(s.At.Sub(w.Samples[0].At)), PH: s.Value}
	}
	c, err := solution.FitPH(samples)
	if err != nil {
		return model.Course{}
	}
	told := false
	if t, ok := r.topUps(); ok {
		if c, err = c.Explain(t); err == nil {
			told = true
		}
	}
	out := model.Course{Rate: c.Rate, SD: c.SD, Over: w.span()}
	reason, evidence := c.Judge()
	if out.Cause = causeOf(reason); out.Cause != "" {
		out.Evidence = evidence
	}
	if out.Cause == model.CauseNitrateUptake && !told {
		out.Evidence += "; hard top-up water that was not neutralised raises it, too"
	}
	return out
}

// usualWarmth, °C, stands in where nothing measures the solution's temperature:
// the constants of carbonic acid move by 0.1 over ten degrees.
const usualWarmth = 20

// topUps is the water that went into the solution since the course of its pH
// began; false: the site file does not say what water it is, or nothing says how
// strong the solution is. Through a float valve comes what is drawn.
func (r *reservoir) topUps() (solution.TopUps, bool) {
	stated, w := r.physics.Reservoir.Water, &r.Solution.PH
	t := solution.TopUps{EC: r.EC.Value, Temperature: usualWarmth, Before: w.Before}
	if r.EC.Readings == 0 {
		t.EC = r.physics.Reservoir.Target.EC
	}
	if r.Temperature.Readings > 0 {
		t.Temperature = r.Temperature.Value
	}
	first, last := w.Samples[0], w.Samples[len(w.Samples)-1]
	volume := last.Volume
	if stated == nil || t.EC <= 0 || volume <= 0 {
		return t, false
	}
	t.Water = *stated
	if r.physics.Reservoir.FloatValve {
		t.Since = math.Max(0, last.Drawn-first.Drawn) / volume
	}
	return t, true
}
