package design

import (
	"fmt"
	"math"

	"wickd/model"
	"wickd/model/climate"
	"wickd/model/hydraulics"
)

// sizing is a Requirement on its way to becoming a Proposal.
type sizing struct {
	Requirement
	out           Proposal
	crop          climate.Crop
	fromReservoir bool // plants follow from reservoir and days
}

func (z *sizing) origin(what string, o Origin) {
	if _, known := z.out.Origins[what]; !known {
		z.out.Origins[what] = o
	}
}

func (z *sizing) given(what string) bool { return z.out.Origins[what] == Given }

// orElse takes an assumed value where none is given.
func (z *sizing) orElse(what string, v *float64, fallback float64, o Origin) {
	if *v == 0 {
		*v = fallback
		z.origin(what, o)
	}
}

// Size works out what a Requirement leaves open. What is given is taken as it
// is, even where it is not wise: the Report says so. The error is a
// *RequirementError, or several joined, when no proposal can be made.
func Size(r Requirement) (Proposal, error) {
	z, err := settle(r)
	if err != nil {
		return Proposal{}, err
	}
	return z.finish()
}

// settle works out everything but the wicks, and what rests on them.
func settle(r Requirement) (*sizing, error) {
	if err := r.validate(); err != nil {
		return nil, err
	}
	z := &sizing{Requirement: r}
	z.out.Origins = r.origins()
	if err := z.crops(); err != nil {
		return nil, err
	}
	z.assume()
	if err := z.tube(); err != nil {
		return nil, err
	}
	return z, z.demand()
}

// origins are the figures that are given.
func (r Requirement) origins() map[string]Origin {
	out := map[string]Origin{}
	for what, given := range map[string]bool{
		"diameter": r.Diameter > 0, "length": r.Length > 0, "fill": r.Fill > 0, "volume": r.Volume > 0,
		"plants": r.Plants > 0, "plants per bag": r.PerBag > 0, "bags": r.Bags > 0, "root room": r.RootRoom > 0,
		"canopy": r.Canopy > 0 || r.Crop.LitresPerPlant > 0, "medium": r.Medium.Name != "", "spill": r.Spill >= 0,
		"wick": r.Wick.Material != "" || r.Wick.Retention != nil, "section": r.Wick.Section > 0, "wicks": r.WickCount > 0,
		"lift": r.Lift > 0, "margin": r.Margin > 0, "place": r.Place != nil, "cover": r.Transmission > 0, "month": r.Month > 0, "lamps": r.Lamps.Radiation > 0,
		"days away": r.Days > 0, "reservoir": r.Reservoir > 0,
	} {
		if given {
			out[what] = Given
		}
	}
	for _, what := range r.FromSite {
		if out[what] == Given {
			out[what] = SiteFile
		}
	}
	return out
}

func (z *sizing) crops() error {
	name := z.Requirement.Crop.Builtin
	if name == "" {
		name = z.Requirement.Crop.Name
	}
	if name == "" {
		return refuse("crop", "for example --crop strawberry", "nothing says what is to grow")
	}
	c := z.Requirement.Crop
	if _, known := climate.Lookup(name); !known && c.Coefficient <= 0 && c.LitresPerPlant <= 0 {
		return refuse("crop", "name one that is built in, or one of the site file", "nothing is known of %q", name)
	}
	z.crop = cropFigures(c, name)
	z.out.Crop = z.Requirement.Crop.Name
	if z.out.Crop == "" {
		z.out.Crop = name
	}
	return nil
}

// assume takes what is usual for what the tube does not decide.
func (z *sizing) assume() {
	r := &z.Requirement
	if r.Medium.Name == "" {
		r.Medium = assumedMedium()
		z.origin("medium", Assumed)
	}
	if r.Wick.Material == "" && r.Wick.Retention == nil {
		r.Wick.Name, r.Wick.Material, r.Wick.Typical = "stone wool", "stone wool", true
		z.origin("wick", Assumed)
	}
	z.orElse("margin", &r.Margin, ample, Practice)
	z.orElse("cover", &r.Transmission, 1, Assumed)
	if r.Spill < 0 {
		r.Spill = assumedSpill
		z.origin("spill", Practice)
	}
	if r.Place == nil {
		z.origin("place", Assumed)
	}
	if r.Month == 0 {
		z.origin("month", WorkedOut)
	}
	if r.Canopy == 0 {
		r.Canopy = AssumedCanopy(z.crop)
		z.origin("canopy", Practice)
	}
}

// demand works out the day that the wicks must stand.
func (z *sizing) demand() error {
	var err error
	if z.Month == 0 {
		z.out.Peak, err = PeakDay(z.Place, z.Transmission, z.Lamps)
	} else {
		z.out.Peak, err = ClearDay(z.Place, z.Transmission, z.Lamps, z.Month)
	}
	if err != nil {
		return fmt.Errorf("size: %w", err)
	}
	z.out.Reference, z.out.Lit = z.out.Peak.Day, z.out.Peak.Lit
	return nil
}

// site is the smallest site that holds one of the bags, so that size and check
// rest on the same figures.
func (z *sizing) site() *model.Site {
	r := z.Requirement
	medium := r.Medium
	return &model.Site{
		CoverTransmission: r.Transmission,
		Media:             map[string]model.Medium{medium.Name: medium},
		Wicks:             map[string]model.WickKind{"wick": r.Wick},
		Crops:             map[string]model.Crop{"crop": r.Crop},
		Channels:          []model.Channel{{ID: "channel", Lift: r.Lift}},
		Bags: []model.Bag{{
			ID: "bag", Channel: "channel", Diameter: r.Diameter, Length: r.Length, Fill: r.Fill,
			Media: medium.Name, Wick: "wick", WickCount: r.WickCount,
			Plants: r.PerBag, Crop: "crop", Canopy: r.Canopy * float64(r.PerBag),
		}},
	}
}

// finish chooses the wicks, builds a bag and reads everything off it.
func (z *sizing) finish() (Proposal, error) {
	material, notes, err := Material(z.Medium)
	if err != nil {
		return Proposal{}, refuse("medium", "give the name of a built-in medium, a mix, or a medium of the site file", "%v", err)
	}
	store, err := hydraulics.NewStore(hydraulics.Tube{Diameter: z.Diameter / 10, Length: z.Length / 10, Fill: z.Fill}, material)
	if err != nil {
		return Proposal{}, fmt.Errorf("size: %w", err)
	}
	draft := &Bag{Bag: z.site().Bags[0], Crop: z.crop, Canopy: z.Canopy * float64(z.PerBag), coefficient: z.Requirement.Crop.Coefficient, perPlant: z.Requirement.Crop.LitresPerPlant}
	if err := z.wicks(draft.peakDemand(z.out.Peak.Day), store); err != nil {
		return Proposal{}, err
	}
	site, err := Build(z.site())
	if err != nil {
		return Proposal{}, fmt.Errorf("size: %w", err)
	}
	bag := site.Bags[0]
	run := bag.RunPeak(z.out.Peak)
	z.water(bag)
	z.out.Bag, z.out.Run, z.out.Report = bag, run, bag.Report(z.out.Peak, run)
	z.out.Lifts = bag.lifts(z.out.Report.PeakDemand)
	z.out.Media = z.shopping(material)
	z.out.Report.Notes = append(notes, z.wickNotes()...)
	z.figures()
	return z.out, nil
}

func (z *sizing) wickNotes() []string {
	_, notes, err := wickMaterial(z.Wick)
	if err != nil {
		return nil
	}
	return notes
}

// figures copies what was settled.
func (z *sizing) figures() {
	o, r := &z.out, z.Requirement
	o.Diameter, o.LayFlat, o.Length, o.Fill = r.Diameter, math.Pi/2*r.Diameter, r.Length, r.Fill
	o.Plants, o.PerBag, o.Bags, o.RootRoom = r.Plants, r.PerBag, r.Bags, r.RootRoom
	o.Latitude, o.Cover, o.Month = placeOr45(r.Place).Latitude, r.Transmission, r.Month
	o.Canopy, o.MeasuredDrink = r.Canopy, r.Crop.LitresPerPlant > 0
	o.TubeLength = float64(r.Bags) * r.Length / 1000
	o.Wick, o.Wicks, o.Section, o.Lift, o.Margin = r.Wick.Name, r.WickCount, r.Wick.Section, r.Lift, r.Margin
	o.Thumb = thumb(r.Diameter, r.Length, r.Fill)
}
