package solution

import (
	"errors"
	"fmt"
	"math"
)

// Reason names why the EC or the pH of a reservoir moves.
type Reason string

// The reasons.
const (
	Steady         Reason = "steady"          // no drift beyond noise
	WaterOverFeed  Reason = "water-over-feed" // more water than feed leaves: it grows stronger
	FeedOverWater  Reason = "feed-over-water" // more feed than water leaves: it grows weaker
	ProbeDrift     Reason = "probe-drift"     // faster than water and salt can do it
	WrongRefill    Reason = "wrong-refill"    // what was poured in was not the feed
	PlainRefill    Reason = "plain-refill"    // what was poured in was water
	RightRefill    Reason = "right-refill"
	HardWater      Reason = "hard-water"      // alkalinity of what was poured in
	NitrateUptake  Reason = "nitrate-uptake"  // pH rises as roots give bicarbonate for nitrate
	AmmoniumUptake Reason = "ammonium-uptake" // pH falls as roots give acid for ammonium, or it is nitrified
	Undecided      Reason = "undecided"
)

// Sample is the reservoir at a time without a refill since the first sample.
type Sample struct {
	Day    float64 // since any origin, d
	Volume float64 // L
	EC     float64 // mS/cm
}

// Course is how the EC went with the volume between refills: EC ∝ Volume^Exponent.
//
// An exponent of 0 means that what leaves is the solution itself, as wicks lift
// it: the EC stays. −1 means that only water leaves (evaporation, or plants that
// drink and do not feed): all salt stays. Above 0 more salt than water leaves.
type Course struct {
	Exponent, SD float64
	Rate         float64 // of the EC, mS/cm/d, over the samples
	RateSD       float64
	Drawn        float64 // share of the volume that left, 0–1
	EC           float64 // at the end, mS/cm
	Days         float64
	Noise        float64 // of the EC about the line, relative
}

// fewest samples that a course is fitted to.
const fewest = 6

// FitCourse fits a course by least squares of ln EC on ln volume, with samples in
// the order of time. It wants at least six over at least half a day. Noise of
// neighbouring samples is taken to be independent, so give hourly means.
func FitCourse(samples []Sample) (Course, error) {
	if len(samples) < fewest {
		return Course{}, fmt.Errorf("course of EC: %d samples, %d are the least", len(samples), fewest)
	}
	first, last := samples[0], samples[len(samples)-1]
	c := Course{Days: last.Day - first.Day, Drawn: 1 - last.Volume/first.Volume}
	if c.Days < 0.5 {
		return Course{}, errors.New("course of EC: less than half a day between the first and the last sample")
	}
	var day, volume, ec []float64
	for _, s := range samples {
		if !(s.Volume > 0 && s.EC > 0) {
			return Course{}, fmt.Errorf("course of EC: volume %g L, EC %g mS/cm; both have to be above 0", s.Volume, s.EC)
		}
		day, volume, ec = append(day, s.Day), append(volume, math.Log(s.Volume)), append(ec, math.Log(s.EC))
	}
	byTime := fitLine(day, ec)
	c.EC = math.Exp(byTime.at(last.Day))
	c.Rate, c.RateSD = byTime.slope*c.EC, byTime.slopeSD*c.EC
	byVolume := fitLine(volume, ec)
	c.Exponent, c.SD, c.Noise = byVolume.slope, byVolume.slopeSD, byTime.scatter
	return c, nil
}

// Limits within which a course can be told.
const (
	sure     = 2.0  // standard deviations
	leastEC  = 0.05 // relative change that matters: half of a usual band
	leastOut = 0.03 // share of volume drawn, below which no balance can be told
	// strongestUptake is the exponent of plants that take salt three times as
	// strongly as they drink, as hungry ones do in a weak solution (common
	// practice).
	strongestUptake = 2.0
	// onlyWater is the exponent beyond which more salt would stay than there was,
	// with room for what a probe errs.
	onlyWater = -1.3
)

// Judge names the likely reason of a course, with the evidence in words.
func (c Course) Judge() (Reason, string) {
	change := c.Rate * c.Days / c.EC
	if math.Abs(change) < leastEC || math.Abs(c.Rate) < sure*c.RateSD {
		return Steady, fmt.Sprintf("EC moved by %+.0f %% in %.1f days", 100*change, c.Days)
	}
	moved := fmt.Sprintf("EC moved by %+.2f mS/cm a day while %.0f %% of the solution left", c.Rate, 100*c.Drawn)
	if c.Drawn < leastOut {
		return ProbeDrift, moved + ": no water and salt left that could explain it; calibrate the probe"
	}
	switch {
	case c.Exponent+sure*c.SD < onlyWater:
		return ProbeDrift, moved + ": more than if every litre had left as pure water; calibrate the probe"
	case c.Exponent-sure*c.SD > strongestUptake:
		return ProbeDrift, moved + ": plants cannot take salt so fast; calibrate the probe"
	case c.Exponent < 0:
		return WaterOverFeed, moved + ": plants and air took more water than feed; top up with a weaker solution"
	}
	return FeedOverWater, moved + ": plants took more feed than water; top up with a stronger solution"
}

// Leaving is the EC, mS/cm, of what leaves: a top-up of that strength holds the
// EC where it is. With salt S = EC·V ∝ V^(1+Exponent), dS/dV = (1+Exponent)·EC.
// 0: only water leaves.
func (c Course) Leaving() float64 { return math.Max(0, 1+c.Exponent) * c.EC }
