package climate

func lettuce() Crop {
	return Crop{
		Name:       "lettuce",
		Kc:         Coefficients{Initial: 0.70, Mid: 1.00, End: 0.95},
		Stages:     Stages{Initial: 20, Development: 30, Mid: 15, Late: 10},
		Height:     0.3,
		Dry:        DryLimits{Dry1High: 400, Dry1Low: 600, Dry2: wiltingSuction},
		Salinity:   Salinity{Threshold: 1.3, Slope: 13},
		ECLimit:    2.5,
		LitresADay: 0.2,
		Sources: map[string]string{
			"Kc": recalled12, "Height": recalled12,
			"Stages":   recalled11 + ": Mediterranean, April",
			"Dry1High": recalledTA, "Dry1Low": recalledTA, "Dry2": wilting,
			"Salinity": maasHoffman, "ECLimit": practice, "LitresADay": practice,
		},
	}
}

// basil has no row of its own in FAO-56: the coefficients are those of its
// group of small vegetables.
func basil() Crop {
	leaf := practice + ": as lettuce, also a soft leaf; " + recalledTA
	return Crop{
		Name:       "basil",
		Kc:         Coefficients{Initial: 0.70, Mid: 1.05, End: 0.95},
		Stages:     Stages{Initial: 20, Development: 25, Mid: 45, Late: 10},
		Height:     0.4,
		Dry:        DryLimits{Dry1High: 400, Dry1Low: 600, Dry2: wiltingSuction},
		Salinity:   Salinity{Threshold: 1.5, Slope: 12},
		ECLimit:    3.0,
		LitresADay: 0.25,
		Sources: map[string]string{
			"Kc": recalled12 + ": the group of small vegetables", "Height": practice,
			"Stages": practice, "Dry1High": leaf, "Dry1Low": leaf, "Dry2": wilting,
			"Salinity": practice + ": moderately sensitive", "ECLimit": practice, "LitresADay": practice,
		},
	}
}

// herbs stands for cut leafy herbs; mint is the one FAO-56 lists.
func herbs() Crop {
	leaf := practice + ": as lettuce, also a soft leaf; " + recalledTA
	return Crop{
		Name:       "herbs",
		Kc:         Coefficients{Initial: 0.60, Mid: 1.15, End: 1.10},
		Stages:     Stages{Initial: 20, Development: 30, Mid: 60, Late: 20},
		Height:     0.6,
		Dry:        DryLimits{Dry1High: 400, Dry1Low: 600, Dry2: wiltingSuction},
		Salinity:   Salinity{Threshold: 1.5, Slope: 12},
		ECLimit:    2.5,
		LitresADay: 0.25,
		Sources: map[string]string{
			"Kc": recalled12 + ": mint", "Height": recalled12 + ": mint",
			"Stages": practice, "Dry1High": leaf, "Dry1Low": leaf, "Dry2": wilting,
			"Salinity": practice + ": moderately sensitive", "ECLimit": practice, "LitresADay": practice,
		},
	}
}
