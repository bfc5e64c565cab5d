package sim

import (
	"fmt"
	"time"

	"wickd/model"
)

// DemoSite is an invented site for tests and twin studies: twelve bags of
// sweet peppers over two channels and one tank, every sensor there is, each
// number bare on a topic of its own. The figures of media and wick are made up
// within the ranges of the trade; nobody measured them.
func DemoSite() *model.Site {
	sensor := func(owner model.Subject, q model.Quantity, unit string) model.Sensor {
		id := owner.Sensor(q)
		return model.Sensor{ID: id, Quantity: q, Topic: "trial/" + string(id), Unit: unit, ExpectEvery: 10 * time.Minute}
	}
	tank := model.ReservoirSubject("tank")
	site := &model.Site{
		Name:              "Kestrel Yard trial bench",
		Place:             &model.Place{Latitude: 47, Longitude: 8.5, Elevation: 310},
		TimeZone:          time.UTC,
		CoverTransmission: 0.7,
		Air: []model.Sensor{
			sensor(model.KindAir, model.Temperature, "°C"),
			sensor(model.KindAir, model.Humidity, "%"),
			sensor(model.KindAir, model.Radiation, "W/m2"),
		},
		Media: map[string]model.Medium{"mix": {
			Name: "mix", Conductivity: 320,
			Retention: &model.Retention{Residual: 0.09, Saturated: 0.74, Alpha: 0.12, N: 1.52},
		}},
		Wicks: map[string]model.WickKind{"wedge": {
			Name: "wedge", Section: 6, Conductivity: 110,
			Retention: &model.Retention{Residual: 0.01, Saturated: 0.95, Alpha: 0.095, N: 3.5},
		}},
		Crops: map[string]model.Crop{"peppers": {Name: "peppers", Builtin: "sweet pepper", Coefficient: 0.9}},
		Reservoirs: []model.Reservoir{{
			ID: "tank", Shape: model.Shape{Kind: model.Box, Length: 800, Width: 600},
			Full: 375, Empty: 50, Low: 120,
			Target: model.Target{EC: 1.8, PH: 5.8, ECTolerance: 0.3, PHTolerance: 0.5},
			Sensors: []model.Sensor{
				sensor(tank, model.Level, "mm"), sensor(tank, model.EC, "mS/cm"),
				sensor(tank, model.PH, "pH"), sensor(tank, model.Temperature, "°C"),
			},
		}},
		Channels: []model.Channel{
			{ID: "a", Reservoir: "tank", Lift: 70},
			{ID: "b", Reservoir: "tank", Lift: 70},
		},
	}
	for _, channel := range []string{"a", "b"} {
		for i := range 6 {
			bag := demoBag(fmt.Sprintf("%s%d", channel, i+1), channel)
			moisture := sensor(model.BagSubject(bag.ID), model.Moisture, "%")
			bag.Moisture = &moisture
			site.Bags = append(site.Bags, bag)
		}
	}
	return site
}

func demoBag(id, channel string) model.Bag {
	return model.Bag{
		ID: id, Channel: channel, Diameter: 130, Length: 700, Fill: 0.97,
		Media: "mix", Wick: "wedge", WickCount: 4,
		Plants: 3, Crop: "peppers", Canopy: 0.3,
	}
}
