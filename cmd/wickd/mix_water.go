package main

import (
	"fmt"

	"wickd/cmd/internal/web"
	"wickd/model/solution"
)

// source is who says what the water is.
type source int

const (
	rain  source = iota // nobody: it is taken for rain
	named               // the command line
	known               // the site file or the daemon
)

// statedBy is the water that the daemon knows of; nil: none.
func statedBy(d *web.WaterDoc) *solution.Water {
	if d == nil {
		return nil
	}
	w := &solution.Water{EC: d.EC, Alkalinity: d.Alkalinity}
	if d.PH != nil {
		w.PH = *d.PH
	}
	return w
}

// water settles what is poured in: what the command line says of it, over what
// the site states, over rain.
func (f mixFlags) water(r *solution.Request, stated *solution.Water) source {
	from := rain
	r.Water = solution.Water{PH: solution.UsualWaterPH}
	if stated != nil {
		from, r.Water = known, *stated
		if r.Water.PH == 0 {
			r.Water.PH = solution.UsualWaterPH
		}
	}
	if f.WaterEC.given {
		from, r.Water.EC = named, f.WaterEC.value
	}
	if f.Alkalinity.given {
		from, r.Water.Alkalinity = named, f.Alkalinity.value
	}
	if f.WaterPH.given {
		r.Water.PH = f.WaterPH.value
	}
	return from
}

// sourceNote says what the water was taken for, where nobody said so here; empty:
// somebody did.
func (m mixture) sourceNote() string {
	switch m.source {
	case rain:
		return "The water was taken for rain: no salt, no alkalinity. For tap water give --water-ec and --alkalinity; the supplier's report has them. To state them once, put them under water of the reservoir in the site file."
	case known:
		w := m.request.Water
		return fmt.Sprintf("The water was taken as the site file states it: %.2f mS/cm, %s meq/L of alkalinity.", w.EC, amount(w.Alkalinity))
	}
	return ""
}
