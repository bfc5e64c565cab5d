package probe_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/ingest"
	"wickd/ingest/probe"
	"wickd/model"
)

func TestNewRefuses(t *testing.T) {
	good := model.Sensor{ID: tankPH, Topic: "t", Quantity: model.PH, Unit: "pH"}
	with := func(change func(*model.Sensor)) []model.Sensor {
		s := good
		change(&s)
		return []model.Sensor{s}
	}
	tests := map[string]struct {
		options probe.Options
		want    string
	}{
		"no topic":            {probe.Options{Sensors: with(func(s *model.Sensor) { s.Topic = "" })}, "no topic"},
		"twice":               {probe.Options{Sensors: []model.Sensor{good, good}}, "twice"},
		"unknown quantity":    {probe.Options{Sensors: with(func(s *model.Sensor) { s.Quantity = "charm" })}, "charm"},
		"another's unit":      {probe.Options{Sensors: with(func(s *model.Sensor) { s.Unit = "mm" })}, "use pH"},
		"a crooked pointer":   {probe.Options{Sensors: with(func(s *model.Sensor) { s.Pointer = "ph" })}, "slash"},
		"pointer and record":  {probe.Options{Sensors: with(func(s *model.Sensor) { s.Pointer, s.Record = "/ph", "ph" })}, "not both"},
		"a time and no place": {probe.Options{Sensors: with(func(s *model.Sensor) { s.TimePointer = "/t" })}, "no pointer"},
		"a crooked time":      {probe.Options{Sensors: with(func(s *model.Sensor) { s.Pointer, s.TimePointer = "/p", "t" })}, "slash"},
		"range upside down":   {probe.Options{Sensors: with(func(s *model.Sensor) { s.Min, s.Max = 9, 3 })}, "not below"},
		"one point":           {probe.Options{Sensors: with(func(s *model.Sensor) { s.Calibration = make([]model.CalibrationPoint, 1) })}, "two are the least"},
		"coefficient in %":    {probe.Options{Sensors: []model.Sensor{{ID: tankEC, Topic: "t", Quantity: model.EC, Unit: "mS/cm", CompensateTo25: true, TemperatureCoefficient: 2}}}, "2 %/K"},
		"negative bound":      {probe.Options{Ahead: -1}, "negative"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			d, err := probe.New(tt.options)
			assert.Nil(t, d)
			assert.ErrorContains(t, err, tt.want)
		})
	}
}

// All mistakes are told at once.
func TestNewTellsEveryMistake(t *testing.T) {
	_, err := probe.New(probe.Options{Sensors: []model.Sensor{
		{ID: tankPH, Topic: "a", Quantity: model.PH, Unit: "mm", Min: 5, Max: 2},
		{ID: tankEC, Topic: "b", Quantity: model.EC, Unit: "pH"},
	}})
	for _, want := range []string{string(tankPH), string(tankEC), "not below"} {
		assert.ErrorContains(t, err, want)
	}
}

// drawMessages makes a stream with all that can happen to it.
func drawMessages(t *rapid.T) []ingest.Message {
	texts := []string{"20", "20.5", "85", "-127", "1.26", "5.8", "5,8", "nan", "52", "400", "45", `[{"n":"a","v":20,"t":-60}]`}
	var messages []ingest.Message
	at := noon
	for range rapid.IntRange(1, 40).Draw(t, "messages") {
		at = at.Add(time.Duration(rapid.IntRange(0, 7200).Draw(t, "seconds")) * time.Second)
		messages = append(messages, ingest.Message{
			Topic:    string(rapid.SampledFrom(sensors()).Draw(t, "sensor").ID),
			Payload:  []byte(rapid.SampledFrom(texts).Draw(t, "text")),
			Arrived:  at,
			Retained: rapid.IntRange(0, 9).Draw(t, "retained") == 0,
		})
	}
	return messages
}

// A decoder that is stopped anywhere and restored from the readings it gave
// goes on as if nothing had been, and never touches a payload.
func TestDecoderRestores(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		messages := drawMessages(t)
		stop := rapid.IntRange(0, len(messages)).Draw(t, "stop")
		whole, err := probe.New(probe.Options{Sensors: sensors()})
		require.NoError(t, err)
		second, err := probe.New(probe.Options{Sensors: sensors()})
		require.NoError(t, err)
		for i, m := range messages {
			before := string(m.Payload)
			result := whole.Decode(m)
			require.Equal(t, before, string(m.Payload))
			if i < stop {
				second.Restore(result.Readings)
				continue
			}
			require.Equal(t, fmt.Sprint(result), fmt.Sprint(second.Decode(m)), "message %d", i)
		}
	})
}

// Whatever arrives, a reading is finite, of a known sensor, with a known
// verdict; a good one is in range and not from the future.
func FuzzDecode(f *testing.F) {
	for _, seed := range []string{"21.5", "-127", "5,8", `[{"n":"a","u":"Cel","v":20}]`, "1e308", "\x81\xa2\x00\x61a\x02\x18\x2a"} {
		f.Add([]byte(seed), false)
	}
	f.Fuzz(func(t *testing.T, raw []byte, retained bool) {
		d := newDecoder(t, probe.Options{Sensors: sensors()})
		for _, sensor := range sensors() {
			result := d.Decode(ingest.Message{Topic: sensor.Topic, Payload: raw, Arrived: noon, Retained: retained})
			require.NotZero(t, len(result.Readings)+len(result.Refused))
			for _, refused := range result.Refused {
				require.NotEmpty(t, refused.Reason)
			}
			for _, r := range result.Readings {
				require.Equal(t, sensor.ID, r.Sensor)
				require.False(t, r.Value-r.Value != 0, "finite")
				require.False(t, retained && r.Verdict != model.Retained)
				require.False(t, r.Time.After(noon.Add(probe.DefaultAhead)))
			}
		}
	})
}

func BenchmarkDecodeNumber(b *testing.B) {
	d := newDecoder(b, probe.Options{Sensors: sensors()})
	m := message(bagWater, "52.1", noon)
	b.ReportAllocs()
	for b.Loop() {
		if r := d.Decode(m); r.Readings[0].Verdict != model.Good {
			b.Fatal(r)
		}
	}
}

func BenchmarkDecodeDocumentOfThree(b *testing.B) {
	d := newDecoder(b, probe.Options{Sensors: []model.Sensor{
		{ID: tankEC, Quantity: model.EC, Unit: "mS/cm", Topic: "tank", Pointer: "/ec", CompensateTo25: true},
		{ID: tankPH, Quantity: model.PH, Unit: "pH", Topic: "tank", Pointer: "/ph"},
		{ID: tankTemp, Quantity: model.Temperature, Unit: "Cel", Topic: "tank", Pointer: "/t"},
	}})
	m := message("tank", `{"ec": 1.26, "ph": 5.8, "t": 20, "device": "kestrel-7"}`, noon)
	b.ReportAllocs()
	for b.Loop() {
		if r := d.Decode(m); len(r.Readings) != 3 {
			b.Fatal(r)
		}
	}
}
