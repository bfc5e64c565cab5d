package probe_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/ingest/payload"
	"wickd/ingest/probe"
	"wickd/model"
)

func TestDecodeConvertsToCanonicalUnits(t *testing.T) {
	tests := map[string]struct {
		sensor model.Sensor
		text   string
		want   float64
	}{
		"per cent":                {model.Sensor{Quantity: model.Moisture, Unit: "%"}, "52.1", 0.521},
		"share":                   {model.Sensor{Quantity: model.Moisture, Unit: "1"}, "0.521", 0.521},
		"centimetres":             {model.Sensor{Quantity: model.Level, Unit: "cm"}, "27.5", 275},
		"microsiemens":            {model.Sensor{Quantity: model.EC, Unit: "uS/cm"}, "1380", 1.38},
		"siemens per metre":       {model.Sensor{Quantity: model.EC, Unit: "S/m"}, "0.138", 1.38},
		"fahrenheit, boiling":     {model.Sensor{Quantity: model.Temperature, Unit: "degF", Max: 120}, "212", 100}, // by definition of the scale
		"kelvin, ice":             {model.Sensor{Quantity: model.Temperature, Unit: "K"}, "273.15", 0},             // by definition of the scale
		"permittivity":            {model.Sensor{Quantity: model.Moisture, Unit: probe.UnitPermittivity}, "20", 0.34540},
		"the payload's own unit":  {model.Sensor{Quantity: model.Temperature, Unit: "Cel"}, "68 °F", 20},
		"the same unit, repeated": {model.Sensor{Quantity: model.Temperature, Unit: "Cel"}, "20.0 °C", 20},
		"a comma-free exponent":   {model.Sensor{Quantity: model.Level, Unit: "mm"}, "2.75e2", 275},
		"calibrated in per cent": {model.Sensor{Quantity: model.Moisture, Unit: "%", Calibration: []model.CalibrationPoint{
			{Raw: 1100, Value: 60}, {Raw: 2600, Value: 0}}}, "1850", 0.30},
		"calibrated, raw in volts": {model.Sensor{Quantity: model.PH, Unit: "pH", Calibration: []model.CalibrationPoint{
			{Raw: 2.03, Value: 4.01}, {Raw: 2.51, Value: 7.00}}}, "2.27 V", 5.505},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			tt.sensor.ID, tt.sensor.Topic = "bag/a4/x", "x"
			result := newDecoder(t, probe.Options{Sensors: []model.Sensor{tt.sensor}}).Decode(message("x", tt.text, noon))
			require.Len(t, result.Readings, 1, "%v", result.Refused)
			assert.InDelta(t, tt.want, result.Readings[0].Value, 1e-9)
			assert.Equal(t, model.Good, result.Readings[0].Verdict)
			assert.Equal(t, noon, result.Readings[0].Time)
		})
	}
}

func TestDecodeVerdicts(t *testing.T) {
	type step struct {
		after   time.Duration
		text    string
		verdict model.Verdict
	}
	minutes := func(n int) time.Duration { return time.Duration(n) * time.Minute }
	tests := map[string]struct {
		id    model.Subject
		steps []step
	}{
		"moisture above all": {bagWater, []step{{0, "101", model.OutOfRange}, {0, "100", model.Good}, {0, "-0.1", model.OutOfRange}}},
		"own range":          {tankLev, []step{{0, "601", model.OutOfRange}, {0, "600", model.Good}}},
		"nothing answers":    {tankTemp, []step{{0, "-127", model.ErrorValue}, {0, "-127.00", model.ErrorValue}, {0, "-196.6 °F", model.ErrorValue}}},
		"no value":           {bagWater, []step{{0, "-999", model.ErrorValue}}},
		"full scale":         {tankLev, []step{{0, "65535", model.ErrorValue}, {0, "1023", model.ErrorValue}, {0, "255", model.Good}}},
		"85 at power-on":     {tankTemp, []step{{0, "85", model.ErrorValue}, {minutes(1), "85.0", model.ErrorValue}, {minutes(2), "19.5", model.Good}}},
		"85 from 20":         {tankTemp, []step{{0, "20", model.Good}, {minutes(10), "85", model.ErrorValue}, {minutes(20), "20.1", model.Good}}},
		"a spike":            {tankTemp, []step{{0, "20", model.Good}, {minutes(10), "50", model.Jump}, {minutes(20), "20.1", model.Good}}},
		"a real step":        {tankTemp, []step{{0, "20", model.Good}, {minutes(1), "40", model.Jump}, {minutes(2), "39.5", model.Good}, {minutes(3), "39", model.Good}}},
		"slow enough":        {tankTemp, []step{{0, "20", model.Good}, {minutes(30), "60", model.Good}}},
		"a bag watered":      {bagWater, []step{{0, "30", model.Good}, {minutes(1), "65", model.Good}}},
		"a tank refilled":    {tankLev, []step{{0, "60", model.Good}, {minutes(1), "375", model.Good}}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			d := newDecoder(t, probe.Options{Sensors: sensors()})
			for i, step := range tt.steps {
				result := d.Decode(message(tt.id, step.text, noon.Add(step.after)))
				require.Len(t, result.Readings, 1, "step %d: %v", i, result.Refused)
				assert.Equal(t, step.verdict, result.Readings[0].Verdict, "step %d: %s", i, step.text)
			}
		})
	}
}

// 85 °C is a temperature where a sensor may measure it and has come near it.
func TestDecodeBelieves85AfterAClimb(t *testing.T) {
	d := newDecoder(t, probe.Options{Sensors: []model.Sensor{{ID: tankTemp, Topic: "t", Quantity: model.Temperature, Unit: "Cel", Min: 0, Max: 100}}})
	for i, text := range []string{"60", "72", "85", "85"} {
		result := d.Decode(message("t", text, noon.Add(time.Duration(i)*time.Minute)))
		assert.Equal(t, model.Good, result.Readings[0].Verdict, text)
	}
	late := d.Decode(message("t", "85", noon.Add(3*time.Hour)))
	assert.Equal(t, model.ErrorValue, late.Readings[0].Verdict, "switched on again")
}

func TestDecodeRefusals(t *testing.T) {
	d := newDecoder(t, probe.Options{Sensors: sensors()})
	tests := map[string]struct {
		id   model.Subject
		text string
		want payload.Reason
	}{
		"comma":           {tankPH, "5,8", payload.CommaDecimal},
		"nan":             {tankPH, "nan", payload.NaN},
		"nothing":         {tankPH, "", payload.Empty},
		"another's unit":  {tankPH, "21.5 °C", probe.WrongUnit},
		"an unknown unit": {tankTemp, "21.5 gust", probe.WrongUnit},
		"ppm":             {tankEC, "700 ppm", probe.WrongUnit},
		"too large":       {tankEC, "1e308 S/m", payload.Overflow},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			result := d.Decode(message(tt.id, tt.text, noon))
			assert.Empty(t, result.Readings)
			require.Len(t, result.Refused, 1)
			assert.Equal(t, tt.id, result.Refused[0].Sensor)
			assert.Equal(t, tt.want, result.Refused[0].Reason)
			assert.Error(t, result.Refused[0].Err)
		})
	}
	assert.Equal(t, probe.Result{}, d.Decode(message("some/other/topic", "1", noon)))
}

// A retained message is of unknown age: it is never good, vouches for nothing
// and compensates nothing.
func TestDecodeRetained(t *testing.T) {
	d := newDecoder(t, probe.Options{Sensors: sensors()})
	for _, text := range []string{"20", "-127", "20 °C"} {
		m := message(tankTemp, text, noon)
		m.Retained = true
		assert.Equal(t, model.Retained, d.Decode(m).Readings[0].Verdict, text)
	}
	assert.Equal(t, model.Uncalibrated, d.Decode(message(tankEC, "1.4", noon)).Readings[0].Verdict)
}

func TestDecodeCompensatesEC(t *testing.T) {
	tests := map[string]struct {
		temperature string
		age         time.Duration
		ec          string
		want        float64
		verdict     model.Verdict
	}{
		// EC25 = EC/(1 + 0.02·(T − 25)) at 20 °C: 1.26/0.9 [D].
		"cool solution":       {"20", 0, "1.26", 1.4, model.Good},
		"3 h old is enough":   {"20", 3 * time.Hour, "1.26", 1.4, model.Good},
		"older is not":        {"20", 3*time.Hour + time.Second, "1.26", 1.26, model.Uncalibrated},
		"none at all":         {"", 0, "1.26", 1.26, model.Uncalibrated},
		"a failed one":        {"-127", 0, "1.26", 1.26, model.Uncalibrated},
		"a frozen tank":       {"-5", 0, "1.26", 1.26, model.Uncalibrated},
		"out of range after":  {"0", 0, "15", 30, model.OutOfRange},
		"a failed EC is that": {"20", 0, "-999", -999, model.ErrorValue},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			d := newDecoder(t, probe.Options{Sensors: sensors()})
			if tt.temperature != "" {
				d.Decode(message(tankTemp, tt.temperature, noon))
			}
			got := d.Decode(message(tankEC, tt.ec, noon.Add(tt.age))).Readings[0]
			assert.Equal(t, tt.verdict, got.Verdict)
			assert.InDelta(t, tt.want, got.Value, 1e-9)
		})
	}
}

func TestDecodeNaturalWaterOnRequest(t *testing.T) {
	natural := sensors()
	natural[slices.IndexFunc(natural, func(s model.Sensor) bool { return s.ID == tankEC })].NaturalWater = true
	d := newDecoder(t, probe.Options{Sensors: natural})
	d.Decode(message(tankTemp, "10", noon))
	got := d.Decode(message(tankEC, "0.5", noon)).Readings[0]
	assert.InDelta(t, 0.5*1.428, got.Value, 1e-12) // f25 at 10 °C, ISO 7888 [P]
	assert.Equal(t, model.Uncalibrated, d.Decode(message(tankEC, "1.4", noon)).Readings[0].Verdict)
}

// One document for a whole tank: its own temperature compensates its own EC,
// although the EC stands first.
func TestDecodeSharedTopic(t *testing.T) {
	shared := []model.Sensor{
		{ID: tankEC, Quantity: model.EC, Unit: "mS/cm", Topic: "tank", Pointer: "/ec", TimePointer: "/at", CompensateTo25: true},
		{ID: tankPH, Quantity: model.PH, Unit: "pH", Topic: "tank", Pointer: "/ph"},
		{ID: tankTemp, Quantity: model.Temperature, Unit: "Cel", Topic: "tank", Pointer: "/t", TimePointer: "/at"},
	}
	d := newDecoder(t, probe.Options{Sensors: shared})
	result := d.Decode(message("tank", `{"ec": 1.26, "ph": "5,8", "t": 20, "at": "2026-06-01T11:59:00Z"}`, noon))
	taken := noon.Add(-time.Minute)
	require.Len(t, result.Readings, 2)
	assert.Equal(t, model.Reading{Sensor: tankTemp, Time: taken, Value: 20, Verdict: model.Good}, result.Readings[0])
	assert.Equal(t, tankEC, result.Readings[1].Sensor)
	assert.InDelta(t, 1.4, result.Readings[1].Value, 1e-9)
	assert.Equal(t, taken, result.Readings[1].Time)
	require.Len(t, result.Refused, 1)
	assert.Equal(t, payload.CommaDecimal, result.Refused[0].Reason)
}

func TestDecodeSenMLHistory(t *testing.T) {
	d := newDecoder(t, probe.Options{Sensors: sensors()})
	result := d.Decode(message(bagWater, `[{"bn": "bag:w", "bu": "%", "bt": -120, "v": 50}, {"t": 60, "v": 51}, {"t": 120, "v": 52}]`, noon))
	var got []model.Reading
	for i, value := range []float64{0.5, 0.51, 0.52} {
		got = append(got, model.Reading{Sensor: bagWater, Time: noon.Add(time.Duration(i-2) * time.Minute), Value: value, Verdict: model.Good})
	}
	assert.Equal(t, got, result.Readings)
}

// Relative times count from where the pipeline laid a message out, and say
// nothing about when it was sent.
func TestRelativeTimeOfABacklog(t *testing.T) {
	d := newDecoder(t, probe.Options{Sensors: sensors()})
	m := message(bagWater, `[{"n": "w", "u": "%", "v": 50, "t": -60}, {"n": "w", "u": "%", "v": 51}]`, noon)
	_, ok := d.OwnTime(m)
	assert.False(t, ok)
	m.Taken = noon.Add(-time.Hour)
	got := d.Decode(m).Readings
	require.Len(t, got, 2)
	assert.Equal(t, m.Taken.Add(-time.Minute), got[0].Time)
	assert.Equal(t, m.Taken, got[1].Time)
	assert.True(t, got[0].Reconstructed && got[1].Reconstructed)
}

func TestOwnTime(t *testing.T) {
	tests := map[string]struct {
		text string
		want time.Time
	}{
		"absolute":     {`[{"n": "w", "u": "%", "v": 50, "t": 1780309800}]`, time.Unix(1780309800, 0).UTC()},
		"not believed": {`[{"n": "w", "u": "%", "v": 50, "t": 1000000000}]`, time.Time{}},
		"none":         {"50", time.Time{}},
		"refused":      {"5,0", time.Time{}},
	}
	d := newDecoder(t, probe.Options{Sensors: sensors()})
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			got, ok := d.OwnTime(message(bagWater, tt.text, noon))
			assert.Equal(t, tt.want, got)
			assert.Equal(t, !tt.want.IsZero(), ok)
		})
	}
	_, ok := d.OwnTime(message("some/other/topic", "1", noon))
	assert.False(t, ok)
}

func TestDecodeTime(t *testing.T) {
	arrived := noon
	tests := map[string]struct {
		at     string
		taken  time.Time // of the message
		want   time.Time
		laid   bool
		reason probe.ClockReason
	}{
		"its own":                    {`"2026-06-01T11:50:00Z"`, time.Time{}, arrived.Add(-10 * time.Minute), false, ""},
		"its own, of a backlog":      {`"2026-06-01T08:00:00Z"`, arrived.Add(-time.Hour), arrived.Add(-4 * time.Hour), false, ""},
		"a little ahead":             {`"2026-06-01T12:02:00Z"`, time.Time{}, arrived.Add(2 * time.Minute), false, ""},
		"ahead":                      {`"2026-06-01T12:02:01Z"`, time.Time{}, arrived, false, probe.ClockAhead},
		"local time taken for UTC":   {`"2026-06-01T14:00:00Z"`, time.Time{}, arrived, false, probe.ClockAhead},
		"never set":                  {`17`, time.Time{}, arrived, false, probe.ClockUnset},
		"the year 2000":              {`"2000-01-01T00:10:00Z"`, time.Time{}, arrived, false, probe.ClockUnset},
		"last year":                  {`"2025-06-01T12:00:00Z"`, time.Time{}, arrived, false, probe.ClockOld},
		"none":                       {`null`, time.Time{}, arrived, false, ""},
		"none, of a backlog":         {`null`, arrived.Add(-time.Hour), arrived.Add(-time.Hour), true, ""},
		"unbelievable, of a backlog": {`0`, arrived.Add(-time.Hour), arrived.Add(-time.Hour), true, probe.ClockUnset},
	}
	sensor := model.Sensor{ID: tankPH, Quantity: model.PH, Unit: "pH", Topic: "tank", Pointer: "/ph", TimePointer: "/at"}
	d := newDecoder(t, probe.Options{Sensors: []model.Sensor{sensor}})
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			result := d.Decode(ingest.Message{Topic: "tank", Payload: []byte(`{"ph": 5.8, "at": ` + tt.at + `}`), Arrived: arrived, Taken: tt.taken})
			require.Len(t, result.Readings, 1)
			assert.Equal(t, model.Reading{Sensor: tankPH, Time: tt.want, Value: 5.8, Verdict: model.Good, Reconstructed: tt.laid}, result.Readings[0])
			if tt.reason == "" {
				assert.Empty(t, result.Clocks)
				return
			}
			require.Len(t, result.Clocks, 1)
			assert.Equal(t, tt.reason, result.Clocks[0].Reason)
		})
	}
}
