package model

import "time"

// Quantity is what a sensor measures.
type Quantity string

// The quantities that wickd takes, with the unit that a Reading carries them in.
const (
	Moisture    Quantity = "moisture"    // volumetric water content, 0–1
	Level       Quantity = "level"       // height of the solution above the reservoir's floor, mm
	EC          Quantity = "ec"          // electrical conductivity at 25 °C, mS/cm
	PH          Quantity = "ph"          // pH
	Temperature Quantity = "temperature" // °C
	Humidity    Quantity = "humidity"    // relative humidity, 0–1
	Radiation   Quantity = "radiation"   // short-wave radiation on the flat, W/m²
)

// Sensor is one source of readings, as the site file describes it.
type Sensor struct {
	ID       Subject  // "bag/a4/moisture"
	Quantity Quantity // what it measures
	Topic    string   // MQTT topic, without wildcards
	Unit     string   // unit of the payload's number, as written in the site file
	Pointer  string   // RFC 6901 JSON Pointer into the payload; empty: a bare number, or SenML
	// TimePointer leads to the reading's time in the same document; empty: it
	// is when the message arrives.
	TimePointer string
	Record      string // SenML record name; empty: the only record, or the first with a matching unit

	// Calibration turns the payload's number into Unit, linear between its
	// points and beyond them; empty: the number is already in Unit. At least
	// two points, rising in raw value.
	Calibration []CalibrationPoint

	// ExpectEvery is the longest time between readings that is normal. Zero:
	// learnt from the readings.
	ExpectEvery time.Duration

	// Min and Max bound what is believable, in the unit of the Quantity.
	Min, Max float64

	// CompensateTo25 says that an EC probe sends the conductivity at the
	// temperature of the solution, so that wickd compensates it to 25 °C.
	CompensateTo25 bool
	// TemperatureCoefficient of the compensation, 1/K (0.02 is 2 %/K).
	TemperatureCoefficient float64
	// NaturalWater compensates by the table of ISO 7888 and not linearly.
	NaturalWater bool
}

// CalibrationPoint pairs what a probe sends with what is true.
type CalibrationPoint struct {
	Raw   float64
	Value float64 // in the sensor's Unit
}

// Verdict says whether a reading may be used as it stands, and why not.
type Verdict string

// The verdicts. Only a Good reading feeds the model as fresh evidence.
const (
	Good         Verdict = "good"
	Retained     Verdict = "retained"     // a retained message: of unknown age
	OutOfRange   Verdict = "out-of-range" // outside the believable range
	Jump         Verdict = "jump"         // moved faster than the thing can
	ErrorValue   Verdict = "error-value"  // a value by which the sensor says that it failed
	Uncalibrated Verdict = "uncalibrated" // needs another reading (temperature) that is not there
)

// Reading is one decoded value of one sensor.
type Reading struct {
	Sensor  Subject   `json:"sensor"`
	Time    time.Time `json:"time"`  // when it was taken, as well as is known
	Value   float64   `json:"value"` // in the unit of the sensor's quantity
	Verdict Verdict   `json:"verdict"`
	// Reconstructed marks a reading whose time was laid out between its
	// neighbours, because a backlog brought none of its own.
	Reconstructed bool `json:"reconstructed,omitempty"`
}
