package climate

import (
	"errors"
	"fmt"
	"time"
)

// Options say where the crop stands and what to assume for what is not
// measured. The zero of everything but Place is useful.
type Options struct {
	Place Place

	// Transmission is the share of short-wave radiation the cover passes,
	// 0..1; 0 stands for no cover, 1. Used only when radiation is estimated
	// from the sky, and to tell cloud from cover in the long-wave loss.
	Transmission float64

	// LongwaveShield is the share of the long-wave loss to the sky that the
	// cover stops: 0, as FAO-56 prints it, under the open sky or thin
	// polyethylene; towards 1 under glass, which is opaque to it.
	LongwaveShield float64

	// Wind in m/s at 2 m where none is measured; 0 stands for WindFloor, still
	// air. FAO-56 p 63 suggests 2 m/s in the open.
	Wind float64

	// Temperature in °C when none is known at all; 0 stands for 20 °C, about
	// what a heated or summer greenhouse keeps (common practice).
	Temperature float64

	// KRs is the coefficient of eq 50; 0 stands for KRsInterior.
	KRs float64

	// DewDepression is how many °C the dew point stays below the lowest
	// temperature when humidity is unknown: 0 in humid air, 2 to 3 in arid
	// (FAO-56 annex 6).
	DewDepression float64

	// MaxAge is how old an observation may be and still speak for now;
	// 0 stands for 90 minutes.
	MaxAge time.Duration

	// Days to remember, 1..31; 0 stands for 5.
	Days int

	// Lamps over the crop: what they give is added to the sun's, unless
	// LampsMeasured says that radiation is measured below them.
	Lamps         Lamps
	LampsMeasured bool

	// PlantDay is what the grower knows a plant to drink; the zero is unknown.
	PlantDay PlantDay
}

// PlantDay is a day's drink of a plant as it stands.
type PlantDay struct {
	Litres      float64 // L per plant and day
	Canopy      float64 // m² per plant
	Coefficient float64 // Kc the caller multiplies with, so that it cancels
}

func (p PlantDay) known() bool { return p != PlantDay{} }

// depth returns the reference depth in mm/d that makes the plant drink Litres.
func (p PlantDay) depth() float64 { return p.Litres / (p.Canopy * p.Coefficient) }

func (o Options) withDefaults() Options {
	o.Transmission = orElse(o.Transmission, 1)
	o.Wind = orElse(o.Wind, WindFloor)
	o.Temperature = orElse(o.Temperature, 20)
	o.KRs = orElse(o.KRs, KRsInterior)
	o.MaxAge = orElse(o.MaxAge, 90*time.Minute)
	o.Days = orElse(o.Days, 5)
	return o
}

func orElse[T comparable](v, fallback T) T {
	var zero T
	if v == zero {
		return fallback
	}
	return v
}

func (o Options) validate() error {
	return errors.Join(
		o.Place.Validate(),
		within("cover transmission", o.Transmission, 0.05, 1, "as a share"),
		within("long-wave shield", o.LongwaveShield, 0, 1, "as a share"),
		within("assumed wind", o.Wind, 0, 20, "m/s"),
		within("assumed temperature", o.Temperature, -30, 50, "°C"),
		within("kRs", o.KRs, 0.05, 0.3, "°C^-0.5"),
		within("dew depression", o.DewDepression, 0, 15, "°C"),
		within("age limit of observations", o.MaxAge.Hours(), 1.0/6, 12, "h"),
		within("days to remember", float64(o.Days), 1, 31, "d"),
		o.Lamps.validate(),
		o.PlantDay.validate(),
	)
}

func (p PlantDay) validate() error {
	if !p.known() {
		return nil
	}
	err := errors.Join(
		within("litres", p.Litres, 0, 50, "L/d"),
		within("canopy", p.Canopy, 1e-3, 20, "m²"),
		within("crop coefficient", p.Coefficient, 0.05, 2, "(Kc)"),
	)
	if err != nil {
		return fmt.Errorf("a plant's day: %w", err)
	}
	return nil
}
