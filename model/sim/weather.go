package sim

import (
	"math"
	"time"

	"wickd/model/climate"
	"wickd/model/design"
)

// Air is the weather of one step.
type Air struct {
	Temperature float64 // in the house, °C
	Humidity    float64 // in the house, 0–1
	Outside     float64 // short-wave radiation on the flat outside, W/m²
	Inside      float64 // the same under the cover, with that of lamps, W/m²
	Reference   float64 // reference evapotranspiration in the house, mm/h
}

// Constants of the weather. They are invented to look like a vented, unheated
// greenhouse in a temperate summer; no place has this climate.
const (
	dayMemory     = 0.6   // correlation of cloudiness and warmth from day to day
	cloudMemory   = 35.0  // minutes in which a cloud's correlation falls to 1/e
	warmthSpread  = 2.5   // K, of daily means about the season
	dewSpread     = 1.2   // K, of the dew point about the night's lowest
	swingClear    = 7.0   // K, half the day's range outside under a clear sky
	swingOvercast = 2.5   // K
	houseWarmer   = 3.0   // K that the house is above outside by night
	houseGain     = 7.0   // K more that the sun adds before vents hold it
	gainAt        = 350.0 // W/m² inside at which 1 − 1/e of that is reached
	frostGuard    = 5.0   // °C that a heater keeps
	moistHouse    = 0.12  // kPa that wet surfaces add to the air
	moistSun      = 7e-4  // kPa per W/m² that the crop's own transpiration adds
	driest        = 0.25  // relative humidity that a crop keeps up
	dampest       = 0.97  // relative humidity above which water condenses on the cover
)

// weather makes the air of the house step by step.
type weather struct {
	place        climate.Place
	transmission float64
	wind         float64 // m/s that the air in the house moves
	shield       float64 // share of the long-wave loss that the cover stops
	lamps        climate.Lamps

	day              int64
	known            bool
	warmth, sky, dew walker  // from day to day
	cloud            walker  // within the day
	clear            float64 // the day's share of clear-sky radiation
}

func newWeather(physics *design.Site, seed uint64, s Scatter) *weather {
	w := &weather{place: climate.Place{Latitude: 45}, lamps: physics.Lamps}
	if physics.Place != nil {
		w.place = *physics.Place
	}
	house := stream(seed, "house")
	w.transmission = math.Min(1, physics.Site.CoverTransmission*lognormal(house, s.Cover))
	// The estimator assumes still air of 0.5 m/s and no shield; the truth need
	// not agree.
	w.wind = climate.WindFloor * lognormal(house, 2*s.House)
	w.shield = s.Shield * house.Float64()
	w.warmth = newWalker(stream(seed, "warmth"))
	w.sky = newWalker(stream(seed, "sky"))
	w.dew = newWalker(stream(seed, "dew"))
	w.cloud = newWalker(stream(seed, "cloud"))
	return w
}

// step is the air between two times. heat is what a heat wave adds, K.
func (w *weather) step(from, to time.Time, heat float64) Air {
	solar := from.UTC().Add(time.Duration(w.place.Longitude / 15 * float64(time.Hour)))
	if day := floorDay(solar); !w.known || day != w.day {
		w.turn(day)
	}
	hours := to.Sub(from).Hours()
	w.cloud.step(math.Exp(-60 * hours / cloudMemory))
	clear := w.clearness()
	if heat > 0 {
		clear = math.Max(clear, 0.95)
	}
	var air Air
	above := climate.Extraterrestrial(w.place, from, to) / hours // MJ/m²/h
	air.Outside = climate.ClearSky(w.place.Elevation, above) * clear / megajoules
	lit := w.lamps.Mean(from, to)
	air.Inside = climate.Inside(air.Outside, w.transmission) + lit
	mid := solar.Add(to.Sub(from) / 2)
	vapour := w.warm(&air, mid, heat)
	air.Reference = w.reference(air, vapour, clear, above > 0 || lit > 0)
	return air
}

// megajoules is MJ/m² in an hour of one W/m².
const megajoules = 0.0036

func floorDay(t time.Time) int64 {
	return int64(math.Floor(float64(t.Unix()) / 86400))
}

func (w *weather) turn(day int64) {
	if w.known {
		memory := math.Pow(dayMemory, float64(day-w.day))
		w.warmth.step(memory)
		w.sky.step(memory)
		w.dew.step(memory)
	}
	w.day, w.known = day, true
	// A latent normal through a logistic curve: many fine days, few dull ones.
	w.clear = 0.15 + 0.85/(1+math.Exp(-(0.9+1.3*w.sky.value)))
}

// clearness is the share of clear-sky radiation now: steady under clear and
// closed skies, restless between.
func (w *weather) clearness() float64 {
	restless := 4 * w.clear * (1 - w.clear)
	return math.Min(1, math.Max(0.1, w.clear*math.Exp(0.35*restless*w.cloud.value)))
}

// warm fills in temperature and humidity and returns the vapour pressure, kPa.
func (w *weather) warm(air *Air, solar time.Time, heat float64) float64 {
	mean := w.season(solar.YearDay()) + warmthSpread*w.warmth.value
	swing := swingOvercast + (swingClear-swingOvercast)*w.clear
	hour := float64(solar.Hour()) + float64(solar.Minute())/60
	outside := mean + swing*math.Cos(2*math.Pi*(hour-15)/24)
	gain := houseGain * -math.Expm1(-air.Inside/gainAt)
	air.Temperature = math.Max(frostGuard, outside+houseWarmer+gain+heat)
	dew := math.Min(mean-swing-1, air.Temperature) + dewSpread*w.dew.value
	vapour := climate.SaturationVapourPressure(dew) + moistHouse + moistSun*air.Inside
	saturated := climate.SaturationVapourPressure(air.Temperature)
	air.Humidity = math.Min(dampest, math.Max(driest, vapour/saturated))
	return air.Humidity * saturated
}

// season is the mean temperature outside, °C, on a day of the year: from 28.5 °C
// at the equator down by 0.37 K a degree, swinging by 0.2 K a degree about 21
// July (21 January in the south), 6.5 K colder a kilometre up. Invented after
// the broad run of mean temperatures with latitude.
func (w *weather) season(day int) float64 {
	latitude := math.Abs(w.place.Latitude)
	warmest := 202.0
	if w.place.Latitude < 0 {
		warmest = 21
	}
	return 28.5 - 0.37*latitude + 0.2*latitude*math.Cos(2*math.Pi*(float64(day)-warmest)/365) - 0.0065*w.place.Elevation
}

// reference is FAO-56 eq 53 with the house's own wind and long-wave shield,
// mm/h, not below 0.
func (w *weather) reference(air Air, vapour, clear float64, sunlit bool) float64 {
	net := climate.NetShortwave(air.Inside*megajoules) -
		(1-w.shield)*climate.NetLongwaveHourly(air.Temperature, vapour, clear)
	return math.Max(0, climate.Hourly(climate.HourTerms{
		Temperature: air.Temperature, Wind: w.wind, Vapour: vapour, Net: net,
		Soil: climate.SoilFluxHourly(net, sunlit), Pressure: climate.Pressure(w.place.Elevation),
	}))
}
