package config

// file is the site file as it is written. Bounds in the tags are those of
// impossibility, not of good practice: what merely works badly is for check to
// say.
type file struct {
	place
	Site       rawSite                 `yaml:"site" jsonschema:"required,example={name: Kestrel Yard}" jsonschema_description:"The place: name, position, time zone, cover."`
	MQTT       *rawMQTT                `yaml:"mqtt" jsonschema:"example={broker: \"tcp://127.0.0.1:1883\"}" jsonschema_description:"Where readings come from: a broker, or the one inside wickd."`
	Notify     *rawNotify              `yaml:"notify" jsonschema_description:"Who is told, and how."`
	Influx     *rawInflux              `yaml:"influx" jsonschema_description:"An InfluxDB that readings and estimates are forwarded to."`
	Alerts     *rawAlerts              `yaml:"alerts" jsonschema_description:"Changes to when alerts are raised."`
	Air        *rawAir                 `yaml:"air" jsonschema_description:"Sensors of the air in the house."`
	Lamps      *rawLamps               `yaml:"lamps" jsonschema:"example={radiation: 40 W/m2\\, hours: [\"16:00-22:00\"]}" jsonschema_description:"Lamps over the crop, where no radiation sensor hangs below them."`
	Media      map[string]rawMedium    `yaml:"media" jsonschema:"required,example={house-mix: {typical: coir}}" jsonschema_description:"What bags are filled with, by name."`
	Wicks      map[string]rawWick      `yaml:"wicks" jsonschema:"required,example={wedge: {material: stone wool\\, section: 6 cm2}}" jsonschema_description:"Kinds of wick, by name."`
	Crops      map[string]rawCrop      `yaml:"crops" jsonschema_description:"What grows, by name. A built-in crop needs no entry."`
	Reservoirs map[string]rawReservoir `yaml:"reservoirs" jsonschema:"required,example={tank: {…}}" jsonschema_description:"Reservoirs of nutrient solution, by id."`
	Channels   map[string]rawChannel   `yaml:"channels" jsonschema:"required,example={a: {reservoir: tank\\, lift: 70 mm}}" jsonschema_description:"Channels that bags lie over, by id."`
	Bags       []rawBag                `yaml:"bags" jsonschema:"required,minItems=1,example=[{ids: [a1\\, a2]\\, …}]" jsonschema_description:"Groups of like bags, or single ones."`
}

type rawSite struct {
	place
	Name      text   `yaml:"name" jsonschema:"required,example=Kestrel Yard" jsonschema_description:"Shown in messages."`
	Latitude  number `yaml:"latitude" jsonschema:"minimum=-90,maximum=90,example=47.0" jsonschema_description:"Degrees, north positive. With the longitude it gives the sun, and with it the demand."`
	Longitude number `yaml:"longitude" jsonschema:"minimum=-180,maximum=180,example=8.5" jsonschema_description:"Degrees, east positive."`
	Elevation length `yaml:"elevation" range:"-430 m..6000 m" jsonschema:"example=310 m" jsonschema_description:"Above sea level; sea level when left out."`
	TimeZone  text   `yaml:"timezone" jsonschema:"example=Europe/Zurich" jsonschema_description:"IANA name, for messages and quiet hours; UTC when left out."`
	Cover     ratio  `yaml:"cover_transmission" range:"1 %..100 %" jsonschema:"example=70 %" jsonschema_description:"Share of sunlight that the cover lets in; 100 % when left out."`
}

type rawAir struct {
	place
	Temperature *rawSensor    `yaml:"temperature" jsonschema_description:"Air temperature."`
	Humidity    *rawSensor    `yaml:"humidity" jsonschema_description:"Relative humidity."`
	Radiation   *rawRadiation `yaml:"radiation" jsonschema_description:"Short-wave radiation on the flat."`
}

type rawLamps struct {
	place
	Radiation irradiance `yaml:"radiation" range:"1 W/m2..500 W/m2" jsonschema:"required,example=40 W/m2" jsonschema_description:"Short-wave radiation that they give at the crop: of LEDs a fifth of the photosynthetic photon flux in µmol/m²/s."`
	Hours     []text     `yaml:"hours" jsonschema:"required,minItems=1,example=[\"05:00-08:00\"\\, \"16:00-22:00\"]" jsonschema_description:"When they are lit every day, in the site's time zone: spans that do not overlap; 00:00-24:00 is all day."`
}

// rawMedium is given in exactly one of three ways: retention with
// conductivity, parts, or typical.
type rawMedium struct {
	place
	Retention    *rawRetention    `yaml:"retention" jsonschema_description:"van Genuchten's parameters, as measured."`
	Conductivity conductivity     `yaml:"conductivity" range:"0.001 cm/h..100000 cm/h" jsonschema:"example=330 cm/h" jsonschema_description:"Saturated hydraulic conductivity; with retention."`
	Parts        map[string]ratio `yaml:"parts" jsonschema:"example={coir: 60 %\\, perlite: 40 %}" jsonschema_description:"A mix of built-in media, shares of the volume before mixing."`
	Shrink       ratio            `yaml:"shrink" range:"0 %..40 %" jsonschema:"example=8 %" jsonschema_description:"Volume lost when the parts are mixed, as measured; with parts."`
	Typical      text             `yaml:"typical" jsonschema:"example=coir" jsonschema_description:"A built-in medium with typical figures."`
}

type rawRetention struct {
	place
	Residual  number  `yaml:"residual" jsonschema:"required,minimum=0,maximum=0.6,example=0.09" jsonschema_description:"Water content that no suction takes out, m³/m³."`
	Saturated number  `yaml:"saturated" jsonschema:"required,minimum=0.1,maximum=1,example=0.73" jsonschema_description:"Water content when all pores are full, m³/m³."`
	Alpha     inverse `yaml:"alpha" range:"0.0001 /cm..10 /cm" jsonschema:"required,example=0.13 /cm" jsonschema_description:"About one over the suction at which air enters."`
	N         number  `yaml:"n" jsonschema:"required,minimum=1.01,maximum=15,example=1.53" jsonschema_description:"Steepness of the curve, above 1."`
}

// rawWick is given by a built-in material, or by retention with conductivity.
type rawWick struct {
	place
	Section      section       `yaml:"section" range:"0.01 cm2..200 cm2" jsonschema:"required,example=6 cm2" jsonschema_description:"Cross-section of one wick."`
	Material     text          `yaml:"material" jsonschema:"example=stone wool" jsonschema_description:"A built-in wick material with typical figures."`
	Retention    *rawRetention `yaml:"retention" jsonschema_description:"van Genuchten's parameters, as measured."`
	Conductivity conductivity  `yaml:"conductivity" range:"0.001 cm/h..100000 cm/h" jsonschema:"example=108 cm/h" jsonschema_description:"Saturated hydraulic conductivity; with retention."`
}

type rawCrop struct {
	place
	Like        text        `yaml:"like" jsonschema:"example=strawberry" jsonschema_description:"A built-in crop that gives what is not given here."`
	Coefficient number      `yaml:"coefficient" jsonschema:"minimum=0.05,maximum=2,example=0.85" jsonschema_description:"Crop coefficient Kc, constant over the season."`
	DryLimit    suction     `yaml:"dry_limit" range:"5 cm..16000 cm" jsonschema:"example=200 cm" jsonschema_description:"Suction at which plants begin to take less."`
	ECLimit     conductance `yaml:"ec_limit" range:"0.1 mS/cm..20 mS/cm" jsonschema:"example=1.5 mS/cm" jsonschema_description:"Root-zone EC above which growth suffers."`
	PerPlant    flow        `yaml:"litres_per_plant" range:"0.001 L/d..50 L/d" jsonschema:"example=0.4 L/d" jsonschema_description:"What one plant drinks on a bright day, by the grower's own measure."`
}
