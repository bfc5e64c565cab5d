package climate

import "strings"

// Where the figures of crops come from.
const (
	reference12 = "FAO-56 table 12"
	recalled11  = "FAO-56 table 11, from memory"
	recalled12  = "FAO-56 table 12, from memory"
	maasHoffman = "Maas & Hoffman 1977, from memory"
	taylor      = "Taylor & Ashcroft 1972"
	recalledTA  = "Taylor & Ashcroft 1972, from memory"
	practice    = "common practice"
	wilting     = "permanent wilting, 1.5 MPa"
)

// wiltingSuction is 1.5 MPa in cm of water.
const wiltingSuction = 15300

// Crops returns the built-in crops, each call afresh.
func Crops() []Crop {
	return []Crop{
		strawberry(), sweetPepper(), tomato(), cucumber(), lettuce(), basil(), herbs(),
	}
}

// Lookup finds a built-in crop by name, whatever the case, with hyphens or
// underscores for spaces.
func Lookup(name string) (Crop, bool) {
	want := strings.ToLower(strings.TrimSpace(name))
	want = strings.NewReplacer("-", " ", "_", " ").Replace(want)
	for _, c := range Crops() {
		if c.Name == want {
			return c, true
		}
	}
	return Crop{}, false
}

// strawberry: FAO-56 table 11 has no strawberry, so its stages are the
// grower's to set; these fit a planting in April cropping into September.
func strawberry() Crop {
	return Crop{
		Name:       "strawberry",
		Kc:         Coefficients{Initial: 0.40, Mid: 0.85, End: 0.75},
		Stages:     Stages{Initial: 20, Development: 35, Mid: 80, Late: 30},
		Height:     0.2,
		Dry:        DryLimits{Dry1High: 200, Dry1Low: 300, Dry2: wiltingSuction},
		Salinity:   Salinity{Threshold: 1.0, Slope: 33},
		ECLimit:    2.2,
		LitresADay: 0.4,
		Sources: map[string]string{
			"Kc": reference12, "Height": reference12, "Stages": practice,
			"Dry1High": taylor, "Dry1Low": taylor, "Dry2": wilting,
			"Salinity":   maasHoffman + "; the strict end of FAO-56 table 23's 1.0–1.5 dS/m and 11–33 %",
			"ECLimit":    practice + ": about one above a solution of 1.2",
			"LitresADay": "0.1–0.5 L by season, from memory",
		},
	}
}

func sweetPepper() Crop {
	return Crop{
		Name:       "sweet pepper",
		Kc:         Coefficients{Initial: 0.60, Mid: 1.05, End: 0.90},
		Stages:     Stages{Initial: 30, Development: 35, Mid: 40, Late: 20},
		Height:     0.7,
		Dry:        DryLimits{Dry1High: 300, Dry1Low: 500, Dry2: wiltingSuction},
		Salinity:   Salinity{Threshold: 1.5, Slope: 14},
		ECLimit:    4.0,
		LitresADay: 1.5,
		Sources: map[string]string{
			"Kc": recalled12, "Height": recalled12,
			"Stages":   recalled11 + ": Europe and Mediterranean, April to June; a long glasshouse season is the grower's to set",
			"Dry1High": practice + ": as potato of its family, " + recalledTA,
			"Dry1Low":  practice + ": as potato of its family, " + recalledTA,
			"Dry2":     wilting, "Salinity": maasHoffman,
			"ECLimit": practice, "LitresADay": practice,
		},
	}
}

func tomato() Crop {
	return Crop{
		Name:       "tomato",
		Kc:         Coefficients{Initial: 0.60, Mid: 1.15, End: 0.80},
		Stages:     Stages{Initial: 30, Development: 40, Mid: 45, Late: 30},
		Height:     0.6,
		Dry:        DryLimits{Dry1High: 800, Dry1Low: 1500, Dry2: wiltingSuction},
		Salinity:   Salinity{Threshold: 2.5, Slope: 9.9},
		ECLimit:    5.0,
		LitresADay: 2.0,
		Sources: map[string]string{
			"Kc": recalled12 + "; end is the middle of 0.70–0.90", "Height": recalled12,
			"Stages":   recalled11 + ": Mediterranean, April or May",
			"Dry1High": recalledTA, "Dry1Low": recalledTA, "Dry2": wilting,
			"Salinity": maasHoffman, "ECLimit": practice, "LitresADay": practice,
		},
	}
}

func cucumber() Crop {
	return Crop{
		Name:       "cucumber",
		Kc:         Coefficients{Initial: 0.60, Mid: 1.00, End: 0.75},
		Stages:     Stages{Initial: 20, Development: 30, Mid: 40, Late: 15},
		Height:     0.3,
		Dry:        DryLimits{Dry1High: 350, Dry1Low: 450, Dry2: wiltingSuction},
		Salinity:   Salinity{Threshold: 2.5, Slope: 13},
		ECLimit:    3.5,
		LitresADay: 2.5,
		Sources: map[string]string{
			"Kc": recalled12 + ": fresh market", "Height": recalled12 + "; trained plants stand far higher",
			"Stages":   recalled11 + ": arid, June to August",
			"Dry1High": practice + ": as cantaloupe of its family, " + recalledTA,
			"Dry1Low":  practice + ": as cantaloupe of its family, " + recalledTA,
			"Dry2":     wilting, "Salinity": maasHoffman,
			"ECLimit": practice, "LitresADay": practice,
		},
	}
}
