package estimate

import (
	"math"
	"time"

	"wickd/model"
	"wickd/model/climate"
	"wickd/model/solution"
)

const (
	// Relative standard deviation of a bag's EC when it is first looked at: of
	// one that was planted or flushed within newBag, wetted with the feed, and of
	// one that has stood for longer.
	newSalt, oldSalt = 0.1, 0.5
	newBagFor        = 7 * 24 * time.Hour
	// pressedDoubt is by how much the EC of water pressed out of a handful of mix departs
	// from that of the whole bag, relative: salt gathers at the top and between the roots
	// (assumption).
	pressedDoubt = 0.2
	// targetDoubt is by how much the EC of a reservoir without a probe departs
	// from its target, relative (common practice).
	targetDoubt = 0.2
	// liftScatter is the error of an hour's lift against the next, relative.
	liftScatter = 0.1
	// saltStep is the longest flow that is accounted at once.
	saltStep = 24 * time.Hour
	// saltAhead is how far a course of salt is followed.
	saltAhead = 365 * 24 * time.Hour
)

// salt is the account of the salt in a bag.
type salt struct {
	Zone   solution.RootZone
	Since  time.Time // when it was last known to hold nothing but solution
	At     time.Time
	Uptake float64 // of the bag at At, L since its start
	// Pressed is the last sample of the root zone that is in the account, and Feeds what is
	// known by it of the plants' feeding, relative to what is expected; zero: nothing. Fed
	// is what was known before.
	Pressed    model.Pressed
	Feeds, Fed solution.Feeding
}

// strength is the EC of the solution that wicks lift, mS/cm, with its standard
// deviation: of the probe, or the target where there is none.
func (r *reservoir) strength(now time.Time) (ec, sd float64, ok bool) {
	if r.EC.Readings > 0 {
		return r.EC.Value, math.Hypot(r.EC.sd(now, ecDrift), ecGain*r.EC.Value), true
	}
	target := r.physics.Reservoir.Target.EC
	return target, targetDoubt * target, target > 0
}

// renewed is when the bag was last known to hold nothing but solution, as the
// site file says of the days until now; zero: never.
func (b *bag) renewed(now time.Time) (last time.Time) {
	for _, t := range []time.Time{b.physics.Bag.Planted, b.physics.Bag.Flushed} {
		if t.After(last) && !t.After(now) {
			last = t
		}
	}
	return last
}

// usualFeeding is at what concentration such plants take salt. A grower's target is the
// feed that the crop is known to take, but for a little that stays, as long as the crop
// bears it: 0.85 ± 0.2 of it (common practice).
func (b *bag) usualFeeding() solution.Feeding {
	const taken, doubt, bearable = 0.85, 0.2, 0.75
	target := b.source.physics.Reservoir.Target.EC
	if target <= 0 {
		return solution.UsualFeeding()
	}
	target = math.Min(target, bearable*b.physics.ECLimit)
	return solution.Feeding{Concentration: taken * target, SD: doubt * target}
}

// feeding is at what concentration these plants do, as far as a sample told.
func (b *bag) feeding() solution.Feeding {
	usual, told := b.usualFeeding(), b.Salt.Feeds
	if told.SD <= 0 {
		return usual
	}
	return solution.Feeding{Concentration: told.Concentration * usual.Concentration, SD: told.SD * usual.Concentration}
}

// keepSalt accounts for the salt of the hours since the last time.
func (b *bag) keepSalt(now time.Time) {
	if !b.started() {
		return
	}
	ec, sd, ok := b.source.strength(now)
	if !ok {
		return
	}
	water := b.Roll.X[iStorage] / 1000
	renewed := b.renewed(now)
	b.press(now)
	if b.Salt.At.IsZero() || renewed.After(b.Salt.Since) {
		b.beginSalt(now, renewed, water, ec)
		return
	}
	lasted := now.Sub(b.Salt.At)
	taken := b.Roll.Uptake - b.Salt.Uptake
	if taken < 0 {
		// The books were put right by more than was drunk since: the hours to come
		// have to make up for it first.
		return
	}
	lifted := water - b.Salt.Zone.Water + taken
	steps := math.Ceil(float64(lasted) / float64(saltStep))
	for range int(steps) {
		flow := solution.Flow{
			Inflow: lifted / steps, InflowSD: liftScatter * math.Abs(lifted) / steps, Uptake: taken / steps,
			EC: ec, ECSD: sd, Days: inDays(lasted) / steps, Feeding: b.feeding(),
		}
		zone, err := b.Salt.Zone.Step(flow)
		if err != nil {
			return
		}
		b.Salt.Zone = zone
	}
	b.Salt.At, b.Salt.Uptake = now, b.Roll.Uptake
}

// pressed is the sample of the root zone that the site file tells of; it is not ok where
// none was taken within the last week.
func (b *bag) pressed(now time.Time) (sample model.Pressed, ok bool) {
	sample = b.physics.Bag.Pressed
	return sample, sample.EC > 0 && !sample.At.After(now) && now.Sub(sample.At) <= newBagFor
}

// press takes a sample into the account, once. On the day of a flush it was taken before
// it, so it counts for the account that the flush ends and never for that which it begins.
func (b *bag) press(now time.Time) {
	sample, ok := b.pressed(now)
	if !ok || b.Salt.At.IsZero() || b.before(sample.At) || b.renewed(now).After(b.Salt.Since) && sample.At.After(b.renewed(now)) {
		return // what a flush left begins an account with its own sample
	}
	again := sample.At.Equal(b.Salt.Pressed.At)
	if again && sample.EC == b.Salt.Pressed.EC || sample.At.Before(b.Salt.Pressed.At) {
		return
	}
	sd := pressedDoubt * sample.EC
	if again { // its figure was put right: what was made of the other one is no longer true
		zone, err := solution.NewRootZone(b.Salt.Zone.Water, sample.EC, sd)
		if err == nil {
			b.Salt.Zone, b.Salt.Pressed, b.Salt.Feeds = zone, sample, b.Salt.Fed
		}
		return
	}
	usual := b.usualFeeding().Concentration
	zone, told, err := b.Salt.Zone.Measure(sample.EC, sd, b.feeding())
	if err != nil {
		return
	}
	b.Salt.Zone, b.Salt.Pressed, b.Salt.Fed = zone, sample, b.Salt.Feeds
	b.Salt.Feeds = solution.Feeding{Concentration: told.Concentration / usual, SD: told.SD / usual}
}

// before says that a day lies before the account: one that a flush or new plants began
// has its own day, any other the day on which it was, somewhere, when it began.
func (b *bag) before(day time.Time) bool {
	since := b.Salt.Since
	if since.Equal(b.renewed(since)) {
		return !day.After(since)
	}
	return day.Before(since.Add(-2 * 24 * time.Hour))
}

// beginSalt begins an account. What a sample told of the feeding stays, but for other
// plants.
func (b *bag) beginSalt(now, renewed time.Time, water, ec float64) {
	doubt, since := oldSalt, now
	if !renewed.IsZero() && now.Sub(renewed) <= newBagFor {
		doubt, since = newSalt, renewed
	}
	feeds := b.Salt.Feeds
	if renewed.Equal(b.physics.Bag.Planted) {
		feeds = solution.Feeding{}
	}
	sample, ok := b.pressed(now)
	if ok && sample.At.After(renewed) {
		ec, doubt = sample.EC, pressedDoubt
	}
	if !ok {
		sample = b.Salt.Pressed
	}
	zone, err := solution.NewRootZone(math.Max(water, 1e-3), ec, doubt*ec)
	if err != nil {
		return
	}
	b.Salt = salt{Zone: zone, Since: since, At: now, Uptake: b.Roll.Uptake, Pressed: sample, Feeds: feeds, Fed: feeds}
}

// saltEstimate is what is known of the salt at now. It decides something only
// while the EC of the reservoir is measured.
func (b *bag) saltEstimate(now time.Time, health map[model.Subject]*model.SensorHealth) model.Salt {
	if b.Salt.At.IsZero() {
		return model.Salt{EC: model.Measured{Time: now, Quality: model.Unknown}}
	}
	quality, age := b.source.quality(now, model.EC, b.source.EC.Time, health)
	if quality == model.Unknown {
		quality = model.Stale // it rests on the target
	}
	zone, limit := b.Salt.Zone, b.physics.ECLimit
	ec, sd := zone.EC()
	out := model.Salt{
		EC:    model.Measured{Value: ec, SD: sd, Time: now, Age: age, Quality: quality},
		Limit: limit, Above: zone.Above(limit), Since: b.Salt.Since,
	}
	feed, _, _ := b.source.strength(now)
	flow, ok := b.dailyFlow(now, feed)
	if !ok {
		return out
	}
	if d := zone.DaysUntil(limit, flow); d*24 < saltAhead.Hours() {
		at := now.Add(time.Duration(d * 24 * float64(time.Hour))).Round(time.Hour)
		out.LimitAt = &at
	}
	out.Feed = math.Min(feed, zone.WeakerFeed(flow))
	if litres, err := zone.Flush(feed, math.Max(feed+0.2, (feed+limit)/2)); err == nil {
		out.Flush = litres
	}
	return out
}

// dailyFlow is what went through the bag in the last day, as much in as out.
func (b *bag) dailyFlow(now time.Time, ec float64) (solution.Flow, bool) {
	then, ok := b.History.dayAgo(now)
	lasted := inDays(now.Sub(then.At))
	if !ok || lasted < wholeDay {
		return solution.Flow{}, false
	}
	taken := math.Max(0, b.Roll.Uptake-then.Uptake)
	return solution.Flow{Inflow: taken, Uptake: taken, EC: ec, Days: lasted, Feeding: b.feeding()}, true
}

// heatEstimate is the temperature of the root zone.
func (b *bag) heatEstimate(now time.Time, health map[model.Subject]*model.SensorHealth) model.Measured {
	return b.Heat.estimate(now, temperatureDrift, health[b.sensor(model.Temperature)])
}

// oxygen is what water at a temperature can hold at the site's elevation, mg/L;
// 0: the temperature is not known or none of water's.
func (e *Estimator) oxygen(at model.Measured) float64 {
	if at.Quality == model.Unknown {
		return 0
	}
	elevation := 0.0
	if e.design.Place != nil {
		elevation = e.design.Place.Elevation
	}
	v, err := solution.OxygenSaturation(at.Value, climate.Pressure(elevation))
	if err != nil {
		return 0
	}
	return v
}
