package config

// rawBag is a group of like bags (ids), or one bag (id).
type rawBag struct {
	place
	ID       label       `yaml:"id" jsonschema:"example=a1" jsonschema_description:"Id of a single bag."`
	IDs      []label     `yaml:"ids" jsonschema:"minItems=1,example=[a1\\, a2\\, a3]" jsonschema_description:"Ids of a group of like bags, in the order in which they lie along the channel."`
	Channel  label       `yaml:"channel" jsonschema:"required,example=a" jsonschema_description:"Id of the channel that the bags lie over."`
	Position length      `yaml:"position" range:"0 mm..200 m" jsonschema:"example=40 cm" jsonschema_description:"Of the first bag's near end, from the channel's head; behind the bag before it when left out."`
	Spacing  length      `yaml:"spacing" range:"0 mm..20 m" jsonschema:"example=90 cm" jsonschema_description:"From one bag's near end to the next one's; end to end when left out."`
	Tube     rawTube     `yaml:"tube" jsonschema:"required,example={diameter: 108 mm\\, length: 1 m}" jsonschema_description:"The bag's tube."`
	Fill     ratio       `yaml:"fill" range:"20 %..100 %" jsonschema:"example=97 %" jsonschema_description:"Share of the round section that is filled; 100 % when left out."`
	Media    label       `yaml:"media" jsonschema:"required,example=house-mix" jsonschema_description:"A name under media."`
	Wicks    rawWicks    `yaml:"wicks" jsonschema:"required,example={kind: wedge\\, count: 4}" jsonschema_description:"The wicks of each bag."`
	Plants   integer     `yaml:"plants" jsonschema:"required,minimum=1,maximum=1000,example=4" jsonschema_description:"Plants in each bag."`
	Crop     label       `yaml:"crop" jsonschema:"required,example=strawberry" jsonschema_description:"A name under crops, or a built-in crop."`
	Canopy   area        `yaml:"canopy" range:"1 cm2..100 m2" jsonschema:"example=0.40 m2" jsonschema_description:"Leaf-covered area of each bag; from the plants when left out."`
	Planted  date        `yaml:"planted" jsonschema:"example=2026-04-10" jsonschema_description:"Gives the crop's stage."`
	Flushed  date        `yaml:"flushed" jsonschema:"example=2026-06-20" jsonschema_description:"When salt was last washed out of the bags from the top: their account of salt begins anew."`
	RootZone rawRootZone `yaml:"root_zone" jsonschema:"example={ec: 3.1 mS/cm\\, measured: 2026-06-18}" jsonschema_description:"What was measured at the roots, in water pressed out of the mix: the account of salt goes on from it."`
	MaxTemp  temperature `yaml:"max_temperature" range:"15 °C..45 °C" jsonschema:"example=30 °C" jsonschema_description:"Root-zone temperature above which roots suffer; 30 °C when left out."`
	DryLimit ratio       `yaml:"dry_limit" range:"1 %..95 %" jsonschema:"example=40 %" jsonschema_description:"Water content below which the bag is dry; from the medium when left out."`
	AirLimit ratio       `yaml:"air_limit" range:"0.5 %..50 %" jsonschema:"example=10 %" jsonschema_description:"Air space below which the bag is waterlogged."`

	Moisture    *rawSensor `yaml:"moisture" jsonschema_description:"Water content of the bag."`
	Temperature *rawSensor `yaml:"temperature" jsonschema_description:"Root-zone temperature."`
}

// rawRootZone is a sample of the water at the roots.
type rawRootZone struct {
	place
	EC       conductance `yaml:"ec" range:"0.05 mS/cm..20 mS/cm" jsonschema:"required,example=3.1 mS/cm" jsonschema_description:"At 25 °C, of water pressed out of the mix."`
	Measured date        `yaml:"measured" jsonschema:"required,example=2026-06-18" jsonschema_description:"The day; older than a week when wickd first reads of it, it tells nothing."`
}

// rawTube has a diameter or a lay-flat width.
type rawTube struct {
	place
	Diameter length `yaml:"diameter" range:"30 mm..60 cm" jsonschema:"example=108 mm" jsonschema_description:"Of the round, full tube."`
	LayFlat  length `yaml:"lay_flat" range:"48 mm..90 cm" jsonschema:"example=170 mm" jsonschema_description:"Width of the empty tube pressed flat, π/2 of its diameter."`
	Length   length `yaml:"length" range:"10 cm..20 m" jsonschema:"required,example=1 m" jsonschema_description:"Of the filled part, between the seals."`
}

type rawWicks struct {
	place
	Kind  label   `yaml:"kind" jsonschema:"required,example=wedge" jsonschema_description:"A name under wicks."`
	Count integer `yaml:"count" jsonschema:"required,minimum=1,maximum=500,example=4" jsonschema_description:"Wicks per bag."`
}

// rawSensor is a source of readings.
type rawSensor struct {
	place
	Topic       text     `yaml:"topic" jsonschema:"required,example=yard/{id}/moisture" jsonschema_description:"MQTT topic without wildcards; {id} stands for the id of the bag or reservoir."`
	Unit        text     `yaml:"unit" jsonschema:"required,example=\"%\"" jsonschema_description:"Unit of the number that arrives, or of the calibrated value."`
	Pointer     text     `yaml:"pointer" jsonschema:"example=/data/value" jsonschema_description:"JSON Pointer (RFC 6901) to the number in a JSON document."`
	TimePointer text     `yaml:"time_pointer" jsonschema:"example=/data/time" jsonschema_description:"JSON Pointer to the time of the reading in the same document (RFC 3339, or seconds since 1970); when the message arrives if left out."`
	Record      text     `yaml:"record" jsonschema:"example=ec" jsonschema_description:"Name of the record in a SenML pack (RFC 8428)."`
	Calibrate   []point  `yaml:"calibrate" jsonschema:"minItems=2,example=[[512\\, 0]\\, [3010\\, 60]]" jsonschema_description:"Points of what arrives and what is true, in the unit; linear between and beyond them."`
	ExpectEvery duration `yaml:"expect_every" range:"1 s..7 d" jsonschema:"example=10 min" jsonschema_description:"Longest normal time between readings; learnt when left out."`
	Min         loose    `yaml:"min" jsonschema_description:"Lowest believable value, with its unit."`
	Max         loose    `yaml:"max" jsonschema_description:"Highest believable value, with its unit."`
}

// rawECSensor may send the conductivity at the solution's own temperature.
type rawECSensor struct {
	rawSensor
	Compensate *rawCompensate `yaml:"compensate" jsonschema_description:"Set when the probe does not compensate to 25 °C itself; {} for the usual 2 %/K."`
}

type rawCompensate struct {
	place
	Method      text        `yaml:"method" jsonschema:"enum=linear,enum=natural-water,example=linear" jsonschema_description:"linear for feed (when left out), or natural-water for the table of ISO 7888: 0 to 35 °C, unfertilised water only."`
	Coefficient coefficient `yaml:"coefficient" range:"0.5 %/K..4 %/K" jsonschema:"example=2 %/K" jsonschema_description:"Change of the conductivity per kelvin, of that at 25 °C."`
}

// rawRadiation may stand inside or outside the cover.
type rawRadiation struct {
	rawSensor
	Placed text `yaml:"placed" jsonschema:"enum=inside,enum=outside,example=outside" jsonschema_description:"Inside or outside the cover; inside when left out."`
}
