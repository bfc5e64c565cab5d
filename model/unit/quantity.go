package unit

import (
	"fmt"

	"wickd/model"
)

// Of is the dimension of what a sensor measures. The canonical unit of that
// dimension is the unit of a model.Reading. It is nil for an unknown quantity.
func Of(q model.Quantity) *Dimension {
	switch q {
	case model.Moisture, model.Humidity:
		return Ratio
	case model.Level:
		return Length
	case model.EC:
		return EC
	case model.PH:
		return PH
	case model.Temperature:
		return Temperature
	case model.Radiation:
		return Radiation
	}
	return nil
}

// ToCanonical gives the line that turns a number in a payload's unit into the
// canonical unit of q: canonical = number·scale + offset. Its error is an
// *Error and names the units that fit.
func ToCanonical(q model.Quantity, unit string) (scale, offset float64, err error) {
	d := Of(q)
	if d == nil {
		return 0, 0, &Error{Reason: fmt.Sprintf("%q is not a quantity that wickd measures", string(q))}
	}
	u, err := d.Lookup(unit)
	if err != nil {
		return 0, 0, err
	}
	return u.Mul / u.Div, u.Offset, nil
}

// Plausible bounds what a working sensor of q can report, in the canonical
// unit; a reading outside it is a fault of the sensor or of its scale, not of
// the plant. The bounds are wide on purpose: what is merely unusual is for the
// model to judge. Both are 0 for an unknown quantity.
func Plausible(q model.Quantity) (lowest, highest float64) {
	switch q {
	case model.Moisture:
		return 0, 1 // a share of the bag's volume
	case model.Level:
		return 0, 5000 // a vessel of more than 5 m does not stand in the house
	case model.EC:
		// Nutrient solutions lie between 0.5 and 4 mS/cm, drain and salted-up
		// root zones below 10; no crop lives at 20.
		return 0, 20
	case model.PH:
		return 0, 14 // the scale of glass electrodes
	case model.Temperature:
		// Below −40 °C or above 70 °C the electronics fail before the plants
		// matter; −127 °C, the error value of a common digital thermometer,
		// lies outside.
		return -40, 70
	case model.Humidity:
		return 0, 1 // relative to saturation
	case model.Radiation:
		// At night a pyranometer's zero offset lets it read a few W/m² below
		// nothing. The solar constant is 1361 W/m²; cloud edges lift the
		// radiation on the ground above it for minutes at most.
		return -20, 1600
	}
	return 0, 0
}
