package probe_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/ingest/probe"
	"wickd/model"
)

// noon is when most messages of these tests arrive.
var noon = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

const (
	tankEC   = model.Subject("reservoir/tank/ec")
	tankTemp = model.Subject("reservoir/tank/temperature")
	tankPH   = model.Subject("reservoir/tank/ph")
	tankLev  = model.Subject("reservoir/tank/level")
	bagWater = model.Subject("bag/a4/moisture")
	airHum   = model.Subject("air/humidity")
)

// sensors of a small house, each with a topic that is its own ID.
func sensors() []model.Sensor {
	all := []model.Sensor{
		{ID: tankEC, Quantity: model.EC, Unit: "mS/cm", CompensateTo25: true},
		{ID: tankTemp, Quantity: model.Temperature, Unit: "Cel"},
		{ID: tankPH, Quantity: model.PH, Unit: "pH"},
		{ID: tankLev, Quantity: model.Level, Unit: "mm", Min: 0, Max: 600},
		{ID: bagWater, Quantity: model.Moisture, Unit: "%"},
		{ID: airHum, Quantity: model.Humidity, Unit: "%"},
	}
	for i := range all {
		all[i].Topic = string(all[i].ID)
	}
	return all
}

func newDecoder(t testing.TB, o probe.Options) *probe.Decoder {
	t.Helper()
	d, err := probe.New(o)
	require.NoError(t, err)
	return d
}

func message(topic model.Subject, text string, arrived time.Time) ingest.Message {
	return ingest.Message{Topic: string(topic), Payload: []byte(text), Arrived: arrived}
}
