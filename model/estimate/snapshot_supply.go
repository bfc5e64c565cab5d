package estimate

import (
	"fmt"
	"math"
	"time"

	"wickd/model"
)

func (c *channel) estimate(now time.Time) model.ChannelEstimate {
	out := model.ChannelEstimate{Channel: c.channel.ID, Reservoir: c.channel.Reservoir, Time: now, Quality: model.Unknown}
	for _, b := range c.bags {
		if b.Readings > 0 && !b.Lost && now.Sub(b.LastGood) <= staleAfter {
			out.Quality = model.Fresh
		}
	}
	if c.Dry {
		out.Dry, out.Since, out.Evidence = true, c.Since, c.Voices.say()
	}
	return out
}

// say tells how many bags speak for a dry channel.
func (v voices) say() string {
	who := "its bags"
	switch {
	case v.Heard == 0: // found before they were counted
	case v.Agree < v.Heard:
		who = fmt.Sprintf("%d of its %d bags that can be read", v.Agree, v.Heard)
	case v.Heard == 2:
		who = "both bags that can be read"
	default:
		who = fmt.Sprintf("all %d bags that can be read", v.Heard)
	}
	return who + " stopped getting water at about the same time, which no single wick explains"
}

func (r *reservoir) estimate(now time.Time, health map[model.Subject]*model.SensorHealth) model.ReservoirEstimate {
	p := r.physics
	r.blameLevel(health)
	out := model.ReservoirEstimate{Reservoir: p.Reservoir.ID, Time: now, LastRefill: r.Refilled}
	q, age := r.quality(now, model.Level, r.LastGood, health)
	sdV := math.Sqrt(r.P[jVolume][jVolume])
	volume := r.contents()
	level := p.Level(volume)
	out.Volume = model.Measured{Value: volume, SD: sdV, Time: now, Age: age, Quality: q}
	out.Usable = math.Max(0, volume-p.Empty())
	out.Level = model.Measured{Value: level, SD: sdV / p.AreaAt(level), Time: now, Age: age, Quality: q}
	out.Unexplained = model.Measured{Value: 24 * (r.X[jUnexplained] - r.usualLoose()), SD: 24 * r.unexplainedSD(), Time: now, Age: age, Quality: q}
	out.DrawPerDay = r.drawPerDay(now, age, q)
	if len(r.Filling.Times) > 1 {
		out.FilledEvery = r.Filling.period()
	}
	switch {
	case p.Reservoir.FloatValve:
		r.blind(&out)
	case r.mending():
		// What the bags drink to be full again is in it.
		if q == model.Fresh {
			out.Unexplained.Quality = model.Stale
		}
	case r.leaks():
		out.Cause = model.CauseLeak
		if r.gushing() {
			out.Evidence = "the level falls faster than plants ever drew"
		}
	}
	out.ECCourse, out.PHCourse, out.Poured = r.Solution.EC.Course, r.Solution.PH.Course, r.Solution.poured()
	out.EC = r.EC.estimate(now, ecDrift, health[r.sensor(model.EC)])
	out.PH = r.PH.estimate(now, phDrift, health[r.sensor(model.PH)])
	out.Temperature = r.Temperature.estimate(now, temperatureDrift, health[r.sensor(model.Temperature)])
	return out
}

// blind takes back what a level says that a float valve keeps: the draw is what
// physics makes of the bags alone, and of a leak nothing is known.
func (r *reservoir) blind(out *model.ReservoirEstimate) {
	out.Unexplained = model.Measured{Time: out.Time, Quality: model.Unknown}
	if out.DrawPerDay.Quality == model.Fresh {
		out.DrawPerDay.Quality = model.Stale
	}
}

func (r *reservoir) drawPerDay(now time.Time, age time.Duration, q model.Quality) model.Measured {
	then, ok := r.Draw.dayAgo(now)
	days := now.Sub(then.At).Hours() / 24
	if !ok || days < 1.0/24 {
		return model.Measured{Time: now, Age: age, Quality: model.Unknown}
	}
	if days < wholeDay {
		q = model.Unknown
	}
	v := math.Max(0, r.Drawn-then.Uptake) / days
	sd := v * math.Sqrt(r.commonVariance())
	if r.tells() {
		sd = r.leftError() / days
	}
	return model.Measured{Value: v, SD: sd, Time: now, Age: age, Quality: q}
}

func (r *reservoir) quality(now time.Time, q model.Quantity, last time.Time, health map[model.Subject]*model.SensorHealth) (model.Quality, time.Duration) {
	return freshness(now, last, health[r.sensor(q)])
}

// sensor is that of one of its quantities.
func (r *reservoir) sensor(q model.Quantity) model.Subject {
	return model.ReservoirSubject(r.physics.Reservoir.ID).Sensor(q)
}
