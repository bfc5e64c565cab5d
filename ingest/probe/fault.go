package probe

import (
	"math"
	"slices"
	"time"

	"wickd/model"
)

// The numbers by which common sensors and firmwares say that they failed.
const (
	disconnected = -127 // °C: what drivers of one-wire thermometers give when nothing answers
	powerOn      = 85   // °C: the register of such a thermometer before its first conversion
)

// sentinels stand for "no value" in any unit; no quantity here reaches them.
var sentinels = []float64{-999, -9999, -999.9, -99999}

// saturated are full-scale readings of converters of 8, 10, 12, 14, 15 and 16
// bits, and −1 as an unsigned or signed all-ones. Each is also an honest value
// somewhere, so it is a fault only where the result is out of range.
var saturated = []float64{255, 1023, 4095, 16383, 32767, 65535, -32768, -1}

// powerOnMemory is how recent a good reading has to be to vouch for 85 °C.
const powerOnMemory = time.Hour

// errorValue recognises values that mean failure. Raw is the payload's number,
// value the canonical one.
//
// Exactly 85 °C is believed only when the last good reading is at most an hour
// old and at most the step of a jump away; as the first value, or as a jump, it
// is a thermometer that has just been switched on.
func (s *source) errorValue(raw, value float64, at time.Time) bool {
	if slices.Contains(sentinels, raw) || slices.Contains(sentinels, value) {
		return true
	}
	if s.sensor.Quantity == model.Temperature {
		if raw == disconnected || near(value, disconnected) {
			return true
		}
		if raw == powerOn || near(value, powerOn) {
			return !s.vouchesFor(value, at)
		}
	}
	return !s.inRange(value) && slices.Contains(saturated, raw)
}

func (s *source) vouchesFor(value float64, at time.Time) bool {
	step, _, _ := jumpLimit(s.sensor.Quantity)
	return s.known && at.Sub(s.last.Time) <= powerOnMemory && math.Abs(value-s.last.Value) <= step
}

func (s *source) inRange(value float64) bool { return value >= s.low && value <= s.high }

// near absorbs the rounding of a conversion from °F or K.
func near(x, y float64) bool { return math.Abs(x-y) < 1e-9*math.Abs(y) }
