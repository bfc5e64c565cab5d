package estimate

import (
	"fmt"

	"wickd/model/design"
	"wickd/model/hydraulics"
)

// quickKey is what decides the tables of a quick model.
type quickKey struct {
	store  *hydraulics.Store
	supply *hydraulics.Supply
	feddes hydraulics.Feddes
}

// quickModels shares the tables of bags that are alike.
type quickModels map[quickKey]*hydraulics.Bag

// of is the bag as designed with what flow does to its profile accounted for:
// the filter weighs hundredths of water content against each other, and a
// hydrostatic bag errs by one or two of them at noon (see package hydraulics).
func (q quickModels) of(p *design.Bag) (*design.Bag, error) {
	h := p.Hydraulic
	key := quickKey{h.Store, h.Supply, h.Feddes}
	model, ok := q[key]
	if !ok {
		var err error
		model, err = hydraulics.NewBag(h.Store, h.Supply, hydraulics.BagOptions{Feddes: h.Feddes})
		if err != nil {
			return nil, fmt.Errorf("bag %s: %w", p.Bag.ID, err)
		}
		q[key] = model
	}
	out := *p
	out.Hydraulic = model
	return &out, nil
}
