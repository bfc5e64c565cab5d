package unit

// centimetresPerKilopascal is the height of a water column that presses with
// 1 kPa: 1000 Pa / (999.97 kg/m³ · 9.80665 m/s²) = 0.10197 m, water at 4 °C,
// rounded as tables of substrates do.
const centimetresPerKilopascal = 10.197

// The dimensions. Their tables are never written to after start.
var (
	Length = &Dimension{name: "a length", usual: "mm", units: []Unit{
		{Symbol: "mm", Mul: 1, Div: 1},
		{Symbol: "cm", Mul: 10, Div: 1},
		{Symbol: "m", Mul: 1000, Div: 1},
	}}
	Area = &Dimension{name: "an area", usual: "m2", units: []Unit{
		{Symbol: "m2", Mul: 1, Div: 1},
		{Symbol: "cm2", Mul: 1, Div: 10000},
	}}
	// Section is the cross-section of a wick.
	Section = &Dimension{name: "a cross-section", usual: "cm2", units: []Unit{
		{Symbol: "cm2", Mul: 1, Div: 1},
		{Symbol: "mm2", Mul: 1, Div: 100},
		{Symbol: "m2", Mul: 10000, Div: 1},
	}}
	Volume = &Dimension{name: "a volume", usual: "L", units: []Unit{
		{Symbol: "L", Mul: 1, Div: 1, synonyms: []string{"l"}},
		{Symbol: "mL", Mul: 1, Div: 1000, synonyms: []string{"ml"}},
		{Symbol: "m3", Mul: 1000, Div: 1},
	}}
	// EC is the electrical conductivity of a solution. No solution that is fed comes
	// near sea water, which has 50 mS/cm [M].
	EC = &Dimension{name: "an electrical conductivity", usual: "mS/cm", fine: 50, fineUnit: "uS/cm", units: []Unit{
		{Symbol: "mS/cm", Mul: 1, Div: 1},
		{Symbol: "uS/cm", Mul: 1, Div: 1000},
		{Symbol: "dS/m", Mul: 1, Div: 1},
		{Symbol: "mS/m", Mul: 1, Div: 100},
		{Symbol: "S/m", Mul: 10, Div: 1},
	}, hints: map[string]string{"ppm": hintPPM, "mg/L": hintPPM, "TDS": hintPPM}}
	Temperature = &Dimension{name: "a temperature", usual: "°C", units: []Unit{
		{Symbol: "°C", Mul: 1, Div: 1, synonyms: []string{"Cel", "degC"}},
		{Symbol: "K", Mul: 1, Div: 1, Offset: -273.15},
		{Symbol: "degF", Mul: 5, Div: 9, Offset: -160.0 / 9, synonyms: []string{"[degF]", "°F"}},
	}, hints: map[string]string{"C": hintCelsius, "F": "write degF"}}
	// TemperatureDifference has no zero point: 1 °C of it is 1 K.
	TemperatureDifference = &Dimension{name: "a temperature difference", usual: "K", units: []Unit{
		{Symbol: "K", Mul: 1, Div: 1, synonyms: []string{"°C", "Cel", "degC"}},
		{Symbol: "degF", Mul: 5, Div: 9, synonyms: []string{"[degF]", "°F"}},
	}, hints: map[string]string{"C": "write K or °C"}}
	Ratio = &Dimension{name: "a ratio", usual: "%", units: []Unit{
		{Symbol: "/", Mul: 1, Div: 1, synonyms: []string{"1", "m3/m3", "cm3/cm3"}},
		{Symbol: "%", Mul: 1, Div: 100, synonyms: []string{"%RH", "%vol", "vol%"}},
	}}
	InverseLength = &Dimension{name: "an inverse length", usual: "/cm", units: []Unit{
		{Symbol: "/cm", Mul: 1, Div: 1, synonyms: []string{"1/cm", "cm^-1", "cm-1"}},
		{Symbol: "/m", Mul: 1, Div: 100, synonyms: []string{"1/m", "m^-1", "m-1"}},
		{Symbol: "/kPa", Mul: 1, Div: centimetresPerKilopascal, synonyms: []string{"1/kPa", "kPa^-1", "kPa-1"}},
	}}
	// Conductivity is the hydraulic one.
	Conductivity = &Dimension{name: "a hydraulic conductivity", usual: "cm/h", units: []Unit{
		{Symbol: "cm/h", Mul: 1, Div: 1},
		{Symbol: "cm/d", Mul: 1, Div: 24},
		{Symbol: "mm/h", Mul: 1, Div: 10},
		{Symbol: "m/d", Mul: 100, Div: 24},
		{Symbol: "cm/s", Mul: 3600, Div: 1},
		{Symbol: "m/s", Mul: 360000, Div: 1},
	}}
	Duration = &Dimension{name: "a duration", usual: "min", units: []Unit{
		{Symbol: "s", Mul: 1, Div: 1},
		{Symbol: "min", Mul: 60, Div: 1},
		{Symbol: "h", Mul: 3600, Div: 1},
		{Symbol: "d", Mul: 86400, Div: 1},
	}, hints: map[string]string{"m": `"m" is a metre: write min`}}
	// Radiation is short-wave irradiance on the flat.
	Radiation = &Dimension{name: "a short-wave radiation", usual: "W/m2", units: []Unit{
		{Symbol: "W/m2", Mul: 1, Div: 1},
		{Symbol: "kW/m2", Mul: 1000, Div: 1},
	}, hints: lightHints()}
	Suction = &Dimension{name: "a suction", usual: "cm", units: []Unit{
		{Symbol: "cm", Mul: 1, Div: 1, synonyms: []string{"cmH2O"}},
		{Symbol: "kPa", Mul: centimetresPerKilopascal, Div: 1},
		{Symbol: "hPa", Mul: centimetresPerKilopascal, Div: 10, synonyms: []string{"mbar"}},
		{Symbol: "mm", Mul: 1, Div: 10},
		{Symbol: "m", Mul: 100, Div: 1},
	}}
	Flow = &Dimension{name: "a flow", usual: "L/d", units: []Unit{
		{Symbol: "L/d", Mul: 1, Div: 1, synonyms: []string{"l/d"}},
		{Symbol: "mL/d", Mul: 1, Div: 1000, synonyms: []string{"ml/d"}},
		{Symbol: "L/h", Mul: 24, Div: 1, synonyms: []string{"l/h"}},
		{Symbol: "mL/h", Mul: 24, Div: 1000, synonyms: []string{"ml/h"}},
	}}
	PH = &Dimension{name: "a pH", usual: "pH", units: []Unit{
		{Symbol: "pH", Mul: 1, Div: 1, synonyms: []string{"[pH]"}},
	}, hints: map[string]string{"mV": "calibrate the probe with two buffer points and write pH"}}
	// Alkalinity is the strong acid that a water takes down to pH 4.3: 100.09 g of
	// calcium carbonate are 2 eq, 61.017 g of bicarbonate 1 eq, and a German degree
	// is 10 mg/L of CaO, 56.077 g of which are 2 eq.
	Alkalinity = &Dimension{name: "an alkalinity", usual: "mg/L CaCO3", units: []Unit{
		{Symbol: "meq/L", Mul: 1, Div: 1, synonyms: []string{"meq/l", "mmol/L", "mmol/l", "mmol/L HCO3", "mmol/l HCO3"}},
		{Symbol: "mg/L CaCO3", Mul: 1, Div: 50.043, synonyms: []string{"mg/l CaCO3", "mg/LCaCO3", "mg/lCaCO3"}},
		{Symbol: "mg/L HCO3", Mul: 1, Div: 61.017, synonyms: []string{"mg/l HCO3", "mg/LHCO3", "mg/lHCO3"}},
		{Symbol: "°dH", Mul: 10, Div: 28.0385, synonyms: []string{"dH", "°dKH"}},
	}, hints: map[string]string{"mg/L": hintOfWhat, "mg/l": hintOfWhat, "ppm": hintOfWhat}}
	Slope = &Dimension{name: "a slope", usual: "%", units: []Unit{
		{Symbol: "/", Mul: 1, Div: 1, synonyms: []string{"1", "m/m"}},
		{Symbol: "%", Mul: 1, Div: 100, synonyms: []string{"cm/m"}},
		{Symbol: "mm/m", Mul: 1, Div: 1000},
	}}
	Speed = &Dimension{name: "a speed", usual: "m/s", units: []Unit{
		{Symbol: "m/s", Mul: 1, Div: 1},
		{Symbol: "km/h", Mul: 1, Div: 3.6},
	}}
	// TemperatureCoefficient is a relative change per degree.
	TemperatureCoefficient = &Dimension{name: "a temperature coefficient", usual: "%/K", units: []Unit{
		{Symbol: "/K", Mul: 1, Div: 1, synonyms: []string{"1/K", "K^-1"}},
		{Symbol: "%/K", Mul: 1, Div: 100, synonyms: []string{"%/°C", "%/Cel"}},
	}}
)

const (
	hintPPM     = "ppm of salt depends on the meter's scale; set the meter to mS/cm"
	hintOfWhat  = "say of what, as the report does: mg/L CaCO3 or mg/L HCO3"
	hintCelsius = `"C" is a coulomb: write °C or Cel`
	hintLight   = "light for the eye or for photosynthesis is not short-wave radiation, and the factor depends on the lamp; use a pyranometer in W/m2 (of LEDs alone, W/m2 are a fifth of their µmol/m2/s)"
)

// lightHints refuse photometric and photon units. Sunlight would convert
// (about 2.1 µmol/m²/s of PPFD per W/m²: 45 % of it photosynthetically active
// times 4.57 µmol/J, Thimijan & Heins 1983, HortScience 18:818 [M]), but a lamp
// (of LEDs, whose light is all active, about 5 µmol/J [M]) or a shade screen changes the factor by more than the model can bear.
func lightHints() map[string]string {
	hints := map[string]string{}
	for _, symbol := range []string{"lx", "lux", "klx", "umol/m2/s", "umol/(m2.s)", "umol/s/m2", "umol", "PPFD", "PAR"} {
		hints[symbol] = hintLight
	}
	return hints
}

// all lists the dimensions in the order in which an unknown use of a symbol is
// explained: the everyday meaning of a symbol first.
func all() []*Dimension {
	return []*Dimension{
		Length, Area, Volume, EC, Temperature, Ratio, Duration, Radiation, PH, Suction,
		Flow, Conductivity, Speed, InverseLength, TemperatureCoefficient, Slope, Section,
		TemperatureDifference, Alkalinity,
	}
}
