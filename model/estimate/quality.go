package estimate

import (
	"time"

	"wickd/model"
)

// staleAfter is when an estimate rests on the model alone, whatever the
// sensor's own pace. Within it the model holds: no bag dries in three hours.
const staleAfter = 3 * time.Hour

// freshness says what a figure rests on whose sensor was last used then, and how old
// that is. A sensor whose health nobody gives is taken to be well.
func freshness(now, last time.Time, sensor *model.SensorHealth) (model.Quality, time.Duration) {
	if last.IsZero() {
		return model.Unknown, 0
	}
	age := now.Sub(last)
	if sensor != nil && (sensor.Silent || sensor.Stuck) || age > staleAfter {
		return model.Stale, age
	}
	return model.Fresh, age
}

// quality says what the estimate of a bag rests on.
func (b *bag) quality(now time.Time, health map[model.Subject]*model.SensorHealth) (model.Quality, time.Duration) {
	quality, age := freshness(now, b.LastGood, health[b.sensor(model.Moisture)])
	if b.Lost && quality == model.Fresh {
		quality = model.Stale
	}
	return quality, age
}

// sensor is that of one of its quantities.
func (b *bag) sensor(q model.Quantity) model.Subject {
	return model.BagSubject(b.physics.Bag.ID).Sensor(q)
}

// estimate is the value at now of what a sensor measures.
func (k *track) estimate(now time.Time, d drift, sensor *model.SensorHealth) model.Measured {
	if k.Readings == 0 {
		return model.Measured{Time: now, Quality: model.Unknown}
	}
	quality, age := freshness(now, k.Time, sensor)
	return model.Measured{Value: k.Value, SD: k.sd(now, d), Time: now, Age: age, Quality: quality}
}
