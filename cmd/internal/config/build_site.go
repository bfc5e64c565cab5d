package config

import (
	"fmt"
	"slices"
	"time"
	_ "time/tzdata" // boards are often installed without a time-zone database

	"wickd/model"
)

// place fills in where the site is and what covers it.
func (b *builder) place() {
	s := b.raw.Site
	b.site.Name = s.Name.value
	if s.Cover.given() {
		b.site.CoverTransmission = s.Cover.value
	}
	if s.TimeZone.given() {
		zone, err := time.LoadLocation(s.TimeZone.value)
		if err != nil || s.TimeZone.value == "Local" {
			b.report(s.TimeZone.place, fmt.Sprintf("%q is not a time zone", s.TimeZone.value), "for example Europe/Zurich or UTC")
		} else {
			b.site.TimeZone = zone
		}
	}
	switch {
	case s.Latitude.given() && s.Longitude.given():
		b.site.Place = &model.Place{Latitude: s.Latitude.value, Longitude: s.Longitude.value, Elevation: s.Elevation.value / 1000}
	case s.Latitude.given():
		b.missing(s.place, "longitude", "is missing beside the latitude", "for example longitude: 8.5")
	case s.Longitude.given():
		b.missing(s.place, "latitude", "is missing beside the longitude", "for example latitude: 47.0")
	}
}

// air adds the sensors of the house's air, in the order temperature, humidity,
// radiation.
func (b *builder) air() {
	a := b.raw.Air
	if a == nil {
		return
	}
	add := func(s *rawSensor, q model.Quantity) {
		if sensor := b.sensor(s, model.AirSubject(q), q, ""); sensor != nil {
			b.site.Air = append(b.site.Air, *sensor)
		}
	}
	add(a.Temperature, model.Temperature)
	add(a.Humidity, model.Humidity)
	if a.Radiation != nil {
		add(&a.Radiation.rawSensor, model.Radiation)
		b.site.RadiationOutside = a.Radiation.Placed.value == "outside"
	}
}

// lamps adds what is lit over the crop.
func (b *builder) lamps() {
	raw := b.raw.Lamps
	if raw == nil || !raw.given() {
		return
	}
	b.site.Lamps = &model.Lamps{Radiation: raw.Radiation.value, Hours: b.lit(raw.Hours)}
	if a := b.raw.Air; a != nil && a.Radiation != nil && !b.site.RadiationOutside {
		b.warn(raw.place, "decides nothing but what check and size say, while the radiation sensor under the cover sends, which sees them", "leave it for them and for when that is silent, or leave it out")
	}
}

// lit are the hours of lamps, none of them twice: two spans that overlap may be a
// mistyped hour, or two rows of lamps that would count as one.
func (b *builder) lit(raw []text) []model.Hours {
	var all []model.Hours
	var written []string
	for _, t := range raw {
		h, ok := b.hours(t, `for example "16:00-22:00", or "00:00-24:00" for all day`)
		if !ok {
			continue
		}
		if i := slices.IndexFunc(all, func(other model.Hours) bool { return overlap(h, other) }); i >= 0 {
			b.report(t.place, fmt.Sprintf("%q overlaps %q", t.value, written[i]), `let one begin where the other ends, or write both as one span; all day is "00:00-24:00"`)
			continue
		}
		all, written = append(all, h), append(written, t.value)
	}
	return all
}
