// Package probe turns what sensors send into readings that can be trusted as
// far as their verdict says, and watches the sensors themselves.
//
// # Decoder
//
// A Decoder takes messages in order and gives readings in the canonical unit of
// their quantity (package model). Each number passes these stages:
//
//	payload → calibration (Curve) → unit → compensation to 25 °C → time → verdict
//
// Its only state is the last good reading of each sensor (and a temperature
// that has jumped and waits to be confirmed), which Restore brings back.
//
// Verdicts, the first that applies: Retained (whatever it says, its age is not
// known), ErrorValue, Uncalibrated, OutOfRange, Jump, Good. A reading that is
// not good keeps its value for the record.
//
// The time of a reading is the payload's own if the clock that made it is
// believable: not before 2020, not older than OldestTime, not further ahead of
// the arrival than Ahead. Otherwise it is Message.Taken where the pipeline laid
// out a backlog (the reading is then Reconstructed), else the arrival. A wrong
// clock does not spoil the value, so such a reading stays Good, and
// the doubt is reported in Result.Clocks.
//
// Moisture, level, EC and pH have no Jump: watering, refills and doses move
// them at once, and the model, which knows what can happen, gates them.
//
// # Health
//
// Health says which sensors are silent, stuck or implausible (nothing usable
// three times in a row over a quarter of an hour). The rules and their design
// numbers stand in silence.go and stuck.go. Silence is measured in time in which
// somebody listened (Pause); a retained message is no sign of life; a message
// that was refused is. Sensors that fall silent at once are known to have done so
// Together (see together.go). One whose readings lag by the same hours, message for
// message, has a clock that is Behind (see lag.go).
//
// # What it does not do
//
// It holds no model: whether a believable value is at odds with the others is
// for package estimate. It never reads the clock.
//
// # Concurrency
//
// Decoder and Health each belong to one goroutine. The same calls in the same
// order give the same results, also across State and Restore.
package probe
