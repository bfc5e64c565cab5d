package payload

// choose picks a sensor's samples from a resolved pack: those of the named
// record; else, when every number has the same name, all of them; else those
// whose unit fits, if they share one name. It never picks the first of several:
// that could be the neighbour's.
//
// Several samples of one name are the same record at different times, as a
// sensor sends them that was offline.
func choose(pack []Sample, sel Selector) ([]Sample, error) {
	if len(pack) == 0 {
		return nil, refuse(NoRecord, "the pack has no number")
	}
	if sel.Record != "" {
		return named(pack, sel)
	}
	if oneName(pack) {
		return pack, nil
	}
	return fitting(pack, sel)
}

// fitting picks by unit.
func fitting(pack []Sample, sel Selector) ([]Sample, error) {
	var fit []Sample
	for _, s := range pack {
		if sel.Fits != nil && sel.Fits(s.Unit) {
			fit = append(fit, s)
		}
	}
	switch {
	case len(fit) == 0:
		return nil, refuse(NoRecord, "no record has a fitting unit; name the record, for example record: %s", clip(pack[0].Name))
	case !oneName(fit):
		return nil, refuse(Ambiguous, "several records have a fitting unit; name the record, for example record: %s", clip(fit[0].Name))
	}
	return fit, nil
}

func named(pack []Sample, sel Selector) ([]Sample, error) {
	var found []Sample
	for _, s := range pack {
		if s.Name == sel.Record {
			found = append(found, s)
		}
	}
	if len(found) > 0 && !oneName(found) {
		return fitting(found, sel)
	}
	if len(found) == 0 {
		return nil, refuse(NoRecord, "the pack has no number named %q; it has, for example, %q", clip(sel.Record), clip(pack[0].Name))
	}
	return found, nil
}

// oneName says that the samples are one record at different times. RFC 8428's
// own example (section 5.1.3) gives three quantities one name, so the units
// have to agree too.
func oneName(samples []Sample) bool {
	for _, s := range samples[1:] {
		if s.Name != samples[0].Name || s.Unit != samples[0].Unit {
			return false
		}
	}
	return true
}
