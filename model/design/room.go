package design

import (
	"wickd/model/climate"
)

// RootRoom is the volume of medium, L, that a plant of a crop is given, and
// whether the figure is for that crop. All are common practice: about 2 L for a
// strawberry, five to the metre of tube; the others after what pots and slabs
// of the trade hold for a plant. A bag that sits on its water can do with
// less than a pot that is watered by hand.
func RootRoom(c climate.Crop) (litres float64, known bool) {
	switch c.Name {
	case "strawberry":
		return 2, true
	case "sweet pepper":
		return 5, true
	case "tomato", "cucumber":
		return 7, true
	case "lettuce":
		return 1, true
	case "basil":
		return 0.8, true
	case "herbs":
		return 1, true
	}
	return 2, false
}

// The trade's rule of thumb for the tubes that bags are cut from: a litre for
// every 11 cm of a tube of 90 to 100 mm (common practice).
const (
	ThumbPerLitre  = 110.0 // mm
	ThumbNarrowest = 90.0  // mm
	ThumbWidest    = 100.0 // mm
)

// PerLitre is the length, mm, of a round tube of a diameter, mm, filled to a
// share, that holds one litre: 1/(fill·π/4·D²).
func PerLitre(diameter, fill float64) float64 {
	return 1e6 / (fill * circle(diameter))
}

// Thumb sets the rule of thumb beside geometry for one bag.
type Thumb struct {
	PerLitre float64 `json:"mm_per_litre"`      // by geometry
	ByThumb  float64 `json:"thumb_volume_l"`    // what the rule makes of the length
	Excess   float64 `json:"thumb_over_volume"` // rule over geometry; above 1: it promises too much
}

func thumb(diameter, length, fill float64) Thumb {
	t := Thumb{PerLitre: PerLitre(diameter, fill), ByThumb: length / ThumbPerLitre}
	t.Excess = t.PerLitre / ThumbPerLitre
	return t
}
