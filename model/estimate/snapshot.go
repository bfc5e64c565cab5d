package estimate

import (
	"math"
	"slices"
	"time"

	"wickd/model"
)

// Snapshot is what is known at now, the time of the last Advance. Sensors
// carries the health of the site's sensors as ingestion sees it; the
// estimator adds what only a model can see: readings at odds with it.
func (e *Estimator) Snapshot(now time.Time, sensors []model.SensorHealth) model.Snapshot {
	s := model.Snapshot{Time: now, Sensors: slices.Clone(sensors)}
	health := make(map[model.Subject]*model.SensorHealth, len(sensors))
	for i := range s.Sensors {
		health[s.Sensors[i].Sensor] = &s.Sensors[i]
	}
	e.weather.dark.blame(e.design.Site, health)
	s.Bags = make([]model.BagEstimate, 0, len(e.bags))
	kin := e.kin()
	for i, b := range e.bags {
		s.Bags = append(s.Bags, e.bagEstimate(now, i, b, kin[b.kinKey()], health))
	}
	for _, c := range e.channels {
		s.Channels = append(s.Channels, c.estimate(now))
	}
	for i, r := range e.reservoirs {
		out := r.estimate(now, health)
		if q := e.empty[i]; q != nil {
			own := apart(*q)
			out.EmptyAt = &own
		}
		out.Oxygen = e.oxygen(out.Temperature)
		s.Reservoirs = append(s.Reservoirs, out)
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
		WickHealth:    lognormal(measured, s.X[iHealth], s.P[iHealth][iHealth]+sq(quickHealth)),
		WickShare:     lognormal(measured, s.X[iHealth]-math.Log(b.usualHealth()), s.P[iHealth][iHealth]),
		DemandFactor:  lognormal(measured, s.X[iDemand], s.P[iDemand][iDemand]),
		ProbeOffset:   measured(s.X[iOffset]-shift, math.Sqrt(s.P[iOffset][iOffset])),
		DryLimit:      p.DryLimit, WetLimit: p.WetLimit,
		Dry: apart(e.beliefs[i].Dry),
	}
	out.DryAt = out.Dry.P50
	out.Salt = b.saltEstimate(now, health)
	out.Temperature = b.heatEstimate(now, health)
	out.Oxygen = e.oxygen(out.Temperature)
	out.Uptake = b.Shown
	e.rates(&out, b, measured)
	b.explain(&out)
	b.blameProbe(health)
	return out
}

// apart is a copy that shares no times with its original.
func apart(q model.Quantiles) model.Quantiles {
	for _, t := range []**time.Time{&q.P05, &q.P50, &q.P95} {
		if *t != nil {
			own := **t
			*t = &own
		}
	}
	return q
}

func lognormal(measured func(v, sd float64) model.Measured, ln, variance float64) model.Measured {
	v := math.Exp(ln)
	return measured(v, v*math.Sqrt(variance))
}

// quickHealth is the standard deviation, as a share, of what the quick model reads into
// wicks that a bag with layers does not show: the filter, which takes the model for true,
// comes to be surer of them by and by than it can be (assumption).
const quickHealth = 0.1

// rates are the litres of the last day.
func (e *Estimator) rates(out *model.BagEstimate, b *bag, measured func(v, sd float64) model.Measured) {
	then, ok := b.History.dayAgo(out.Time)
	days := out.Time.Sub(then.At).Hours() / 24
	if !ok || days < 1.0/24 {
		out.UptakePerDay = measured(0, 0)
		out.UptakePerDay.Quality = model.Unknown
		return
	}
	rate := math.Max(0, b.Roll.Uptake-then.Uptake) / days
	out.UptakePerDay = measured(rate, rate*e.uptakeError(b, days))
	if days < wholeDay {
		out.UptakePerDay.Quality = model.Unknown
	}
	out.DemandPerDay = math.Max(0, b.Roll.Potential-then.Potential) / days
	if out.Time.Sub(b.First) >= keenSettled && out.Time.Sub(b.Mended) >= keenRefills+24*time.Hour {
		out.WickHealthRate = (b.Roll.X[iHealth] - then.LnHealth) / days
	}
}

// wholeDay is from which share of a day on its litres are told as a day's: the
// hours before may have been a night, or a noon.
const wholeDay = 0.9
