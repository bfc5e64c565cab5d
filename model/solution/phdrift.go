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
	// Alkali that the drift means, meq/L/d, by the buffer of the solution.
	Alkali, AlkaliSD float64
	// Poured is the alkali that top-ups brought in, meq/L/d.
	Poured float64
}

// PHSample is the pH at a time, in days from any origin.
type PHSample struct{ Day, PH float64 }

// FitPH fits the drift of the pH, at least six samples over at least half a day,
// and turns it into alkali with the buffer of a solution, meq/L per pH
// ([Equilibrium.Buffer]). poured is the alkalinity that top-ups brought in over
// these days, meq/L of the reservoir in all.
func FitPH(samples []PHSample, buffer, poured float64) (PHCourse, error) {
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
	return PHCourse{
		Rate: l.slope, SD: l.slopeSD, Days: days,
		Alkali: l.slope * buffer, AlkaliSD: l.slopeSD * buffer, Poured: poured / days,
	}, nil
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
	case c.Poured > 0.5*c.Alkali:
		return HardWater, moved + fmt.Sprintf(": top-up water brings %.2f meq/L of alkalinity a day; neutralise it with acid before it goes in", c.Poured)
	}
	return NitrateUptake, moved + ": plants that take nitrate leave bicarbonate; a little more of the nitrogen as ammonium, or acid, holds it"
}
