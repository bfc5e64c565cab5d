package estimate

import (
	"fmt"
	"math"
	"time"

	"wickd/model"
)

// Snapshot is what is known at now, the time of the last Advance. Sensors
// carries the health of the site's sensors as ingestion sees it; the
// estimator adds what only a model can see: readings at odds with it.
func (e *Estimator) Snapshot(now time.Time, sensors []model.SensorHealth) model.Snapshot {
	s := model.Snapshot{Time: now, Sensors: sensors}
	health := make(map[model.Subject]*model.SensorHealth, len(sensors))
	for i := range s.Sensors {
		health[s.Sensors[i].Sensor] = &s.Sensors[i]
	}
	s.Bags = make([]model.BagEstimate, 0, len(e.bags))
	kin := e.kin()
	for i, b := range e.bags {
		s.Bags = append(s.Bags, e.bagEstimate(now, i, b, kin[b.kinKey()], health))
	}
	for _, c := range e.channels {
		s.Channels = append(s.Channels, c.estimate(now))
	}
	for i, r := range e.reservoirs {
		s.Reservoirs = append(s.Reservoirs, r.estimate(now, e.empty[i], health))
	}
	return s
}

func (e *Estimator) bagEstimate(now time.Time, i int, b *bag, kin kinship, health map[model.Subject]*model.SensorHealth) model.BagEstimate {
	p, s := b.physics, b.Roll
	v := b.volume()
	shift, shiftSD := kin.shift(), kin.shiftSD()
	quality, age := b.quality(now, health)
	measured := func(value, sd float64) model.Measured {
		return model.Measured{Value: value, SD: sd, Time: now, Age: age, Quality: quality}
	}
	out := model.BagEstimate{
		Bag: p.Bag.ID, Channel: p.Channel.ID, Time: now,
		WaterContent:  measured(clamp(s.X[iStorage]/v+shift, 0, 1), math.Hypot(math.Sqrt(s.P[iStorage][iStorage])/v, shiftSD)),
		Suction:       p.Hydraulic.Store.Suction(s.X[iStorage]),
		SupplyAtLimit: p.SupplyAtLimit() * b.health(s.X[iHealth]),
		WickHealth:    lognormal(measured, s.X[iHealth], s.P[iHealth][iHealth]),
		DemandFactor:  lognormal(measured, s.X[iDemand], s.P[iDemand][iDemand]),
		ProbeOffset:   measured(s.X[iOffset]-shift, math.Sqrt(s.P[iOffset][iOffset])),
		DryLimit:      p.DryLimit, WetLimit: p.WetLimit,
		Dry: e.beliefs[i].Dry, DryAt: e.beliefs[i].Dry.P50,
	}
	b.Shown = math.Max(b.Shown, s.Uptake)
	out.Uptake = b.Shown
	e.rates(&out, b, measured)
	b.explain(&out)
	b.blameProbe(health)
	return out
}

func lognormal(measured func(v, sd float64) model.Measured, ln, variance float64) model.Measured {
	v := math.Exp(ln)
	return measured(v, v*math.Sqrt(variance))
}

// rates are the litres of the last day.
func (e *Estimator) rates(out *model.BagEstimate, b *bag, measured func(v, sd float64) model.Measured) {
	then, ok := b.History.dayAgo(out.Time)
	days := out.Time.Sub(then.At).Hours() / 24
	if !ok || days < 1.0/24 {
		out.UptakePerDay = measured(0, 0)
		out.UptakePerDay.Quality = model.Unknown
		return
	}
	_, common := e.commonOf(b)
	rel := math.Sqrt(b.Roll.P[iDemand][iDemand] + sq(common))
	rate := math.Max(0, b.Roll.Uptake-then.Uptake) / days
	out.UptakePerDay = measured(rate, rate*rel)
	out.DemandPerDay = math.Max(0, b.Roll.Potential-then.Potential) / days
	out.WickHealthRate = (b.Roll.X[iHealth] - then.LnHealth) / days
}

// quality says what the estimate of a bag rests on.
func (b *bag) quality(now time.Time, health map[model.Subject]*model.SensorHealth) (model.Quality, time.Duration) {
	if b.Readings == 0 {
		return model.Unknown, 0
	}
	age := now.Sub(b.LastGood)
	if s := b.physics.Bag.Moisture; s != nil {
		if h := health[s.ID]; h != nil && (h.Silent || h.Stuck) {
			return model.Stale, age
		}
	}
	if b.Lost || age > staleAfter {
		return model.Stale, age
	}
	return model.Fresh, age
}

// staleAfter is when an estimate rests on the model alone, whatever the
// sensor's own pace. Within it the model holds: no bag dries in three hours.
const staleAfter = 3 * time.Hour

// explain names what the diagnosis favours for a bag.
func (b *bag) explain(out *model.BagEstimate) {
	health := math.Exp(b.Roll.X[iHealth])
	switch {
	case b.Cut:
		out.Cause, out.CauseSince = model.CauseChannelDry, b.CutFrom
		out.Evidence = "this bag and the others on its channel stopped getting water at about the same time"
	case b.Cause == model.CauseWickLostContact:
		out.Cause, out.CauseSince = b.Cause, b.Since
		out.Evidence = "the water content falls as it would if the wicks lifted next to nothing, while the other bags on the channel are fed"
	case b.Cause == model.CauseWickClogging:
		out.Cause, out.CauseSince = b.Cause, b.Since
		out.Evidence = "the wicks lift less from day to day"
	case b.Cause == model.CauseUndecided:
		out.Cause, out.CauseSince = b.Cause, b.Since
		out.Evidence = b.undecided()
	case b.Cause == model.CauseNotDrinking:
		out.Cause, out.CauseSince = b.Cause, b.Since
		out.Evidence = "the water content no longer falls by day as it did before"
	case health < failing:
		out.Cause = model.CauseWickClogging
		out.Evidence = fmt.Sprintf("the wicks lift %.0f %% of what they should", 100*health)
	case out.DemandPerDay > out.SupplyAtLimit && out.DemandPerDay > 0:
		out.Cause = model.CauseDemandHigh
		out.Evidence = fmt.Sprintf("the plants ask for %.1f L a day, the wicks can lift %.1f L at the dry limit", out.DemandPerDay, out.SupplyAtLimit)
	}
}

// undecided names the explanations that are about as good as each other, and
// what would decide between them.
func (b *bag) undecided() string {
	if b.source != nil && b.source.bagsOn(b.physics.Channel.ID) == 1 {
		return "cannot tell yet between a wick out of contact and a dry channel, for no other bag lies on it: look whether solution stands in the channel"
	}
	return "cannot tell yet between wicks that lost contact and wicks that clog: look whether they still reach from the solution into the mix; if they do, they clog"
}

// failing is the wick health below which a bag that nothing else explains has
// ageing wicks.
const failing = 0.5

// blameProbe marks a probe whose readings the model cannot believe.
func (b *bag) blameProbe(health map[model.Subject]*model.SensorHealth) {
	s := b.physics.Bag.Moisture
	if s == nil || !b.Lost {
		return
	}
	if h := health[s.ID]; h != nil {
		h.Implausible, h.Since, h.Cause = true, b.LostFrom, model.CauseProbeLostContact
		h.Evidence = fmt.Sprintf("it fell from %.0f %% to %.0f %% at once, which no plant can drink", 100*b.LastY, 100*h.Value)
	}
}

func (c *channel) estimate(now time.Time) model.ChannelEstimate {
	out := model.ChannelEstimate{Channel: c.channel.ID, Reservoir: c.channel.Reservoir, Time: now, Quality: model.Unknown}
	for _, b := range c.bags {
		if b.Readings > 0 && !b.Lost && now.Sub(b.LastGood) <= staleAfter {
			out.Quality = model.Fresh
		}
	}
	if c.Dry {
		out.Dry, out.Since = 0.99, c.Since
		out.Evidence = fmt.Sprintf("all %d bags stopped getting water at about the same time", len(c.bags))
	}
	return out
}

func (r *reservoir) estimate(now time.Time, empty *model.Quantiles, health map[model.Subject]*model.SensorHealth) model.ReservoirEstimate {
	p := r.physics
	out := model.ReservoirEstimate{Reservoir: p.Reservoir.ID, Time: now, EmptyAt: empty, LastRefill: r.Refilled}
	q, age := r.quality(now, model.Level, r.LastGood, health)
	sdV := math.Sqrt(r.P[jVolume][jVolume])
	level := p.Level(r.X[jVolume])
	out.Volume = model.Measured{Value: r.X[jVolume], SD: sdV, Time: now, Age: age, Quality: q}
	out.Level = model.Measured{Value: level, SD: sdV / p.AreaAt(level), Time: now, Age: age, Quality: q}
	out.Unexplained = model.Measured{Value: 24 * r.X[jUnexplained], SD: 24 * r.unexplainedSD(), Time: now, Age: age, Quality: q}
	out.DrawPerDay = r.drawPerDay(now, age, q)
	if 24*r.X[jUnexplained] > z95*out.Unexplained.SD {
		out.Cause = model.CauseLeak
		out.Evidence = fmt.Sprintf("%.1f L a day leave beyond what the bags drink, by night as by day", out.Unexplained.Value)
	}
	out.EC = r.trackEstimate(now, &r.EC, ecDrift, model.EC, health)
	out.PH = r.trackEstimate(now, &r.PH, phDrift, model.PH, health)
	out.Temperature = r.trackEstimate(now, &r.Temperature, temperatureDrift, model.Temperature, health)
	return out
}

func (r *reservoir) drawPerDay(now time.Time, age time.Duration, q model.Quality) model.Measured {
	then, ok := r.Draw.dayAgo(now)
	days := now.Sub(then.At).Hours() / 24
	if !ok || days < 1.0/24 {
		return model.Measured{Time: now, Age: age, Quality: model.Unknown}
	}
	v := math.Max(0, r.Drawn-then.Uptake) / days
	return model.Measured{Value: v, SD: math.Abs(v) * math.Sqrt(r.commonVariance()), Time: now, Age: age, Quality: q}
}

func (r *reservoir) trackEstimate(now time.Time, k *track, d drift, q model.Quantity, health map[model.Subject]*model.SensorHealth) model.Measured {
	if k.Readings == 0 {
		return model.Measured{Time: now, Quality: model.Unknown}
	}
	quality, age := r.quality(now, q, k.Time, health)
	return model.Measured{Value: k.Value, SD: k.sd(now, d), Time: now, Age: age, Quality: quality}
}

func (r *reservoir) quality(now time.Time, q model.Quantity, last time.Time, health map[model.Subject]*model.SensorHealth) (model.Quality, time.Duration) {
	if last.IsZero() {
		return model.Unknown, 0
	}
	age := now.Sub(last)
	id := model.ReservoirSubject(r.physics.Reservoir.ID).Sensor(q)
	if h := health[id]; h != nil && (h.Silent || h.Stuck) || age > staleAfter {
		return model.Stale, age
	}
	return model.Fresh, age
}
