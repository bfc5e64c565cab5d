package climate_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/model/climate"
)

func TestDailyOfExample17(t *testing.T) {
	// FAO-56 example 17: Bangkok, April. [P] Ra 38.06, Rs 22.65, Rnl 3.11,
	// Rn 14.33, G 0.14; ETo [D] 5.71612, printed 5.72.
	const j, latitude, elevation = 105, 13 + 44.0/60, 2
	const tmax, tmin, ea = 34.8, 25.6, 2.85

	ra := climate.ExtraterrestrialDaily(latitude, j)
	assert.InDelta(t, 38.06, ra, twoDecimals)
	rs := climate.RadiationFromSunshine(8.5, climate.DaylightHours(latitude, j), ra)
	assert.InDelta(t, 22.65, rs, twoDecimals)
	loss := climate.NetLongwaveDaily(tmax, tmin, ea, rs/climate.ClearSky(elevation, ra))
	assert.InDelta(t, 3.11, loss, twoDecimals)
	net := climate.NetShortwave(rs) - loss
	assert.InDelta(t, 14.33, net, twoDecimals)
	soil := climate.SoilFluxMonthly(30.2, 29.2)
	assert.InDelta(t, 0.14, soil, twoDecimals)

	eto := climate.Daily(climate.DayTerms{
		Temperature: (tmax + tmin) / 2, Wind: 2,
		Saturation: climate.MeanSaturation(tmax, tmin), Vapour: ea,
		Net: net, Soil: soil, Pressure: climate.Pressure(elevation),
	})
	assert.InDelta(t, 5.71612, eto, 2e-5)
}

func TestDailyOfExample18(t *testing.T) {
	// FAO-56 example 18: Uccle, 6 July. [P] u₂ 2.078, Ra 41.09, Rs 22.07,
	// Rn 13.28; ETo [D] 3.880259, printed 3.88. The print's "9.25/16.3" and the
	// missing /2 of ea are misprints; its own results do without them.
	const latitude, elevation = 50.8, 100
	const tmax, tmin = 21.5, 12.3
	j := instant(2025, time.July, 6, 0, 0).YearDay()

	wind := climate.WindAt2m(10/3.6, 10)
	assert.InDelta(t, 2.078, wind, threeDecimals)
	ra := climate.ExtraterrestrialDaily(latitude, j)
	assert.InDelta(t, 41.09, ra, twoDecimals)
	rs := climate.RadiationFromSunshine(9.25, climate.DaylightHours(latitude, j), ra)
	assert.InDelta(t, 22.07, rs, twoDecimals)
	ea := climate.VapourPressureFromHumidity(tmax, tmin, 0.84, 0.63)
	net := climate.NetShortwave(rs) -
		climate.NetLongwaveDaily(tmax, tmin, ea, rs/climate.ClearSky(elevation, ra))
	assert.InDelta(t, 13.28, net, twoDecimals)

	eto := climate.Daily(climate.DayTerms{
		Temperature: (tmax + tmin) / 2, Wind: wind,
		Saturation: climate.MeanSaturation(tmax, tmin), Vapour: ea,
		Net: net, Pressure: climate.Pressure(elevation),
	})
	assert.InDelta(t, 3.880259, eto, 2e-6)
}

func TestHourlyOfExample19(t *testing.T) {
	// FAO-56 example 19: N'Diaye, 1 October, 14 to 15 h local. [P] Rn 1.749;
	// ETo [D] 0.626927, printed 0.63 mm/h.
	t0 := instant(2025, time.October, 1, 15, 0)
	ra := climate.Extraterrestrial(ndiaye, t0, t0.Add(time.Hour))
	ea := 0.52 * climate.SaturationVapourPressure(38)
	net := climate.NetShortwave(2.450) -
		climate.NetLongwaveHourly(38, ea, 2.450/climate.ClearSky(ndiaye.Elevation, ra))
	assert.InDelta(t, 1.749, net, threeDecimals)
	eto := climate.Hourly(climate.HourTerms{
		Temperature: 38, Wind: 3.3, Vapour: ea,
		Net: net, Soil: climate.SoilFluxHourly(net, true),
		Pressure: climate.Pressure(ndiaye.Elevation),
	})
	assert.InDelta(t, 0.626927, eto, 2e-6)
}

func TestHourlyOfExample19AtNight(t *testing.T) {
	// [M] FAO-56 example 19, 2 to 3 h: 28 °C, 90 %, 1.9 m/s, Rs/Rso 0.8 carried
	// from the afternoon; Rn -0.100 MJ/m²/h, ETo 0.00 mm/h.
	ea := 0.9 * climate.SaturationVapourPressure(28)
	net := -climate.NetLongwaveHourly(28, ea, 0.8)
	assert.InDelta(t, -0.100, net, 0.003)
	eto := climate.Hourly(climate.HourTerms{
		Temperature: 28, Wind: 1.9, Vapour: ea,
		Net: net, Soil: climate.SoilFluxHourly(net, false),
		Pressure: climate.Pressure(ndiaye.Elevation),
	})
	assert.InDelta(t, 0.00, eto, 0.01)
}

func TestDailyAndHargreavesOfExample20(t *testing.T) {
	// FAO-56 example 20: Lyon, July, radiation from the range of temperature and
	// dew point at Tmin. [P] Ra 40.55, Rs 22.29; ETo [D] 4.560439, printed 4.56;
	// Hargreaves [D] 5.033055, printed 5.0.
	const latitude, elevation = 45 + 43.0/60, 200
	const tmax, tmin = 26.6, 14.8
	j := instant(2025, time.July, 15, 0, 0).YearDay()

	ra := climate.ExtraterrestrialDaily(latitude, j)
	assert.InDelta(t, 40.55, ra, twoDecimals)
	rs := climate.RadiationFromRange(climate.KRsInterior, tmax, tmin, elevation, ra)
	assert.InDelta(t, 22.29, rs, twoDecimals)
	ea := climate.SaturationVapourPressure(tmin)
	net := climate.NetShortwave(rs) -
		climate.NetLongwaveDaily(tmax, tmin, ea, rs/climate.ClearSky(elevation, ra))
	eto := climate.Daily(climate.DayTerms{
		Temperature: (tmax + tmin) / 2, Wind: 2,
		Saturation: climate.MeanSaturation(tmax, tmin), Vapour: ea,
		Net: net, Pressure: climate.Pressure(elevation),
	})
	assert.InDelta(t, 4.560439, eto, 2e-6)
	assert.InDelta(t, 5.033055, climate.Hargreaves((tmax+tmin)/2, tmax, tmin, ra), 2e-6)
}

func TestRadiationOfExamples10To12(t *testing.T) {
	// [M] FAO-56 examples 10 to 12: Rio de Janeiro, 22°54′S, May: Ra 25.1, N 10.9,
	// n 7.1 → Rs 14.5; 25.1/19.1 °C, ea 2.1, Rso 18.8 → Rnl 3.5, Rn 7.6.
	const latitude, j = -(22 + 54.0/60), 135
	ra := climate.ExtraterrestrialDaily(latitude, j)
	assert.InDelta(t, 25.1, ra, 0.1)
	rs := climate.RadiationFromSunshine(7.1, climate.DaylightHours(latitude, j), ra)
	assert.InDelta(t, 14.5, rs, 0.1)
	loss := climate.NetLongwaveDaily(25.1, 19.1, 2.1, 14.5/18.8)
	assert.InDelta(t, 3.5, loss, 0.1)
	assert.InDelta(t, 7.6, climate.NetShortwave(14.5)-loss, 0.1)
}

func TestRadiationAtItsLimits(t *testing.T) {
	assert.Equal(t, 7.5, climate.RadiationFromSunshine(99, 12, 10), "no more sun than daylight")
	assert.Equal(t, 2.5, climate.RadiationFromSunshine(-1, 12, 10), "a closed sky passes a quarter")
	assert.Zero(t, climate.RadiationFromSunshine(0, 0, 0), "polar night")
	assert.Equal(t, climate.ClearSky(0, 40), climate.RadiationFromRange(0.16, 50, 0, 0, 40), "never above clear sky")
	assert.Zero(t, climate.RadiationFromRange(0.16, 10, 12, 0, 40), "no negative range")
	// [M] FAO-56 p 43: Rs/Rso ranges from about 0.33 under dense cloud to 1.
	assert.Equal(t, climate.NetLongwaveHourly(10, 1, 0.33), climate.NetLongwaveHourly(10, 1, 0))
	assert.Equal(t, climate.NetLongwaveHourly(10, 1, 1), climate.NetLongwaveHourly(10, 1, 3))
	assert.InDelta(t, 390, climate.Inside(600, 0.65), 1e-9)
}
