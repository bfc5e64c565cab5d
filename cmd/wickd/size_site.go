package main

import (
	"fmt"
	"slices"
	"strings"

	"wickd/model"
	"wickd/model/design"
)

// fromSite takes the wick and the lift of a site file where the command line gives none
// and the file is of one mind: the bags of the crop, or all where none grows it. With
// --wicks and --section it is the lift that is asked for.
func (z sizeCommand) fromSite(site *model.Site, r *design.Requirement) {
	alike := site.Bags
	if own := slices.DeleteFunc(slices.Clone(alike), func(b model.Bag) bool { return !z.grows(site, b) }); len(own) > 0 {
		alike = own
	}
	if wick, ok := only(alike, func(b model.Bag) string { return b.Wick }); ok && z.Wick == "" {
		section := r.Wick.Section
		r.Wick = site.Wicks[wick]
		r.FromSite = append(r.FromSite, "wick")
		if z.Section.given {
			r.Wick.Section = section
		} else {
			r.FromSite = append(r.FromSite, "section")
		}
	}
	lift, ok := only(alike, func(b model.Bag) float64 {
		c, _ := site.ChannelByID(b.Channel)
		return c.Lift
	})
	if ok && lift >= design.LowestLift && !z.Lift.given && (z.Wicks == 0 || !z.Section.given) {
		r.Lift = lift
		r.FromSite = append(r.FromSite, "lift")
	}
}

// grows says that a bag has the crop that is asked for, by whichever name, or one of the
// site file that is like it.
func (z sizeCommand) grows(site *model.Site, b model.Bag) bool {
	asked, err := z.crop(site)
	if err != nil {
		return false
	}
	own := site.Crops[b.Crop]
	return b.Crop == z.Crop || own.Name == asked.Name || own.Builtin == asked.Name
}

// only is the figure that all bags have; false: they differ, or there are none.
func only[T comparable](bags []model.Bag, figure func(model.Bag) T) (v T, ok bool) {
	for i, b := range bags {
		switch f := figure(b); {
		case i == 0:
			v = f
		case f != v:
			return v, false
		}
	}
	return v, len(bags) > 0
}

// bySite says of a refusal of wicks which figures nobody gave on the command line.
func bySite(r design.Requirement, refused *design.RequirementError, err error) error {
	var taken, flags []string
	if !slices.Contains([]string{"wick", "wicks", "section", "lift"}, refused.What) {
		return err
	}
	for _, what := range r.FromSite {
		switch what {
		case "wick":
			taken, flags = append(taken, "the wick "+r.Wick.Name), append(flags, "--wick")
		case "lift":
			taken, flags = append(taken, fmt.Sprintf("the lift of %s mm", amount(r.Lift))), append(flags, "--lift")
		}
	}
	if len(taken) == 0 {
		return err
	}
	return fmt.Errorf("%w (%s from the site file; %s %s another)", err, strings.Join(taken, " and ")+" "+pluralOf(len(taken), "is", "are"), strings.Join(flags, " and "), pluralOf(len(flags), "sets", "set"))
}
