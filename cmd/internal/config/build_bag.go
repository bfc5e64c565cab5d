package config

import (
	"fmt"
	"math"
	"slices"

	"wickd/model"
)

const (
	// maxBags bounds a site: a hectare of bags.
	maxBags = 10_000
	// steepestLift, mm, is what no wick lifts a plant's drink over. Channels
	// have the same bound at their head.
	steepestLift = 500
)

// crops makes the crops that the file gives.
func (b *builder) crops() {
	b.site.Crops = map[string]model.Crop{}
	for _, name := range inOrder(b.raw.Crops) {
		raw := b.raw.Crops[name]
		if !raw.given() || !b.checkTitle(raw.place, name) {
			continue
		}
		c := model.Crop{
			Name: name, Coefficient: raw.Coefficient.value,
			DryLimit: raw.DryLimit.value, ECLimit: raw.ECLimit.value, LitresPerPlant: raw.PerPlant.value,
		}
		if c.LitresPerPlant > thirsty {
			b.warn(raw.PerPlant.place, fmt.Sprintf("%.3g L/d is more than a plant in a bag drinks", c.LitresPerPlant),
				"give what one plant takes on a bright day, not the bag or the house")
		}
		ownName, builtIn := builtInCrop(name)
		switch {
		case raw.Like.given():
			c.Builtin = b.like(raw.Like)
		case builtIn:
			c.Builtin = ownName
		default:
			b.drinks(raw)
		}
		b.site.Crops[name] = c
	}
}

// thirsty, L/d, is more than a plant in a bag drinks: a grown tomato takes 2 to 4
// on the brightest day (common practice).
const thirsty = 6.0

// drinks reports a crop that nothing says the demand of.
func (b *builder) drinks(raw rawCrop) {
	said := raw.Coefficient.given() || raw.PerPlant.given()
	for _, key := range []string{"coefficient", "litres_per_plant", "like"} {
		said = said || b.reported(raw.under(key))
	}
	if !said {
		b.report(raw.place, "nothing says how much this crop drinks", "give coefficient, litres_per_plant or like, for example like: strawberry")
	}
}

// like takes the name of the built-in crop that a crop extends.
func (b *builder) like(t text) string {
	name, ok := builtInCrop(t.value)
	if !ok {
		b.report(t.place, fmt.Sprintf("no built-in crop %q", t.value), choose(t.value, builtInCropNames()))
	}
	return name
}

// bags makes the bags in the order of the file.
func (b *builder) bags() {
	first := map[string]place{}
	ends := map[string]float64{}
	for _, raw := range b.raw.Bags {
		if !raw.given() {
			continue
		}
		ids := b.ids(raw)
		if len(b.site.Bags)+len(ids) > maxBags {
			b.report(raw.place, "the site has too many bags", fmt.Sprintf("at most %d", maxBags))
			return
		}
		b.references(raw)
		b.tube(raw.Tube)
		b.footprint(raw)
		b.done(raw.Planted, "until then the plants are taken for newly planted ones; is it the right year?")
		b.done(raw.Flushed, "until then it changes nothing; is it the right year?")
		b.done(raw.RootZone.Measured, "until then it changes nothing; is it the right year?")
		position := ends[raw.Channel.value]
		if raw.Position.given() {
			position = raw.Position.value
		}
		for _, id := range ids {
			if !b.checkID(id.place, id.value) {
				continue
			}
			if earlier, taken := first[id.value]; taken {
				b.report(id.place, fmt.Sprintf("the id %q is taken", id.value), fmt.Sprintf("the bag on line %d has it", earlier.line))
				continue
			}
			first[id.value] = id.place
			bag := b.bag(raw, id.value, position)
			b.site.Bags = append(b.site.Bags, bag)
			ends[bag.Channel] = position + bag.Length
			position += step(raw, bag)
			b.reach(raw, bag)
		}
	}
}

// step is the way from one bag of a group to the next, mm.
func step(raw rawBag, bag model.Bag) float64 {
	if raw.Spacing.given() {
		return raw.Spacing.value
	}
	return bag.Length
}

// ids are those of a group, or the one of a single bag.
func (b *builder) ids(raw rawBag) []label {
	switch {
	case raw.ID.given() && raw.IDs != nil:
		b.report(raw.ID.place, "a bag has id or ids, not both", "id is for one bag, ids for a group")
	case raw.ID.given():
		return []label{raw.ID}
	case raw.IDs != nil && len(raw.IDs) == 0:
		b.report(raw.under("ids"), "has no entries", "for example ids: [a1, a2]")
	case raw.IDs == nil && !b.reported(raw.under("id")):
		b.missing(raw.place, "ids", "is missing", "for example ids: [a1, a2], or id: a1 for one bag")
	}
	return slices.DeleteFunc(slices.Clone(raw.IDs), func(l label) bool { return !l.given() })
}

// references checks what a group points to, and takes in a built-in crop that
// is named without an entry.
func (b *builder) references(raw rawBag) {
	refer(b.decoder, raw.Channel, "channel", b.raw.Channels)
	refer(b.decoder, raw.Media, "medium", b.raw.Media)
	refer(b.decoder, raw.Wicks.Kind, "kind of wick", b.raw.Wicks)
	crop := raw.Crop.value
	own, ok := b.raw.Crops[crop]
	if ok && own.PerPlant.given() && raw.Canopy.given() {
		b.warn(raw.Canopy.place, fmt.Sprintf("decides nothing: crop %s has litres_per_plant", crop), "leave one of the two out")
	}
	if !raw.Crop.given() || ok {
		return
	}
	if name, ok := builtInCrop(crop); ok {
		b.site.Crops[crop] = model.Crop{Name: name, Builtin: name}
		return
	}
	b.report(raw.Crop.place, fmt.Sprintf("no crop %q", crop), choose(crop, append(inOrder(b.raw.Crops), builtInCropNames()...)))
}

func (b *builder) tube(raw rawTube) {
	if raw.given() {
		b.exactlyOne(raw.place, "give diameter, or lay_flat, for example diameter: 108 mm",
			way{"diameter", raw.Diameter.given()}, way{"lay_flat", raw.LayFlat.given()})
	}
}

// footprint refuses more wicks than the flat side of the tube has room for:
// π/2·d wide, when it lies empty.
func (b *builder) footprint(raw rawBag) {
	width := raw.Tube.LayFlat.value
	if raw.Tube.Diameter.given() {
		width = raw.Tube.Diameter.value * math.Pi / 2
	}
	room := width * raw.Tube.Length.value / 100 // cm²
	wicks := float64(raw.Wicks.Count.value) * b.raw.Wicks[raw.Wicks.Kind.value].Section.value
	if room > 0 && wicks > room {
		b.report(raw.Wicks.Count.place, fmt.Sprintf("%d wicks take %.0f cm2, but the bag has %.0f cm2 to lie on", raw.Wicks.Count.value, wicks, room), "for example count: 4")
	}
}

// bag makes one bag of a group.
func (b *builder) bag(raw rawBag, id string, position float64) model.Bag {
	subject := model.BagSubject(id)
	bag := model.Bag{
		ID: id, Channel: raw.Channel.value, Position: position,
		Diameter: raw.Tube.Diameter.value, Length: raw.Tube.Length.value, Fill: 1,
		Media: raw.Media.value, Wick: raw.Wicks.Kind.value, WickCount: raw.Wicks.Count.value,
		Plants: raw.Plants.value, Crop: raw.Crop.value, Canopy: raw.Canopy.value, Planted: raw.Planted.value,
		Flushed: raw.Flushed.value, Pressed: model.Pressed{EC: raw.RootZone.EC.value, At: raw.RootZone.Measured.value}, MaxTemp: raw.MaxTemp.value,
		DryLimit: raw.DryLimit.value, AirLimit: raw.AirLimit.value,
	}
	if raw.Tube.LayFlat.given() {
		// The flat width is half the perimeter: w = π·d/2.
		bag.Diameter = 2 * raw.Tube.LayFlat.value / math.Pi
	}
	if raw.Fill.given() {
		bag.Fill = raw.Fill.value
	}
	bag.Moisture = b.sensor(raw.Moisture, subject.Sensor(model.Moisture), model.Moisture, id)
	if t := b.sensor(raw.Temperature, subject.Sensor(model.Temperature), model.Temperature, id); t != nil {
		bag.Sensors = append(bag.Sensors, *t)
	}
	return bag
}

// reach refuses a bag so far down a sloping channel that no wick lifts to it.
func (b *builder) reach(raw rawBag, bag model.Bag) {
	channel, ok := b.site.ChannelByID(bag.Channel)
	if !ok || channel.Slope == 0 {
		return
	}
	lift := channel.Lift + channel.Slope*(bag.Position+bag.Length)
	if lift <= steepestLift {
		return
	}
	b.report(raw.place, fmt.Sprintf("the channel's slope takes the lift of bag %q to %.0f mm", bag.ID, lift),
		"no wick lifts over 50 cm; place it nearer to the head with position, or level the channel")
}
