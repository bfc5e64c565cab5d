package solution

import (
	"errors"
	"fmt"
	"math"
)

// RootZone is the salt in the water of one bag. A wicking bag has no drain, so
// what the plants do not take stays.
type RootZone struct {
	Water  float64 // L
	Salt   float64 // mS/cm·L
	SaltSD float64 // mS/cm·L
	Fed    float64 // L, by how much less Salt there were, per mS/cm that plants take more
}

// Flow is what went through a bag over a while, with standard deviations.
type Flow struct {
	Inflow, InflowSD float64 // L, from the reservoir; below 0: back into it
	Uptake           float64 // L, by plants
	EC, ECSD         float64 // of the reservoir, mS/cm
	Days             float64
	Feeding          Feeding
}

// Feeding says how plants take salt: at a concentration, mS/cm, as long as the
// root zone offers it.
type Feeding struct {
	Concentration, SD float64
}

// UsualFeeding is an uptake concentration where none was measured: growers run
// fruiting crops and herbs at feeds of 1 to 2 mS/cm, of which a balanced one is
// taken about as it is, so 1.2 ± 0.3 (common practice).
func UsualFeeding() Feeding { return Feeding{Concentration: 1.2, SD: 0.3} }

// NewRootZone is a bag that was filled and wetted with solution of an EC, mS/cm.
func NewRootZone(water, ec, sd float64) (RootZone, error) {
	if !(water > 0 && ec >= 0 && sd >= 0) {
		return RootZone{}, fmt.Errorf("root zone of %g L at %g ± %g mS/cm: the water has to be above 0, the rest not below", water, ec, sd)
	}
	return RootZone{Water: water, Salt: ec * water, SaltSD: sd * water}, nil
}

// EC of the water in the root zone, mS/cm, and its standard deviation.
func (z RootZone) EC() (ec, sd float64) {
	if z.Water <= 0 {
		return 0, 0
	}
	return z.Salt / z.Water, z.SaltSD / z.Water
}

// Scaled is a bag of so many times the size, of the same strength.
func (z RootZone) Scaled(by float64) RootZone {
	return RootZone{Water: by * z.Water, Salt: by * z.Salt, SaltSD: by * z.SaltSD, Fed: by * z.Fed}
}

// Step is dM/dt = inflow·C_reservoir − uptake·C_uptake over one flow, an hour to
// a day of it. Plants never take more than is there: C_uptake is at most that of
// the root zone. Errors of the reservoir's EC and of the uptake concentration
// last from step to step, so their standard deviations add up as they are; that
// of the inflow is independent.
func (z RootZone) Step(f Flow) (RootZone, error) {
	for _, x := range []float64{f.Inflow, f.Uptake, f.EC, f.InflowSD, f.ECSD, f.Feeding.Concentration, f.Feeding.SD} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return z, errors.New("step a root zone: a flow or concentration is not a number")
		}
	}
	ec, _ := z.EC()
	in := f.EC
	if f.Inflow < 0 {
		in = ec // what flows back has the strength of the bag
	}
	lasting := math.Max(0, f.Inflow) * f.ECSD
	taken := f.Feeding.Concentration
	if taken <= ec {
		lasting += f.Uptake * f.Feeding.SD
		z.Fed += f.Uptake
	} else {
		// Uptake follows the root zone's own EC, so an error of it is eaten up.
		taken = ec
		eaten := math.Min(1, f.Uptake/math.Max(z.Water, 1e-9))
		lasting -= eaten * z.SaltSD
		z.Fed -= eaten * z.Fed
	}
	z.SaltSD = math.Hypot(math.Max(0, z.SaltSD+lasting), f.InflowSD*in)
	z.Salt = math.Max(0, z.Salt+f.Inflow*in-f.Uptake*taken)
	z.Water = math.Max(leastWater, z.Water+f.Inflow-f.Uptake)
	return z, nil
}

// Measure takes in an EC, mS/cm, that was measured in the root zone, and what it tells of
// the plants' feeding since the account began: the update of a Kalman filter over both,
// whose errors go together by Fed.
func (z RootZone) Measure(ec, sd float64, f Feeding) (RootZone, Feeding, error) {
	if !(z.Water > 0 && ec >= 0 && sd > 0) {
		return z, f, fmt.Errorf("measure a root zone of %g L: %g ± %g mS/cm: the standard deviation has to be above 0, the rest not below", z.Water, ec, sd)
	}
	miss, noise := ec*z.Water-z.Salt, sd*z.Water
	known := z.SaltSD * z.SaltSD
	all := known + noise*noise
	// What is shared cannot be more than either has.
	shared := math.Min(z.Fed*f.SD, z.SaltSD) * f.SD
	left := math.Max(0, f.SD*f.SD-shared*shared/all)
	z.Salt += known / all * miss
	z.SaltSD *= math.Sqrt(1 - known/all)
	z.Fed = 0
	if left > 0 {
		z.Fed = shared * noise * noise / all / left
	}
	return z, Feeding{Concentration: math.Max(0, f.Concentration-shared/all*miss), SD: math.Sqrt(left)}, nil
}

// leastWater keeps the EC of a bag finite that has been drunk dry, L.
const leastWater = 1e-3

// Rate is how fast the root zone gains salt at a daily flow, mS/cm·L/d.
func (z RootZone) Rate(f Flow) float64 {
	ec, _ := z.EC()
	days := f.Days
	if days <= 0 {
		days = 1
	}
	return (f.Inflow*f.EC - f.Uptake*math.Min(f.Feeding.Concentration, ec)) / days
}

// DaysUntil is in how many days the EC reaches a limit, mS/cm, at today's course
// and with the water as it is; 0: it has, infinite: it does not.
func (z RootZone) DaysUntil(limit float64, f Flow) float64 {
	if z.Salt >= limit*z.Water {
		return 0
	}
	rate := z.Rate(f)
	if rate <= 0 {
		return math.Inf(1)
	}
	return (limit*z.Water - z.Salt) / rate
}

// Above is how surely the EC lies above a limit: the probability, normal errors.
func (z RootZone) Above(limit float64) float64 {
	ec, sd := z.EC()
	if sd <= 0 {
		if ec > limit {
			return 1
		}
		return 0
	}
	return 0.5 * math.Erfc((limit-ec)/(sd*math.Sqrt2))
}

// Flush is how much solution of an EC, poured on top, caught below and discarded,
// brings the root zone to a target, L: W·ln((C − C_f)/(C_t − C_f)), complete
// mixing. Channelling takes half as much again (common practice), which is
// included.
func (z RootZone) Flush(with, target float64) (float64, error) {
	ec, _ := z.EC()
	switch {
	case ec <= target:
		return 0, nil
	case with >= target:
		return 0, fmt.Errorf("flush: solution of %.2f mS/cm never brings it down to %.2f; take weaker", with, target)
	}
	const channelling = 1.5
	return channelling * z.Water * math.Log((ec-with)/(target-with)), nil
}

// WeakerFeed is the EC of the reservoir, mS/cm, at which the salt of the root
// zone stands still: uptake·C_uptake/inflow, at most that of the root zone.
func (z RootZone) WeakerFeed(f Flow) float64 {
	if f.Inflow <= 0 {
		return f.EC
	}
	ec, _ := z.EC()
	return f.Uptake * math.Min(f.Feeding.Concentration, ec) / f.Inflow
}
