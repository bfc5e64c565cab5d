package config

type rawReservoir struct {
	place
	Shape          rawShape             `yaml:"shape" jsonschema:"required,example={box: {length: 80 cm\\, width: 60 cm}}" jsonschema_description:"Turns the level into a volume."`
	Full           length               `yaml:"full" range:"1 mm..5 m" jsonschema:"required,example=375 mm" jsonschema_description:"Level when full."`
	Empty          length               `yaml:"empty" range:"0 mm..5 m" jsonschema:"required,example=50 mm" jsonschema_description:"Level at which the channels are no longer fed."`
	Low            length               `yaml:"low" range:"0 mm..5 m" jsonschema:"example=120 mm" jsonschema_description:"Level at which a refill is due; a fifth of the way from empty to full when left out."`
	Target         *rawTarget           `yaml:"target" jsonschema_description:"What the solution should be."`
	Water          *rawTopUp            `yaml:"water" jsonschema_description:"What it is filled up with, before any feed: tells how much of a rising pH the water's alkalinity makes, and mix takes it. Rain has nothing of either."`
	Open           area                 `yaml:"open" range:"0 cm2..100 m2" jsonschema:"example=0.2 m2" jsonschema_description:"Surface of solution open to the air, in the channels too: it evaporates. Covered when left out."`
	MaxTemperature temperature          `yaml:"max_temperature" range:"5 °C..45 °C" jsonschema:"example=24 °C" jsonschema_description:"Solution temperature above which roots suffer."`
	FloatValve     flag                 `yaml:"float_valve" jsonschema:"example=true" jsonschema_description:"True when a float valve keeps the level: it then tells no draw and no leak, and a run-out only below the low mark."`
	FeedsAtTimes   flag                 `yaml:"feeds_at_times" jsonschema:"example=true" jsonschema_description:"True when its channels are filled from it at times, all of them, by hand or by a timer, and stand on what they hold in between."`
	Sensors        *rawReservoirSensors `yaml:"sensors" jsonschema_description:"Sensors in the reservoir."`
}

// rawShape has exactly one of its keys.
type rawShape struct {
	place
	Box     *rawBox     `yaml:"box" jsonschema_description:"Upright walls over a rectangle."`
	Upright *rawUpright `yaml:"upright cylinder" jsonschema_description:"A drum that stands."`
	Lying   *rawLying   `yaml:"lying cylinder" jsonschema_description:"A drum that lies."`
	Table   []row       `yaml:"table" jsonschema:"minItems=2,example=[[0 mm\\, 0 L]\\, [400 mm\\, 150 L]]" jsonschema_description:"Measured rows of level and volume, rising."`
}

type rawBox struct {
	place
	Length length `yaml:"length" range:"50 mm..10 m" jsonschema:"required,example=80 cm" jsonschema_description:"Inside."`
	Width  length `yaml:"width" range:"50 mm..10 m" jsonschema:"required,example=60 cm" jsonschema_description:"Inside."`
	Height length `yaml:"height" range:"50 mm..5 m" jsonschema:"example=42 cm" jsonschema_description:"Inside, to the rim; only checked against full."`
}

type rawUpright struct {
	place
	Diameter length `yaml:"diameter" range:"50 mm..5 m" jsonschema:"required,example=58 cm" jsonschema_description:"Inside."`
	Height   length `yaml:"height" range:"50 mm..5 m" jsonschema:"example=88 cm" jsonschema_description:"Inside, to the rim; only checked against full."`
}

type rawLying struct {
	place
	Diameter length `yaml:"diameter" range:"50 mm..5 m" jsonschema:"required,example=58 cm" jsonschema_description:"Inside."`
	Length   length `yaml:"length" range:"50 mm..10 m" jsonschema:"required,example=88 cm" jsonschema_description:"Inside, end to end."`
}

type rawTarget struct {
	place
	EC          conductance `yaml:"ec" range:"0.05 mS/cm..20 mS/cm" jsonschema:"example=1.4 mS/cm" jsonschema_description:"At 25 °C."`
	PH          number      `yaml:"ph" jsonschema:"minimum=3,maximum=9,example=5.8" jsonschema_description:"pH of the solution."`
	ECTolerance conductance `yaml:"ec_tolerance" range:"0.01 mS/cm..10 mS/cm" jsonschema:"example=0.2 mS/cm" jsonschema_description:"Half-width of the band; a fifth of the target when left out."`
	PHTolerance number      `yaml:"ph_tolerance" jsonschema:"minimum=0.05,maximum=3,example=0.5" jsonschema_description:"Half-width of the band; 0.5 when left out."`
}

// rawTopUp is the water that a reservoir is filled up with.
type rawTopUp struct {
	place
	EC         conductance `yaml:"ec" range:"0 mS/cm..5 mS/cm" jsonschema:"required,example=0.4 mS/cm" jsonschema_description:"At 25 °C."`
	Alkalinity alkalinity  `yaml:"alkalinity" range:"0 meq/L..20 meq/L" jsonschema:"required,example=150 mg/L CaCO3" jsonschema_description:"Acid that it takes down to pH 4.3, as the supplier's report or a drop test has it: mg/L CaCO3, mg/L HCO3, mmol/L or °dH of carbonate hardness."`
	PH         number      `yaml:"ph" jsonschema:"minimum=4,maximum=10,example=7.6" jsonschema_description:"Its pH; 7.5 when left out."`
}

type rawReservoirSensors struct {
	place
	Level       *rawSensor   `yaml:"level" jsonschema_description:"Height of the solution above the floor."`
	EC          *rawECSensor `yaml:"ec" jsonschema_description:"Electrical conductivity."`
	PH          *rawSensor   `yaml:"ph" jsonschema_description:"pH."`
	Temperature *rawSensor   `yaml:"temperature" jsonschema_description:"Temperature of the solution."`
}

type rawChannel struct {
	place
	Reservoir label  `yaml:"reservoir" jsonschema:"required,example=tank" jsonschema_description:"Id of the reservoir that feeds it."`
	Lift      length `yaml:"lift" range:"1 mm..50 cm" jsonschema:"required,example=70 mm" jsonschema_description:"From the solution's surface up to the base of the bags, at the channel's head; of one that is filled at times, from halfway between full and empty."`
	Holds     volume `yaml:"holds" range:"0.1 L..5000 L" jsonschema:"example=12 L" jsonschema_description:"Solution that stands in the channel, beside what is in the reservoir; where that feeds at times, when the channel has just been filled. Left out: next to nothing."`
	Slope     slope  `yaml:"slope" range:"0 %..10 %" jsonschema:"example=1 %" jsonschema_description:"Fall of the solution below the bags along the channel; level when left out."`
}
