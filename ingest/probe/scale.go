package probe

import (
	"fmt"

	"wickd/ingest/payload"
	"wickd/model"
	"wickd/model/unit"
)

// WrongUnit is the reason of a sample whose unit does not belong to the
// sensor's quantity. The other reasons are those of package payload.
const WrongUnit payload.Reason = "wrong-unit"

// scale turns a number in a unit into the canonical unit of a quantity.
type scale func(x float64) (float64, error)

// scaleOf finds the scale of a unit. Its error names the units that fit.
func scaleOf(q model.Quantity, symbol string) (scale, error) {
	if q == model.Moisture && symbol == UnitPermittivity {
		return Topp, nil
	}
	dimension := unit.Of(q)
	if dimension == nil {
		return nil, fmt.Errorf("%q is not a quantity that wickd measures", string(q))
	}
	u, err := dimension.Lookup(symbol)
	if err != nil {
		return nil, err
	}
	return func(x float64) (float64, error) { return u.ToCanonical(x), nil }, nil
}

// canonical turns a sample into the canonical unit. A calibrated sensor's
// number is raw, so the unit in the payload, if any, is not the unit of the
// result; otherwise the payload's own unit wins over the configured one.
func (s *source) canonical(sample payload.Sample) (float64, error) {
	x, scale := sample.Value, s.scale
	switch {
	case s.curve != nil:
		x = s.curve.At(x)
	case sample.Unit != "" && sample.Unit != s.sensor.Unit:
		var err error
		if scale, err = scaleOf(s.sensor.Quantity, sample.Unit); err != nil {
			return 0, &payload.Refusal{Reason: WrongUnit, Err: err}
		}
	}
	value, err := scale(x)
	switch {
	case err != nil:
		return 0, &payload.Refusal{Reason: payload.NotANumber, Err: err}
	case !finite(value):
		return 0, &payload.Refusal{Reason: payload.Overflow, Err: fmt.Errorf("%g is too large once calibrated and converted", sample.Value)}
	}
	return value, nil
}
