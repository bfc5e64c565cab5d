package design

import (
	"fmt"

	"wickd/model/climate"
)

// CanopyPerPlant is assumed, m², for a crop that is not built in: a bench of
// ten plants to the square metre (common practice).
const CanopyPerPlant = 0.10

// BrightDay is the reference evapotranspiration, mm, of the day that a
// grower's own figure of litres per plant is taken to describe: a clear
// midsummer day at middle latitudes under a cover (common practice).
const BrightDay = 4.0

// AssumedCanopy is the leaf-covered area of one full-grown plant, m², where the
// grower gives none: the area that drinks the crop's usual litres on a bright
// day, so that the two figures cannot contradict each other. What is wrong
// with it, the demand factor that is learnt from the readings takes up.
func AssumedCanopy(c climate.Crop) float64 {
	if c.LitresADay <= 0 || c.Kc.Mid <= 0 {
		return CanopyPerPlant
	}
	return c.LitresADay / (c.Kc.Mid * BrightDay)
}

// canopy is the grower's own or the assumed one, with the note that it is. Where
// the grower gives litres per plant the canopy decides nothing.
func (b *builder) canopy(out *Bag) {
	out.Canopy = out.Bag.Canopy
	if out.Canopy > 0 {
		return
	}
	each := AssumedCanopy(out.Crop)
	out.Canopy = each * float64(max(1, out.Bag.Plants))
	if out.perPlant > 0 {
		return
	}
	origin := "a bench of ten plants to the square metre"
	if out.Crop.LitresADay > 0 {
		origin = fmt.Sprintf("what drinks the usual %.2g L a day", out.Crop.LitresADay)
	}
	out.Notes = append(out.Notes, fmt.Sprintf("%s: leaf-covered area of %.2f m² a plant assumed, %s; set canopy", out.Bag.Crop, each, origin))
}
