package climate

import "fmt"

// Rung is a step of the ladder from all sensors down to none. The higher the
// number, the dearer the step in the package's table of errors.
type Rung int

// The ladder.
const (
	// Full is hourly Penman–Monteith on measured temperature, humidity and
	// radiation; wind as measured, or still air.
	Full Rung = iota
	// WithoutHumidity takes the dew point as the night's lowest temperature
	// (FAO-56 eq 48), or 70 % while no night was seen.
	WithoutHumidity
	// RadiationOnly takes temperature from recent days or the options and
	// humidity as 70 %.
	RadiationOnly
	// WithoutRadiation takes radiation from the range of temperature (eq 50)
	// spread over the day by the sun, or half the possible sunshine while no day
	// was seen.
	WithoutRadiation
	// TemperatureOnly estimates humidity and radiation as the two rungs before
	// do.
	TemperatureOnly
	// RecentDays is the best of the above on the mean weather of recent days at
	// this hour: sensors silent, or the future.
	RecentDays
	// DateAndLatitude assumes half the possible sunshine, a temperature and a
	// humidity.
	DateAndLatitude
	// PlantLitres is the grower's litres per plant and day spread by the sun;
	// where given it stands in for DateAndLatitude.
	PlantLitres
)

// String returns the rung in words.
func (r Rung) String() string {
	switch r {
	case Full:
		return "full Penman-Monteith"
	case WithoutHumidity:
		return "without humidity"
	case RadiationOnly:
		return "radiation only"
	case WithoutRadiation:
		return "without radiation"
	case TemperatureOnly:
		return "temperature only"
	case RecentDays:
		return "recent days"
	case DateAndLatitude:
		return "date and latitude only"
	case PlantLitres:
		return "litres per plant"
	}
	return fmt.Sprintf("rung %d", int(r))
}

// RelativeError returns the standard error of a day's reference depth on this
// rung as a share of it. The package's documentation says how it was measured
// and on what.
func (r Rung) RelativeError() float64 {
	switch r {
	case Full:
		return 0.10
	case WithoutHumidity:
		return 0.12
	case RadiationOnly:
		return 0.22
	case WithoutRadiation:
		return 0.24
	case TemperatureOnly:
		return 0.24
	case RecentDays:
		return 0.28
	case DateAndLatitude:
		return 0.30
	}
	return 0.35
}
