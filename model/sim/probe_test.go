package sim

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"wickd/model"
)

// still is a site in which nothing is scattered, so that what is left between
// a message and the truth is the probe's own noise.
func still(t *testing.T, hours float64) (errors map[string][]float64, sent int) {
	t.Helper()
	s := begin(t, Options{Seed: 5, Scatter: Scatter{Exact: true}})
	errors = map[string][]float64{}
	for s.Now().Before(at(hours)) {
		_, messages := s.Advance()
		sent += len(messages)
		truth := s.Truth()
		tank := truth.Reservoirs[0]
		is := map[string]float64{
			"bag/a1/moisture": 100 * truth.Bags[0].WaterContent, "reservoir/tank/level": tank.Level,
			"reservoir/tank/ec": tank.EC, "reservoir/tank/ph": tank.PH, "reservoir/tank/temperature": tank.Temperature,
			"air/temperature": truth.Air.Temperature, "air/humidity": 100 * truth.Air.Humidity, "air/radiation": truth.Air.Inside,
		}
		for _, m := range messages {
			key := strings.TrimPrefix(m.Topic, "trial/")
			if v, ok := is[key]; ok {
				errors[key] = append(errors[key], numbers(t, []string{string(m.Payload)})[0]-v)
				is[key+"?"] = v
			}
		}
		relative(errors, is, "reservoir/tank/ec")
		if truth.Air.Inside > 100 {
			relative(errors, is, "air/radiation")
		}
	}
	return errors, sent
}

// relative notes the error of a sensor that errs in proportion, if it was
// heard.
func relative(errors map[string][]float64, is map[string]float64, key string) {
	if v, heard := is[key+"?"]; heard {
		e := errors[key]
		errors[key+" share"] = append(errors[key+" share"], e[len(e)-1]/v)
	}
}

// The noise is what the brief of a sensor says, within four standard errors of
// a standard deviation, sd/√(2n), and of a mean, sd/√n. Rounding to the
// sensor's last digit q adds q²/12 to the variance.
func TestNoise(t *testing.T) {
	errors, sent := still(t, 10*24)
	tests := map[string]struct{ sd, digit float64 }{
		"bag/a1/moisture":            {0.8, 0.1},
		"reservoir/tank/level":       {1, 0.1},
		"reservoir/tank/ph":          {0.03, 0.01},
		"reservoir/tank/temperature": {0.2, 0.1},
		"air/temperature":            {0.2, 0.1},
		"air/humidity":               {1.5, 1},
		"reservoir/tank/ec share":    {0.015, 0},
		"air/radiation share":        {0.02, 0},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			e := errors[name]
			require.Greater(t, len(e), 400)
			want := math.Sqrt(tt.sd*tt.sd + tt.digit*tt.digit/12)
			n := float64(len(e))
			assert.InDelta(t, 0, stat.Mean(e, nil), 4*want/math.Sqrt(n), "mean")
			assert.InDelta(t, want, stat.StdDev(e, nil), 4*want/math.Sqrt(2*n), "sd")
			assert.InDelta(t, 0, stat.Correlation(e[1:], e[:len(e)-1], nil), 4/math.Sqrt(n), "white")
		})
	}
	whole := 9.0 * 10 * 144
	assert.InDelta(t, 0.01, 1-float64(sent)/whole, 4*math.Sqrt(0.01*0.99/whole), "messages lost")
}

// Offsets of many probes have the spread they were given.
func TestOffsets(t *testing.T) {
	var offsets []float64
	for seed := range uint64(400) {
		p, err := newProbe(*DemoSite().Bags[0].Moisture, nil, Options{Seed: seed, Scatter: TypicalScatter()})
		require.NoError(t, err)
		offsets = append(offsets, p.offset)
	}
	assert.InDelta(t, 0.01, stat.StdDev(offsets, nil), 4*0.01/math.Sqrt(800))
	assert.InDelta(t, 0, stat.Mean(offsets, nil), 4*0.01/20)
}

func TestPrint(t *testing.T) {
	falling := []model.CalibrationPoint{{Raw: 1480, Value: 62}, {Raw: 2210, Value: 35}, {Raw: 2960, Value: 8}}
	distance := []model.CalibrationPoint{{Raw: 60, Value: 540}, {Raw: 540, Value: 60}}
	tests := map[string]struct {
		sensor model.Sensor
		value  float64
		want   string
	}{
		"per cent":           {model.Sensor{Quantity: model.Moisture, Unit: "%"}, 0.5234, "52.3"},
		"share":              {model.Sensor{Quantity: model.Moisture, Unit: "/"}, 0.5234, "0.523"},
		"counts at a point":  {model.Sensor{Quantity: model.Moisture, Unit: "%", Calibration: falling}, 0.35, "2210"},
		"counts between":     {model.Sensor{Quantity: model.Moisture, Unit: "%", Calibration: falling}, 0.485, "1845"}, // half-way: (1480+2210)/2
		"counts above":       {model.Sensor{Quantity: model.Moisture, Unit: "%", Calibration: falling}, 0.755, "1115"}, // 13.5 above 62: half a span of 730 more
		"counts below":       {model.Sensor{Quantity: model.Moisture, Unit: "%", Calibration: falling}, 0.053, "3035"}, // 2.7 below 8: a tenth of 750 more
		"distance":           {model.Sensor{Quantity: model.Level, Unit: "mm", Calibration: distance}, 540, "60.0"},
		"centimetres":        {model.Sensor{Quantity: model.Level, Unit: "cm"}, 123.4, "12.34"},
		"microsiemens":       {model.Sensor{Quantity: model.EC, Unit: "uS/cm"}, 1.8, "1800"},
		"siemens per metre":  {model.Sensor{Quantity: model.EC, Unit: "S/m"}, 1.8, "0.1800"},
		"kelvin":             {model.Sensor{Quantity: model.Temperature, Unit: "K"}, 20.06, "293.2"},
		"fahrenheit":         {model.Sensor{Quantity: model.Temperature, Unit: "degF"}, 20, "68.0"},
		"not a minus before": {model.Sensor{Quantity: model.Temperature, Unit: "°C"}, -0.04, "0.0"},
		"radiation":          {model.Sensor{Quantity: model.Radiation, Unit: "W/m2"}, 812.4, "812"},
		"without a unit":     {model.Sensor{Quantity: model.PH}, 5.8, "5.80"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			p, err := newProbe(tt.sensor, nil, Options{})
			require.NoError(t, err)
			assert.Equal(t, tt.want, p.print(tt.value))
		})
	}
}

// A conductivity probe that leaves compensation to its reader sends less when
// the solution is cold: 2 %/K of 15 K, 30 % (ISO 7888, linear).
func TestColdSolutionConductsLess(t *testing.T) {
	sensor := model.Sensor{CompensateTo25: true, TemperatureCoefficient: 0.02}
	assert.InDelta(t, 0.7, warmth(sensor, 10), 1e-12)
	assert.InDelta(t, 1, warmth(sensor, 25), 1e-12)
	assert.InDelta(t, 1, warmth(model.Sensor{}, 10), 1e-12)
}
