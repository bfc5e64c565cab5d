package solution

import (
	"fmt"
	"math"
)

// TopUps is the water that went into a solution, for what its alkalinity does to
// the pH. The feed that goes in with it is taken to keep the EC and the phosphate
// where they are, as a grower means it to.
type TopUps struct {
	PH, EC, Temperature float64 // of the solution when its course began: pH, mS/cm, °C
	Phosphate           float64 // mmol/L; 0: guessed from the EC
	Water               Water
	// Before is the share of the solution that was poured in just before the
	// course began, 0–1. Its alkalinity shows in PH already, but its carbon dioxide
	// has yet to leave, and the pH climbs as it does.
	Before float64
	// Since is what came in during the course, as through a float valve, as a share
	// of the solution; above 1 where it was renewed more than once.
	Since float64
}

// sdBefore is the share by which the carbon dioxide that poured water still holds
// is not known: how it was poured and how long it stood are not (common practice).
const sdBefore = 0.5

// Alkalinity that the top-ups brought in, meq/L of the solution.
func (t TopUps) Alkalinity() float64 { return t.Water.Alkalinity * (t.Before + t.Since) }

// Rise is by how much the pH climbs from PH through what the water brought, with
// its standard deviation, by the time its carbon dioxide has come to rest with the
// air over the solution. It is the whole of the effect where nothing else makes or
// takes acid: where plants do, the rest is theirs.
func (t TopUps) Rise() (by, sd float64, err error) {
	truth := circumstances{co2: 1}
	if by, err = t.rise(truth); err != nil {
		return 0, 0, err
	}
	for _, vary := range []func(circumstances, float64) circumstances{
		func(c circumstances, by float64) circumstances { c.phosphate = by * sdPhosphate; return c },
		func(c circumstances, by float64) circumstances { c.alkalinity = by * sdAlkalinity; return c },
		func(c circumstances, by float64) circumstances { c.co2 *= math.Exp(by * sdCO2); return c },
		func(c circumstances, by float64) circumstances { c.carbon = by * sdBefore; return c },
	} {
		up, err := t.rise(vary(truth, 1))
		if err != nil {
			return 0, 0, err
		}
		down, err := t.rise(vary(truth, -1))
		if err != nil {
			return 0, 0, err
		}
		sd = math.Hypot(sd, (up-down)/2)
	}
	return by, sd, nil
}

// rise adds the alkalinity that came in since to what the pH at the beginning
// stands for, and lets the carbon dioxide go.
func (t TopUps) rise(c circumstances) (float64, error) {
	if !(t.PH >= 3 && t.PH <= 9.5) || !(t.Before >= 0 && t.Before <= 1) || !(t.Since >= 0) {
		return 0, fmt.Errorf("rise of the pH: pH %g, shares %g and %g of top-up water; pH 3 to 9.5 and shares from 0 serve", t.PH, t.Before, t.Since)
	}
	e, err := NewEquilibrium(t.Temperature, IonicStrength(t.EC))
	if err != nil {
		return 0, err
	}
	over := standingCO2 * c.co2
	totals := Totals{Phosphate: t.phosphate() * (1 + c.phosphate), Carbon: e.OpenCarbon(t.PH, over)}
	fresh, err := carbonOf(t.Water, t.Temperature)
	if err != nil {
		return 0, err
	}
	if more := fresh*(1+c.carbon) - totals.Carbon; more > 0 {
		totals.Carbon += t.Before * more
	}
	alkali := e.Alkali(t.PH, totals) + t.Water.Alkalinity*(1+c.alkalinity)*t.Since
	return e.OpenPH(alkali, totals, over) - t.PH, nil
}

func (t TopUps) phosphate() float64 {
	return Request{EC: t.EC, Phosphate: t.Phosphate, Water: t.Water}.StandingPhosphate()
}
