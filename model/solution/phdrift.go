package solution

import (
	"errors"
	"fmt"
	"math"
)

// PHCourse is how the pH of a reservoir went.
type PHCourse struct {
	Rate, SD float64 // 1/d
	Days     float64
	Start    float64 // pH of the line where it begins

	water *TopUps // what Explain was given; nil: nothing is known of the water
	// ByWater is the part of Rate that the alkalinity of top-up water makes, 1/d.
	ByWater, ByWaterSD float64
}

// PHSample is the pH at a time, in days from any origin.
type PHSample struct{ Day, PH float64 }

// FitPH fits the drift of the pH, at least six samples over at least half a day.
func FitPH(samples []PHSample) (PHCourse, error) {
	if len(samples) < fewest {
		return PHCourse{}, fmt.Errorf("course of pH: %d samples, %d are the least", len(samples), fewest)
	}
	var day, pH []float64
	for _, s := range samples {
		day, pH = append(day, s.Day), append(pH, s.PH)
	}
	days := day[len(day)-1] - day[0]
	if days < 0.5 {
		return PHCourse{}, errors.New("course of pH: less than half a day between the first and the last sample")
	}
	l := fitLine(day, pH)
	return PHCourse{Rate: l.slope, SD: l.slopeSD, Days: days, Start: l.at(day[0])}, nil
}

// Explain works out how much of the course the water that was topped up makes.
// The pH of t is that of the course at its beginning.
func (c PHCourse) Explain(t TopUps) (PHCourse, error) {
	t.PH = c.Start
	by, sd, err := t.Rise()
	if err != nil {
		return c, fmt.Errorf("course of pH: %w", err)
	}
	c.water, c.ByWater, c.ByWaterSD = &t, by/c.Days, sd/c.Days
	return c, nil
}

// leastPH is a drift that is worth a word, over the days observed: what field
// probes drift in a week.
const leastPH = 0.15

// Judge names the likely reason of a drift, with the evidence in words.
func (c PHCourse) Judge() (Reason, string) {
	if math.Abs(c.Rate) < sure*c.SD || math.Abs(c.Rate*c.Days) < leastPH {
		return Steady, fmt.Sprintf("pH moved by %+.2f in %.1f days", c.Rate*c.Days, c.Days)
	}
	moved := fmt.Sprintf("pH moves by %+.2f a day", c.Rate)
	switch {
	case c.Rate < 0:
		return AmmoniumUptake, moved + ": plants that take ammonium, or ammonium that bacteria turn into nitrate, make acid; check the probe in a buffer, then use a feed with less ammonium"
	case c.water != nil && c.ByWater >= mostly*c.Rate:
		return HardWater, moved + ": " + c.brought() + c.share() + "; neutralise it with acid before it goes in"
	case c.water != nil:
		return NitrateUptake, moved + ": plants that take nitrate leave bicarbonate; a little more of the nitrogen as ammonium, or acid, holds it; " + c.brought() + c.share()
	}
	return NitrateUptake, moved + ": plants that take nitrate leave bicarbonate; a little more of the nitrogen as ammonium, or acid, holds it"
}

// mostly is the part of a drift that makes a reason the likely one.
const mostly = 0.5

// brought says what came in with the water.
func (c PHCourse) brought() string {
	switch t := c.water; {
	case t.Alkalinity() <= 0:
		return "the top-up water brought no alkalinity"
	case t.Since > 0:
		return fmt.Sprintf("top-up water brings %.2f meq/L of alkalinity a day", t.Water.Alkalinity*t.Since/c.Days)
	}
	return fmt.Sprintf("the last top-up brought %.2f meq/L of alkalinity, whose carbon dioxide leaves", c.water.Alkalinity())
}

// share says how much of the drift that makes; empty: nothing came in.
func (c PHCourse) share() string {
	const resolved = 0.005
	if c.water.Alkalinity() <= 0 {
		return ""
	}
	if c.ByWater < resolved {
		return ", which makes next to nothing of it"
	}
	made := fmt.Sprintf(", which by itself makes %+.2f ± %.2f a day", c.ByWater, c.ByWaterSD)
	if c.ByWater > 1.3*c.Rate {
		return made + ", more than it rose: acid that was given, or roots that take ammonium, hold the rest"
	}
	return fmt.Sprintf("%s, %.0f %% of it", made, 100*math.Min(1, c.ByWater/c.Rate))
}
