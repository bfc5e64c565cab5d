package model

import "time"

// Site is one place that wickd watches, as its site file describes it.
// Slices are in a stable order, and so is everything derived from a Site: bags in
// that of the file, sensors of the air and of a reservoir in that of their
// quantities, all else sorted by ID.
type Site struct {
	Name     string
	Place    *Place         // nil when the file gives none
	TimeZone *time.Location // for messages to people; never nil (UTC by default)

	// CoverTransmission is the share of short-wave radiation that the cover
	// lets in (0–1); 1 when there is no cover.
	CoverTransmission float64
	// RadiationOutside says that the radiation sensor stands outside the cover.
	RadiationOutside bool

	Lamps *Lamps // over the crop; nil: none

	Air        []Sensor
	Media      map[string]Medium
	Wicks      map[string]WickKind
	Crops      map[string]Crop
	Reservoirs []Reservoir
	Channels   []Channel
	Bags       []Bag
}

// Lamps are lit over the crop at the same hours every day.
type Lamps struct {
	Radiation float64 // short-wave that they give at the crop, W/m²
	Hours     []Hours
}

// Hours are a span of every day by the site's clocks, up to 24 h; one whose To is not
// after its From goes on past midnight.
type Hours struct{ From, To time.Duration } // since midnight

// Place is where the site is.
type Place struct {
	Latitude, Longitude float64 // degrees, north and east positive
	Elevation           float64 // m above sea level
}

// Retention holds van Genuchten's (1980) parameters of a water-retention curve.
type Retention struct {
	Residual, Saturated float64 // m³/m³
	Alpha               float64 // 1/cm
	N                   float64 // > 1
}

// Medium is what a bag is filled with.
type Medium struct {
	Name         string
	Retention    *Retention // as given; nil when made of Parts or a built-in
	Conductivity float64    // saturated, cm/h; 0 with Retention nil
	Parts        []Part     // a mix from built-in media by volume; empty otherwise
	BuiltIn      string     // name of a built-in medium; empty otherwise
	// Shrink is the volume lost to interstitial filling when Parts are mixed,
	// 0–1; negative: not measured, the typical value is used.
	Shrink float64
	// Typical says that figures come from typical values and not from the
	// grower's own measurement.
	Typical bool
}

// Part is one constituent of a mix.
type Part struct {
	Material string  // name of a built-in medium
	Fraction float64 // of the volume before mixing, 0–1; parts sum to 1
}

// WickKind is a kind of wick. A bag has Count of them.
type WickKind struct {
	Name         string
	Section      float64 // cross-section of one wick, cm²
	Retention    *Retention
	Conductivity float64 // saturated, cm/h
	Material     string  // name of a built-in wick material; empty with Retention
	Typical      bool
}

// Crop is what grows in a bag.
type Crop struct {
	Name        string
	Builtin     string  // name of a built-in crop whose figures fill what is not given; may be empty
	Coefficient float64 // crop coefficient Kc, constant over the season; 0: by stage from Builtin
	DryLimit    float64 // suction at which uptake starts to fall, cm; 0: from Builtin or the medium
	ECLimit     float64 // root-zone EC above which growth suffers, mS/cm; 0: from Builtin
	// LitresPerPlant is the grower's own figure of a plant's daily drink on a
	// bright day, L/d; 0: from the climate.
	LitresPerPlant float64
}

// ShapeKind is the kind of a reservoir's shape.
type ShapeKind string

// The shapes of a reservoir.
const (
	Box             ShapeKind = "box"
	UprightCylinder ShapeKind = "upright cylinder"
	LyingCylinder   ShapeKind = "lying cylinder"
	Table           ShapeKind = "table"
)

// Shape turns a level into a volume.
type Shape struct {
	Kind          ShapeKind
	Length, Width float64 // mm; a box, and Length of a lying cylinder
	Diameter      float64 // mm; cylinders
	Table         []LevelVolume
}

// LevelVolume is a row of a level → volume table.
type LevelVolume struct {
	Level  float64 // mm
	Volume float64 // L
}

// Target is what the grower wants the solution to be. Zero: not stated.
type Target struct {
	EC, PH                   float64
	ECTolerance, PHTolerance float64 // half-width of the band: see ECBand and PHBand
}

// ECBand is half the band about the EC's target, mS/cm: as stated, or a fifth of
// the target. Printed recommendations for one crop, 1.0 (Ohio State University
// extension) and 1.2 to 1.4 mS/cm (Lieten, International Fertiliser Society), lie
// within a fifth of their middle.
func (t Target) ECBand() float64 {
	const share = 0.2
	if t.ECTolerance > 0 {
		return t.ECTolerance
	}
	return share * t.EC
}

// PHBand is half the band about the pH's target: as stated, or 0.5, which keeps a
// target of 6.0 within 5.5 to 6.5, where all nutrients are taken up well (common
// practice).
func (t Target) PHBand() float64 {
	const usual = 0.5
	if t.PHTolerance > 0 {
		return t.PHTolerance
	}
	return usual
}

// PlainWaterEC, mS/cm, is where water without feed is taken to lie: soft to
// middling tap water has 0.1 to 0.6 (common practice).
const PlainWaterEC = 0.35

// Water is what a reservoir is filled up with, before any feed.
type Water struct {
	EC         float64 // mS/cm at 25 °C; rain has next to none
	PH         float64 // 0: not stated
	Alkalinity float64 // meq/L; 1 meq/L is 50.04 mg/L CaCO₃ or 2.8 °dH
}

// Reservoir holds the solution that channels are fed from.
type Reservoir struct {
	ID          string
	Shape       Shape
	Full, Empty float64 // level, mm; at Empty the channels are no longer fed
	Low         float64 // level at which a refill is due, mm
	Target      Target
	Water       *Water  // nil: not stated
	Open        float64 // surface of solution open to the air, m², that of its channels included; 0: covered
	MaxTemp     float64 // solution temperature above which roots suffer, °C; 0: default
	// FloatValve says that a valve keeps the level: it no longer tells what was
	// drawn.
	FloatValve bool
	// FeedsAtTimes says that its channels are filled from it at times, all of them, by
	// hand or by a timer, and stand on what they hold in between.
	FeedsAtTimes bool
	Sensors      []Sensor // in the order level, ec, ph, temperature
}

// WaterEC is the EC of what it is filled up with, mS/cm: as stated, or plain
// water's.
func (r Reservoir) WaterEC() float64 {
	if r.Water != nil {
		return r.Water.EC
	}
	return PlainWaterEC
}

// Channel is a trough of solution that bags lie over.
type Channel struct {
	ID        string
	Reservoir string  // Reservoir.ID
	Lift      float64 // mm from the solution's surface up to the bag's base
	Holds     float64 // L of solution that stand in it beside what is in the reservoir, just filled; 0: next to none
	Slope     float64 // fall per unit length along the bags (0.01 is 1 %): the lift grows along it
}

// Bag is one planted bag.
type Bag struct {
	ID       string
	Channel  string  // Channel.ID
	Position float64 // mm along the channel from its head; for Slope

	Diameter float64 // of the round tube, mm (2/π of the lay-flat width)
	Length   float64 // of the filled part, mm
	Fill     float64 // share of the round section that is filled, 0–1

	Media     string // key of Site.Media
	Wick      string // key of Site.Wicks
	WickCount int

	Plants  int
	Crop    string    // key of Site.Crops
	Canopy  float64   // m² of canopy of the whole bag; 0: from plants
	Planted time.Time // zero: not known
	Flushed time.Time // when salt was last washed out from the top; zero: never
	Pressed Pressed   // what was measured at its roots
	MaxTemp float64   // root-zone temperature above which roots suffer, °C; 0: default

	DryLimit float64 // water content below which the bag is dry; 0: from the medium
	AirLimit float64 // air space below which the bag is waterlogged, 0–1; 0: default

	Moisture *Sensor  // nil: none
	Sensors  []Sensor // further ones (root-zone temperature)
}

// Pressed is a sample of the water at the roots, pressed out of the mix by hand.
type Pressed struct {
	EC float64   // mS/cm at 25 °C; 0: none was taken
	At time.Time // the day it was taken
}

// ReservoirByID finds a reservoir.
func (s *Site) ReservoirByID(id string) (Reservoir, bool) {
	for _, r := range s.Reservoirs {
		if r.ID == id {
			return r, true
		}
	}
	return Reservoir{}, false
}

// ChannelByID finds a channel.
func (s *Site) ChannelByID(id string) (Channel, bool) {
	for _, c := range s.Channels {
		if c.ID == id {
			return c, true
		}
	}
	return Channel{}, false
}

// BagByID finds a bag.
func (s *Site) BagByID(id string) (Bag, bool) {
	for _, b := range s.Bags {
		if b.ID == id {
			return b, true
		}
	}
	return Bag{}, false
}

// AllSensors lists every sensor of the site: air, reservoirs, bags.
func (s *Site) AllSensors() []Sensor {
	all := append([]Sensor(nil), s.Air...)
	for _, r := range s.Reservoirs {
		all = append(all, r.Sensors...)
	}
	for _, b := range s.Bags {
		if b.Moisture != nil {
			all = append(all, *b.Moisture)
		}
		all = append(all, b.Sensors...)
	}
	return all
}
