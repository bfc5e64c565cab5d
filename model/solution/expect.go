package solution

import (
	"math"
)

// expect works out what the plan comes to, and how surely: each uncertain input
// is moved by its standard deviation up and down, and the effects are added as
// squares.
func (r Request) expect(p *Plan) error {
	truth := circumstances{co2: 1}
	mean, err := r.outcome(*p, truth)
	if err != nil {
		return err
	}
	for _, vary := range uncertainties() {
		up, err := r.outcome(*p, vary(truth, 1))
		if err != nil {
			return err
		}
		down, err := r.outcome(*p, vary(truth, -1))
		if err != nil {
			return err
		}
		mean.ECSD = math.Hypot(mean.ECSD, (up.EC-down.EC)/2)
		mean.PHSD = math.Hypot(mean.PHSD, (up.PH-down.PH)/2)
	}
	if r.TargetPH == 0 {
		mean.PH, mean.PHSD, mean.PHAired = 0, 0, 0
	} else if err := r.begun(*p, &mean); err != nil {
		return err
	}
	if p.Reagent != nil && p.Reagent.Feeds != "" {
		mean.Fed = p.Reagent.Feeds
		mean.FedMmol = p.Reagent.Gives * p.Reagent.Molarity * p.Amount / mean.Volume
	}
	p.Expected = mean
	return nil
}

// begun says what the first part of the acid or base does.
func (r Request) begun(p Plan, out *Expected) error {
	standing, water, err := r.tanks(p)
	if err != nil {
		return err
	}
	t := p.Begin().Carry(standing, water)
	if out.FirstPH, err = t.PH(); err != nil {
		return err
	}
	out.FirstEC = t.EC()
	if p.Least > 0 {
		// The next plan starts from what is known: a guess that decides must not
		// pass for it.
		if standing, err = r.standingAt(circumstances{co2: 1, bare: true}); err != nil {
			return err
		}
		t = p.Begin().Carry(standing, water)
	}
	out.FirstTotals = t.Totals.times(1 / t.Volume)
	return nil
}

// circumstances are how the truth may differ from what was measured: shares of
// it, but for pH (added) and co2 (times).
type circumstances struct {
	volume, ec, pH, stock, alkalinity, phosphate, reagent float64
	carbon                                                float64 // of water that was poured in
	co2                                                   float64
	bare                                                  bool // it holds none of the carbonate that is not known
}

func uncertainties() []func(circumstances, float64) circumstances {
	return []func(circumstances, float64) circumstances{
		func(c circumstances, by float64) circumstances { c.volume = by * sdVolume; return c },
		func(c circumstances, by float64) circumstances { c.ec = by * sdEC; return c },
		func(c circumstances, by float64) circumstances { c.pH = by * sdPH; return c },
		func(c circumstances, by float64) circumstances { c.stock = by * sdStock; return c },
		func(c circumstances, by float64) circumstances { c.alkalinity = by * sdAlkalinity; return c },
		func(c circumstances, by float64) circumstances { c.phosphate = by * sdPhosphate; return c },
		func(c circumstances, by float64) circumstances { c.reagent = by * sdReagent; return c },
		func(c circumstances, by float64) circumstances { c.co2 *= math.Exp(by * sdCO2); return c },
	}
}

// outcome plays the plan under other circumstances.
func (r Request) outcome(p Plan, c circumstances) (Expected, error) {
	standing, err := r.standingAt(c)
	if err != nil {
		return Expected{}, err
	}
	water := r.Water
	water.Alkalinity *= 1 + c.alkalinity
	poured, err := FillWith(water, p.Water, r.Temperature)
	if err != nil {
		return Expected{}, err
	}
	p.Doses = append([]Dose(nil), p.Doses...)
	for i := range p.Doses {
		p.Doses[i].Stock.Strength *= 1 + c.stock
		p.Doses[i].Stock.Phosphate *= 1 + c.phosphate
	}
	p.Amount *= 1 + c.reagent
	t := p.Carry(standing, poured)
	out := Expected{Volume: t.Volume, EC: t.EC(), Fresh: 1 - standing.Volume*(1-p.DiscardShare)/t.Volume}
	if out.PH, err = t.PH(); err != nil {
		return Expected{}, err
	}
	out.PHAired, err = t.AiredPH(OutdoorCO2)
	return out, err
}

func (r Request) standingAt(c circumstances) (Tank, error) {
	if r.Volume == 0 {
		return Tank{Temperature: r.Temperature}, nil
	}
	ec, pH := r.EC*(1+c.ec), r.measuredPH()+c.pH
	totals, err := r.totals(ec, pH, c)
	if err != nil {
		return Tank{}, err
	}
	return Standing(r.Volume*(1+c.volume), ec, pH, totals, r.Temperature)
}

// totals are the weak acids of what stands in the reservoir, mmol/L.
func (r Request) totals(ec, pH float64, c circumstances) (Totals, error) {
	t := Totals{Phosphate: r.StandingPhosphate() * (1 + c.phosphate), Carbon: r.Carbon * c.co2}
	switch {
	case r.Tried != nil:
		return r.answered(ec, pH, t.Phosphate, c.bare)
	case r.Carbon > 0 || c.bare:
		return t, nil
	}
	var err error
	t.Carbon, err = restingCarbon(ec, pH, standingCO2*c.co2, r.Temperature)
	return t, err
}
