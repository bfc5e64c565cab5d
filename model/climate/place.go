package climate

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// Place is where the crop stands. Latitude and Longitude are degrees, north
// and east positive; note that FAO-56 counts longitude west. Elevation is
// metres above the sea.
type Place struct {
	Latitude, Longitude, Elevation float64
}

// Validate reports every coordinate that cannot be on Earth.
func (p Place) Validate() error {
	return errors.Join(
		within("latitude", p.Latitude, -90, 90, "° north"),
		within("longitude", p.Longitude, -180, 180, "° east"),
		within("elevation", p.Elevation, -430, 6000, "m"),
	)
}

func within(name string, v, low, high float64, unit string) error {
	if math.IsNaN(v) || v < low || v > high {
		return fmt.Errorf("%s %v %s: must lie between %v and %v", name, v, unit, low, high)
	}
	return nil
}

// meanSolar returns t on the mean solar clock of the place: UTC moved by four
// minutes a degree east. Its calendar date is the J of FAO-56.
func (p Place) meanSolar(t time.Time) time.Time {
	return t.UTC().Add(time.Duration(p.Longitude / 15 * float64(time.Hour)))
}
