package probe_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/probe"
	"wickd/model"
)

// tankDocument is a probe that sends EC and temperature in one document, with the time.
func tankDocument() []model.Sensor {
	return []model.Sensor{
		{ID: tankEC, Quantity: model.EC, Unit: "mS/cm", CompensateTo25: true, Topic: "tank", Pointer: "/ec", TimePointer: "/at"},
		{ID: tankTemp, Quantity: model.Temperature, Unit: "Cel", Topic: "tank", Pointer: "/t", TimePointer: "/at"},
	}
}

// A gateway that comes back sends what is measured now beside what it kept, in any
// order. A document that holds its own temperature is compensated with that.
func TestKeptDocumentIsCompensatedWithItsOwnTemperature(t *testing.T) {
	d := newDecoder(t, probe.Options{Sensors: tankDocument()})
	send := func(at time.Time, ec, celsius float64) model.Reading {
		text := fmt.Sprintf(`{"at": %q, "ec": %g, "t": %g}`, at.Format(time.RFC3339), ec, celsius)
		result := d.Decode(message("tank", text, noon))
		require.Empty(t, result.Refused)
		require.Len(t, result.Readings, 2)
		return result.Readings[1]
	}
	now := send(noon, 1.8, 25)
	require.Equal(t, model.Good, now.Verdict)

	near := send(noon.Add(-2*time.Hour), 1.8, 20)
	assert.Equal(t, model.Good, near.Verdict)
	assert.InDelta(t, 2.0, near.Value, 1e-9, "by its own 20 °C, not by the 25 °C of two hours later")

	old := send(noon.Add(-5*time.Hour), 1.8, 20)
	assert.Equal(t, model.Good, old.Verdict, "its own temperature is of the same moment")
	assert.InDelta(t, 2.0, old.Value, 1e-9)
}

// A pack of kept readings: each EC is compensated with the temperature nearest to it.
func TestKeptPackIsCompensatedByTheHour(t *testing.T) {
	d := newDecoder(t, probe.Options{Sensors: []model.Sensor{
		{ID: tankEC, Quantity: model.EC, Unit: "mS/cm", CompensateTo25: true, Topic: "tank", Record: "ec"},
		{ID: tankTemp, Quantity: model.Temperature, Unit: "Cel", Topic: "tank", Record: "t"},
	}})
	text := "["
	for h := 6; h >= 1; h-- {
		at := noon.Add(-time.Duration(h) * time.Hour).Unix()
		text += fmt.Sprintf(`{"n":"t","u":"Cel","v":%d,"t":%d},{"n":"ec","v":1.8,"t":%d},`, 26-h, at, at)
	}
	result := d.Decode(message("tank", text[:len(text)-1]+"]", noon))
	require.Empty(t, result.Refused)
	require.Len(t, result.Readings, 12)
	for i, r := range result.Readings[6:] {
		assert.Equal(t, model.Good, r.Verdict, "%d h ago", 6-i)
		assert.InDelta(t, 1.8/(1+0.02*float64(i-5)), r.Value, 1e-9, "%d h ago", 6-i)
	}
}
