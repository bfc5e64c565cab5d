package solution

// balance settles what is let out, the water and the concentrates, from two
// balances: volume, and salt as EC times volume.
func (r Request) balance() (Plan, error) {
	if r.leavesEC() {
		return Plan{}, nil
	}
	if r.TargetEC < r.Water.EC {
		return Plan{}, refuse("use rain water or water from reverse osmosis, at least in part, or raise the target",
			"the water alone has %.2f mS/cm, above the target of %.2f", r.Water.EC, r.TargetEC)
	}
	switch {
	case r.Mode != Correct:
		return r.fillUp()
	case r.EC <= r.TargetEC:
		return r.strengthen()
	}
	return r.thin()
}

// fillUp brings Volume to the fill: V·EC + W·EC_w + Σ stocks = V₁·EC₁ with
// V + W + stocks = V₁.
func (r Request) fillUp() (Plan, error) {
	fill := r.fill()
	if r.Mode == Change && fill < r.Volume {
		return Plan{}, refuse("say with the volume what cannot be let out", "%.4g L are still in it, more than the fill of %.4g L", r.Volume, fill)
	}
	room := fill - r.Volume
	short := fill*r.TargetEC - r.Volume*r.EC - room*r.Water.EC
	if short < -1e-9 {
		left := (r.Volume*r.EC + room*r.Water.EC) / fill
		return Plan{}, refuse("use correct, which lets some out first, or raise the target",
			"filled up to %.4g L with nothing but water it would still have %.2f mS/cm, above the target of %.2f", fill, left, r.TargetEC)
	}
	// Each mL of concentrate takes the place of as much water.
	ml, err := r.dose(short, r.Water.EC)
	if err != nil {
		return Plan{}, err
	}
	p := Plan{Doses: r.doses(ml), Water: room - r.poured(ml)}
	if p.Water < 0 {
		return Plan{}, refuse("use correct, which lets some out first", "there is no room for %.0f mL of concentrate", 1000*r.poured(ml))
	}
	return p, nil
}

// dose is how much of every stock brings salt, mS/cm·L, where each mL of it takes
// the place of solution of EC instead, mS/cm.
func (r Request) dose(salt, instead float64) (float64, error) {
	if salt <= 1e-9 {
		return 0, nil
	}
	if len(r.Stocks) == 0 {
		return 0, refuse("name the stocks with their strength, for example --stock A=0.11", "reaching %.2f mS/cm takes concentrate", r.TargetEC)
	}
	net := r.strength() - float64(len(r.Stocks))*instead/1000
	if net <= 0 {
		return 0, refuse("check their strength: a concentrate of 1:100 adds about 0.1 mS/cm for each mL/L", "the stocks are no stronger than the target")
	}
	return salt / net, nil
}

func (r Request) doses(ml float64) []Dose {
	if ml == 0 {
		return nil
	}
	var all []Dose
	for _, s := range r.Stocks {
		all = append(all, Dose{Stock: s, ML: ml})
	}
	return all
}

// poured is the volume of a dose of every stock, L.
func (r Request) poured(ml float64) float64 { return float64(len(r.Stocks)) * ml / 1000 }

// strengthen adds concentrate to what is there; if there is no room for it, as
// much is let out first.
func (r Request) strengthen() (Plan, error) {
	if len(r.Stocks) == 0 && r.TargetEC-r.EC <= sdEC*r.TargetEC {
		return Plan{}, nil // nearer than it can be measured: nobody needs a concentrate for it
	}
	// For each litre kept, as doses are proportional to it.
	perLitre, err := r.dose(r.TargetEC-r.EC, r.TargetEC)
	if err != nil {
		return Plan{}, err
	}
	keep := min(r.Volume, r.Capacity/(1+r.poured(perLitre)))
	return Plan{Discard: r.Volume - keep, Doses: r.doses(perLitre * keep)}, nil
}

// thin adds water if there is room, and lets out what has to make room.
func (r Request) thin() (Plan, error) {
	if r.TargetEC-r.Water.EC < 0.01 {
		return Plan{}, refuse("use water with less salt or raise the target", "water of %.2f mS/cm hardly thins it to %.2f", r.Water.EC, r.TargetEC)
	}
	growth := (r.EC - r.Water.EC) / (r.TargetEC - r.Water.EC) // litres that one litre becomes
	keep := min(r.Volume, r.Capacity/growth)
	return Plan{Discard: r.Volume - keep, Water: keep * (growth - 1)}, nil
}
