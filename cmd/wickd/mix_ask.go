package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"wickd/cmd/internal/web"
	"wickd/model"
	"wickd/model/design"
	"wickd/model/solution"
)

// ask takes what stands in a reservoir from the running daemon, and gives the
// water that it is filled up with; nil: that is not stated.
func (f mixFlags) ask(ctx context.Context, r *solution.Request) (*solution.Water, error) {
	if f.Reservoir == "" {
		return nil, nil
	}
	doc, err := f.client().Snapshot(ctx)
	if err != nil {
		return nil, err
	}
	var ids []string
	for _, v := range doc.Reservoirs {
		if v.Reservoir != f.Reservoir {
			ids = append(ids, v.Reservoir)
			continue
		}
		// What is let out needs no figures, only what stays.
		gone := r.Mode == solution.Change && f.Site == "" && f.Volume.value == 0
		return statedBy(v.Water), errors.Join(
			take(v.Volume, gone || f.Volume.given, "volume", "--volume", &r.Volume),
			take(v.EC, gone || f.EC.given, "EC", "--ec", &r.EC),
			take(v.PH, gone || f.PH.given, "pH", "--ph", &r.PH),
			take(v.Temperature, true, "", "", &r.Temperature),
		)
	}
	if len(ids) == 0 {
		return nil, errors.New("mix: the daemon has evaluated nothing yet; ask again once readings have come in, or give the figures yourself")
	}
	return nil, fmt.Errorf("mix: the daemon watches no reservoir %q; it watches %s", f.Reservoir, strings.Join(ids, ", "))
}

// take uses a figure of the daemon if it is fresh. A stale one would be mixed
// into the tank, so it is refused unless the command line gives the figure or it
// can be done without.
func take(figure web.Figure, spare bool, name, flag string, into *float64) error {
	if figure.Value != nil && figure.Quality == model.Fresh {
		*into = *figure.Value
		return nil
	}
	if spare {
		return nil
	}
	return fmt.Errorf("mix: the daemon has no fresh %s; measure it and give %s", name, flag)
}

// fromSite takes the target, what the reservoir holds and the water, where it is
// stated, and gives the reservoir; nil: no site file was named.
func (f mixFlags) fromSite(c console, r *solution.Request, water **solution.Water) (*design.Reservoir, error) {
	if f.Site == "" {
		return nil, nil
	}
	if f.Reservoir == "" {
		return nil, usageError{errors.New("mix: which reservoir of the site file? Give --reservoir")}
	}
	site, err := loadSite(f.Site, c)
	if err != nil {
		return nil, err
	}
	built, err := design.Build(site.Site)
	if err != nil {
		return nil, err
	}
	for _, v := range built.Reservoirs {
		if v.Reservoir.ID == f.Reservoir {
			r.Capacity, r.TargetEC, r.TargetPH = v.Full(), v.Reservoir.Target.EC, v.Reservoir.Target.PH
			if v.Reservoir.Water != nil {
				*water = v.Reservoir.Water
			}
			return v, nil
		}
	}
	var ids []string
	for _, v := range site.Site.Reservoirs {
		ids = append(ids, v.ID)
	}
	return nil, usageError{fmt.Errorf("mix: the site file has no reservoir %q; it has %s", f.Reservoir, strings.Join(ids, ", "))}
}
