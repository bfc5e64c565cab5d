package main

import (
	"errors"
	"fmt"
	"math"
	"time"

	"wickd/model"
	"wickd/model/climate"
	"wickd/model/design"
)

type sizeCommand struct {
	Crop     string       `placeholder:"NAME" help:"What is to grow: a built-in crop, or one of the site file."`
	Plants   countFlag    `placeholder:"N" help:"Plants altogether."`
	PerBag   countFlag    `name:"per-bag" placeholder:"N" help:"Plants in a bag."`
	Bags     countFlag    `placeholder:"N" help:"Bags."`
	RootRoom volumeFlag   `name:"root-room" placeholder:"VOLUME" help:"Medium for each plant: 2L."`
	Drink    flowFlag     `placeholder:"FLOW" help:"What a plant drinks on a bright day (4 mm), as you measured it: 0.4L/d. The peak day of the place asks for more in proportion."`
	Canopy   areaFlag     `placeholder:"AREA" help:"Leaf-covered area of a plant: 0.1m2."`
	LayFlat  lengthFlag   `name:"lay-flat" placeholder:"WIDTH" help:"Width of the tube pressed flat, as it is sold: 170mm."`
	Diameter lengthFlag   `placeholder:"WIDTH" help:"Width of the round tube instead."`
	Length   lengthFlag   `placeholder:"LENGTH" help:"Filled length of a bag: 1m."`
	Volume   volumeFlag   `placeholder:"VOLUME" help:"Filled volume of a bag instead."`
	Fill     shareFlag    `placeholder:"SHARE" help:"How full the tube is: 97%."`
	Media    string       `placeholder:"MEDIUM" help:"A built-in medium, one of the site file, or a mix: 'perlite 50%, coir 50%'."`
	Shrink   shareFlag    `placeholder:"SHARE" help:"What mixing loses, as you measured it: 8%."`
	Spill    shareFlag    `placeholder:"SHARE" help:"What filling loses: 5%."`
	Wick     string       `placeholder:"WICK" help:"A built-in wick material, or a wick of the site file."`
	Section  sectionFlag  `placeholder:"AREA" help:"Cross-section of one wick: 6cm2."`
	Wicks    countFlag    `placeholder:"N" help:"Wicks in a bag."`
	Lift     lengthFlag   `placeholder:"HEIGHT" help:"From the solution up to the base of the bags: 70mm."`
	Margin   numberFlag   `placeholder:"TIMES" help:"How many times the demand the wicks should lift: 1.5."`
	Latitude latitudeFlag `placeholder:"DEGREES" help:"Where: 47, 47N or 33.9S."`
	Month    monthFlag    `placeholder:"MONTH" help:"When: June or 6; the sunniest time of the year when left out."`
	Cover    shareFlag    `placeholder:"SHARE" help:"Sunlight that the cover lets in: 70%."`
	Site     string       `type:"path" placeholder:"FILE" help:"A site file for the place, the cover, the lamps, the wick and the lift where its bags of that crop share one, and the names of media, wicks and crops."`
	Away     daysFlag     `placeholder:"DAYS" help:"How long nobody fills the reservoir: 7."`
	Tank     volumeFlag   `name:"reservoir" placeholder:"VOLUME" help:"What the reservoir holds between full and empty: 150L."`
	JSON     bool         `name:"json" help:"For machines."`
	Plot     string       `type:"path" placeholder:"DIR" help:"Write pictures into this directory, as SVG and PNG."`
}

// Help is shown under the flags' own help.
func (z sizeCommand) Help() string {
	return `Everything that you give is taken as it is; what you leave out is worked out from
the rest, or is common practice, and the answer says which. So any figure can be
asked for by leaving it out: the width for a length, the lift for wicks you have,
the days that a reservoir lasts, the plants that it feeds.

  wickd size --crop strawberry --lay-flat 170mm --plants 50 --latitude 47
  wickd size --crop "sweet pepper" --per-bag 2 --length 80cm --plants 20 --month July
  wickd size --crop basil --diameter 110mm --length 60cm --wicks 4 --section 2cm2
  wickd size --crop basil --diameter 110mm --site site.yaml`
}

func (z sizeCommand) Run(c console) error {
	site, err := z.site(c)
	if err != nil {
		return err
	}
	need, err := z.requirement(site)
	if err != nil {
		return usageError{fmt.Errorf("size: %w", err)}
	}
	proposal, err := design.Size(need)
	var refused *design.RequirementError
	if errors.As(err, &refused) {
		return usageError{fmt.Errorf("size: %w", bySite(need, refused, err))}
	}
	if err != nil {
		return err
	}
	files, err := z.pictures(proposal)
	if err != nil {
		return err
	}
	document := struct {
		design.Proposal
		Pictures []string `json:"pictures,omitempty"`
	}{proposal, files}
	return c.answer(z.JSON, document, sizeText(proposal)+filesText(z.Plot, files))
}

// site reads the site file, if one is named; else it is an empty one.
func (z sizeCommand) site(c console) (*model.Site, error) {
	if z.Site == "" {
		return &model.Site{}, nil
	}
	cfg, err := loadSite(z.Site, c)
	if err != nil {
		return nil, err
	}
	return cfg.Site, nil
}

// requirement is what the command line and the site file say.
func (z sizeCommand) requirement(site *model.Site) (design.Requirement, error) {
	r := design.Requirement{
		Diameter: z.Diameter.value, Length: z.Length.value, Fill: z.Fill.value, Volume: z.Volume.value,
		Plants: int(z.Plants), PerBag: int(z.PerBag), Bags: int(z.Bags), RootRoom: z.RootRoom.value,
		Canopy: z.Canopy.value, Spill: -1, WickCount: int(z.Wicks), Lift: z.Lift.value, Margin: z.Margin.value,
		Transmission: site.CoverTransmission, Lamps: design.Lamps(site), Month: time.Month(z.Month), Days: z.Away.value, Reservoir: z.Tank.value,
	}
	if z.Spill.given {
		r.Spill = z.Spill.value
	}
	if z.Cover.given {
		r.Transmission = z.Cover.value
	}
	for _, f := range []struct {
		flag string
		quantity
	}{{"--fill", z.Fill.quantity}, {"--cover", z.Cover.quantity}} {
		if f.given && f.value == 0 {
			return r, fmt.Errorf("%s: 0 %% is impossible; leave it out where it is not known", f.flag)
		}
	}
	if z.Drink.given && z.Canopy.given {
		return r, errors.New("--drink and --canopy both say how much a plant drinks: give one")
	}
	if z.LayFlat.given {
		if z.Diameter.given {
			return r, errors.New("--lay-flat and --diameter both say how wide the tube is: give one")
		}
		const narrowest, widest = design.Narrowest * math.Pi / 2, design.Widest * math.Pi / 2
		if z.LayFlat.value < narrowest || z.LayFlat.value > widest {
			return r, fmt.Errorf("--lay-flat: %s mm is impossible; give %.0f to %.0f mm", amount(z.LayFlat.value), math.Ceil(narrowest), math.Floor(widest))
		}
		r.Diameter = 2 * z.LayFlat.value / math.Pi
	}
	for what, taken := range map[string]bool{"place": !z.Latitude.given, "cover": !z.Cover.given, "lamps": true} {
		if taken && z.Site != "" {
			r.FromSite = append(r.FromSite, what)
		}
	}
	if p := site.Place; p != nil {
		r.Place = &climate.Place{Latitude: p.Latitude, Longitude: p.Longitude, Elevation: p.Elevation}
	}
	if z.Latitude.given {
		r.Place = &climate.Place{Latitude: z.Latitude.value}
		r.Lamps.Zone = nil // the site's clocks tell nothing of the sun of another place
	}
	var err error
	if r.Crop, err = z.crop(site); err != nil {
		return r, err
	}
	if r.Medium, err = z.medium(site); err != nil {
		return r, err
	}
	if r.Wick, err = z.wick(site); err != nil {
		return r, err
	}
	z.fromSite(site, &r)
	return r, nil
}

func (z sizeCommand) pictures(p design.Proposal) ([]string, error) {
	if z.Plot == "" {
		return nil, nil
	}
	return writePictures(z.Plot, z.subject(p).pictures())
}

// subject is what the pictures of a proposal are about.
func (z sizeCommand) subject(p design.Proposal) subject {
	return subject{
		name: plural(p.PerBag, p.Crop+" plant", p.Crop+" plants") + " in a bag", mark: "this bag", file: "size",
		bags: []*design.Bag{p.Bag}, peak: p.Peak, where: "a clear day " + dayText(p) + " at " + latitude(p.Latitude),
	}
}
