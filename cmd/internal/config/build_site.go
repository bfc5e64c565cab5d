package config

import (
	"fmt"
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
	lamps := model.Lamps{Radiation: raw.Radiation.value}
	for _, t := range raw.Hours {
		if h, ok := b.hours(t); ok {
			lamps.Hours = append(lamps.Hours, h)
		}
	}
	b.site.Lamps = &lamps
	if a := b.raw.Air; a != nil && a.Radiation != nil && !b.site.RadiationOutside {
		b.warn(raw.place, "decides nothing while the radiation sensor under the cover sends, which sees them", "leave it for when that is silent, or leave it out")
	}
}
