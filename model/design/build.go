package design

import (
	"fmt"

	"wickd/model"
	"wickd/model/climate"
	"wickd/model/hydraulics"
)

// genericDry gives the dry limits of a crop that is not built in: uptake begins
// to fall at 200–300 cm, as for most vegetables (Taylor & Ashcroft 1972), and
// ends at permanent wilting, 1.5 MPa.
func genericDry() climate.DryLimits {
	return climate.DryLimits{Dry1High: 200, Dry1Low: 300, Dry2: 15300}
}

// genericECLimit, mS/cm, is where the more sensitive greenhouse crops begin to
// suffer in the root zone (common practice).
const genericECLimit = 3.0

type storeKey struct {
	media                  string
	diameter, length, fill float64
}

type supplyKey struct {
	wick  string
	count int
	lift  float64
}

type bagKey struct {
	store  *hydraulics.Store
	supply *hydraulics.Supply
	feddes hydraulics.Feddes
}

// builder shares the tables between bags that are alike: they cost far more
// than a bag.
type builder struct {
	site     *model.Site
	stores   map[storeKey]*hydraulics.Store
	supplies map[supplyKey]*hydraulics.Supply
	bags     map[bagKey]*hydraulics.Bag
}

func (b *builder) bag(in model.Bag) (*Bag, error) {
	channel, ok := b.site.ChannelByID(in.Channel)
	if !ok {
		return nil, fmt.Errorf("channel %q is not in the site", in.Channel)
	}
	out := &Bag{Bag: in, Channel: channel, Lift: channel.Lift/10 + channel.Slope*in.Position/10}
	if err := b.physics(out); err != nil {
		return nil, err
	}
	out.limits()
	return out, nil
}

func (b *builder) physics(out *Bag) error {
	medium, material, notes, err := b.medium(out.Bag.Media)
	if err != nil {
		return err
	}
	out.Medium, out.Notes = medium, notes
	store, err := b.store(out.Bag, material)
	if err != nil {
		return err
	}
	supply, wick, notes, err := b.supply(out.Bag, out.Lift)
	if err != nil {
		return err
	}
	out.Wick, out.WickName = wick, wickName(b.site.Wicks[out.Bag.Wick])
	out.Notes = append(out.Notes, notes...)
	out.Saturated = material.Saturated()
	b.crop(out)
	out.Hydraulic, err = b.quick(store, supply, out.feddes())
	return err
}

func (b *builder) store(bag model.Bag, m hydraulics.Material) (*hydraulics.Store, error) {
	key := storeKey{bag.Media, bag.Diameter, bag.Length, bag.Fill}
	if s, ok := b.stores[key]; ok {
		return s, nil
	}
	tube := hydraulics.Tube{Diameter: bag.Diameter / 10, Length: bag.Length / 10, Fill: bag.Fill}
	s, err := hydraulics.NewStore(tube, m)
	if err != nil {
		return nil, err
	}
	b.stores[key] = s
	return s, nil
}

func (b *builder) supply(bag model.Bag, lift float64) (*hydraulics.Supply, hydraulics.Wick, []string, error) {
	kind, ok := b.site.Wicks[bag.Wick]
	if !ok {
		return nil, hydraulics.Wick{}, nil, fmt.Errorf("wick %q is not in the site", bag.Wick)
	}
	material, note, err := wickMaterial(kind)
	if err != nil {
		return nil, hydraulics.Wick{}, nil, err
	}
	w := hydraulics.Wick{Material: material, Section: kind.Section, Count: bag.WickCount, Lift: lift}
	key := supplyKey{bag.Wick, bag.WickCount, lift}
	s, ok := b.supplies[key]
	if !ok {
		if s, err = hydraulics.NewSupply(w); err != nil {
			return nil, w, nil, err
		}
		b.supplies[key] = s
	}
	return s, w, note, nil
}

func (b *builder) crop(out *Bag) {
	crop := b.site.Crops[out.Bag.Crop]
	name := crop.Builtin
	if name == "" && crop.Name == "" {
		name = out.Bag.Crop
	}
	figures := cropFigures(crop, name)
	out.Crop, out.ECLimit = figures, figures.ECLimit
	out.coefficient, out.perPlant = crop.Coefficient, crop.LitresPerPlant
	b.canopy(out)
}

// feddes are the stress limits between calm and bright days: half-way.
func (b *Bag) feddes() hydraulics.Feddes {
	dry := (b.Crop.Dry.Dry1High + b.Crop.Dry.Dry1Low) / 2
	return hydraulics.Feddes{Dry1: dry, Dry2: max(b.Crop.Dry.Dry2, dry+1)}
}

// quick makes the quick model, with what flow does to the profile accounted
// for: a hydrostatic bag errs by one or two hundredths of water content at
// noon (see package hydraulics).
func (b *builder) quick(store *hydraulics.Store, supply *hydraulics.Supply, f hydraulics.Feddes) (*hydraulics.Bag, error) {
	key := bagKey{store, supply, f}
	if bag, ok := b.bags[key]; ok {
		return bag, nil
	}
	bag, err := hydraulics.NewBag(store, supply, hydraulics.BagOptions{Feddes: f})
	if err != nil {
		return nil, err
	}
	b.bags[key] = bag
	return bag, nil
}

// cropFigures are those of the built-in crop of a name, or generic ones, with
// what the site file says of the crop put in their place.
func cropFigures(crop model.Crop, name string) climate.Crop {
	figures, known := climate.Lookup(name)
	if !known {
		figures = climate.Crop{Name: crop.Name, Kc: climate.Coefficients{Initial: 1, Mid: 1, End: 1}, Dry: genericDry(), ECLimit: genericECLimit}
	}
	if crop.DryLimit > 0 {
		figures.Dry.Dry1High, figures.Dry.Dry1Low = crop.DryLimit, crop.DryLimit
	}
	if crop.ECLimit > 0 {
		figures.ECLimit = crop.ECLimit
	}
	return figures
}

// limits are the grower's own, or follow from the medium at the height of the
// bag.
func (b *Bag) limits() {
	s := b.Hydraulic.Store
	b.DryLimit = b.Bag.DryLimit
	if b.DryLimit <= 0 {
		b.DryLimit = s.WaterContent(s.Storage(DryEnd))
	}
	air := b.Bag.AirLimit
	if air <= 0 {
		air = MinAirSpace
	}
	b.WetLimit = b.Saturated - air
}
