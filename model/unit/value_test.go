package unit_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/model/unit"
)

// dimensions are all of them, for tests that walk the tables.
func dimensions() []*unit.Dimension {
	return []*unit.Dimension{
		unit.Length, unit.Area, unit.Section, unit.Volume, unit.EC, unit.Temperature,
		unit.TemperatureDifference, unit.Ratio, unit.InverseLength, unit.Conductivity,
		unit.Duration, unit.Radiation, unit.Suction, unit.Flow, unit.PH, unit.Slope,
		unit.Speed, unit.TemperatureCoefficient, unit.Alkalinity,
	}
}

// exact is the tolerance of conversions that are exact but for rounding.
const exact = 1e-12

func TestParseConverts(t *testing.T) {
	tests := map[string]struct {
		dimension *unit.Dimension
		text      string
		want      float64 // canonical
		tolerance float64 // relative
	}{
		// SI Brochure (BIPM 2019), tables 4 and 7 [M]: prefixes, day, litre.
		"length in cm":           {unit.Length, "80 cm", 800, exact},
		"length in m":            {unit.Length, "1.2m", 1200, exact},
		"area in cm2":            {unit.Area, "4000 cm²", 0.4, exact},
		"section in mm2":         {unit.Section, "600 mm2", 6, exact},
		"volume in mL":           {unit.Volume, "250 mL", 0.25, exact},
		"volume in m3":           {unit.Volume, "0.13 m³", 130, exact},
		"duration in d":          {unit.Duration, "2 d", 172800, exact},
		"duration in min":        {unit.Duration, "10 min", 600, exact},
		"flow per hour":          {unit.Flow, "50 mL/h", 1.2, exact},
		"radiation":              {unit.Radiation, "430 W/m²", 430, exact},
		"percent is a hundredth": {unit.Ratio, "97 %", 0.97, exact},
		"SenML %RH":              {unit.Ratio, "55 %RH", 0.55, exact},
		"slope in mm/m":          {unit.Slope, "10 mm/m", 0.01, exact},
		"coefficient in %/K":     {unit.TemperatureCoefficient, "2 %/K", 0.02, exact},

		// 100 mg/L of CaCO3 are 1.998 meq/L, 5.6 °dH and 122 mg/L of bicarbonate
		// (tables of water hardness [M]).
		"alkalinity of CaCO3": {unit.Alkalinity, "100 mg/L CaCO3", 1.998, 1e-3},
		"alkalinity in °dH":   {unit.Alkalinity, "5.6°dH", 1.998, 2e-3},
		"alkalinity of HCO3":  {unit.Alkalinity, "122 mg/l HCO3", 1.999, 1e-3},
		"acid capacity":       {unit.Alkalinity, "3 mmol/L", 3, exact},

		// A KCl calibration solution of 0.01 mol/L is sold as 1413 µS/cm and as
		// 1.413 mS/cm (CRC Handbook; labels of bottles) [P].
		"EC of KCl 0.01 M": {unit.EC, "1413 µS/cm", 1.413, exact},
		"Greek mu":         {unit.EC, "1413 μS/cm", 1.413, exact},
		// FAO-56 prints salinity in dS/m, "1 dS/m = 1 mS/cm" [M]; SenML has S/m.
		"EC in dS/m": {unit.EC, "1.5 dS/m", 1.5, exact},
		"EC in S/m":  {unit.EC, "0.14 S/m", 1.4, exact},

		// Fixed points of the scales: ice, steam, and where they meet [M].
		"ice in degF":       {unit.Temperature, "32 degF", 0, 1e-9},
		"steam in °F":       {unit.Temperature, "212 °F", 100, exact},
		"where scales meet": {unit.Temperature, "-40 [degF]", -40, exact},
		"triple point in K": {unit.Temperature, "273.16 K", 0.01, 1e-9},
		"SenML Cel":         {unit.Temperature, "21.5 Cel", 21.5, exact},
		"difference degF":   {unit.TemperatureDifference, "9 degF", 5, exact},
		"difference °C":     {unit.TemperatureDifference, "3 °C", 3, exact},

		// Haverkamp et al. 1977: Ks of the sand is 0.00944 cm/s [P], 34 cm/h [M].
		"conductivity in cm/s": {unit.Conductivity, "0.00944 cm/s", 34, 2e-3},
		// Carsel & Parrish 1988, loam: 24.96 cm/d [P], 1.04 cm/h [M].
		"conductivity in cm/d": {unit.Conductivity, "24.96 cm/d", 1.04, exact},
		// FAO-56 example 18: 10 km/h at 10 m becomes 2.078 m/s at 2 m with the
		// factor 0.748 [P], so it is 2.778 m/s [D].
		"speed in km/h": {unit.Speed, "10 km/h", 2.078 / 0.748, 1e-3},
		// The pF scale: 100 hPa is pF 2.0, permanent wilting, 1500 kPa, pF 4.2
		// (Schofield 1935) [M]: 10^2 and 10^4.2 cm.
		"suction pF 2":   {unit.Suction, "100 hPa", 100, 0.03},
		"suction pF 4.2": {unit.Suction, "1500 kPa", 15849, 0.04},
		// A suction of 1 kPa is a column of 10.2 cm, so an alpha of 1/kPa is
		// 0.098 /cm (De Boodt & Verdonck 1972 put 1 kPa at 10 cm) [M].
		"alpha in 1/kPa": {unit.InverseLength, "1 1/kPa", 0.098, 2e-3},
		"alpha in 1/m":   {unit.InverseLength, "13 m^-1", 0.13, exact},
		"alpha no space": {unit.InverseLength, "0.13/cm", 0.13, exact},
		"exponent":       {unit.Conductivity, "1e-4 m/s", 36, exact},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			v, err := unit.Parse(tt.text, tt.dimension)
			require.NoError(t, err)
			assert.InDelta(t, tt.want, v.Canonical(), tt.tolerance*max(1, math.Abs(tt.want)))
		})
	}
}

func TestParseRefuses(t *testing.T) {
	tests := map[string]struct {
		dimension *unit.Dimension
		text      string
		want      string
	}{
		"no unit":         {unit.Length, "108", `"108" needs a unit, for example "108 mm"`},
		"no unit, EC":     {unit.EC, "1.6", `"1.6" needs a unit, for example "1.6 mS/cm"`},
		"no unit, fine":   {unit.EC, "1600", `"1600" needs a unit, for example "1600 uS/cm"`},
		"decimal comma":   {unit.EC, "1,4 mS/cm", `"1,4 mS/cm" has a comma, write a decimal point: "1.4 mS/cm"`},
		"digit group":     {unit.Length, "1'200 mm", `"'200 mm" is not a unit of length that wickd knows, use mm, cm or m, for example "1 mm"`},
		"hexadecimal":     {unit.Length, "0x10 mm", `"x10 mm" is not a unit of length that wickd knows, use mm, cm or m, for example "0 mm"`},
		"no number":       {unit.Length, "wide", `"wide" is not a length, for example "10 mm"`},
		"empty":           {unit.Volume, "", `"" is not a volume, for example "10 L"`},
		"infinite":        {unit.Length, "1e999 mm", `"1e999" is out of every range, for example "1.5"`},
		"overflow":        {unit.Length, "1e308 m", `"1e308 m" is out of every range, for example "1 mm"`},
		"other dimension": {unit.Length, "130 L", `"130 L" is a volume, not a length, use mm, cm or m, for example "130 mm"`},
		"case":            {unit.EC, "1400 US/cm", `"US/cm" is not a unit, did you mean "uS/cm"?`},
		"megasiemens":     {unit.EC, "1 MS/cm", `"MS/cm" is not a unit, did you mean "mS/cm"?`},
		"ppm":             {unit.EC, "700 ppm", `"ppm" cannot be an electrical conductivity, ppm of salt depends on the meter's scale; set the meter to mS/cm`},
		"of what":         {unit.Alkalinity, "150 mg/L", `"mg/L" cannot be an alkalinity, say of what, as the report does: mg/L CaCO3 or mg/L HCO3`},
		"coulomb":         {unit.Temperature, "20 C", `"C" cannot be a temperature, "C" is a coulomb: write °C or Cel`},
		"metre for min":   {unit.Duration, "10 m", `"m" cannot be a duration, "m" is a metre: write min`},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			v, err := unit.Parse(tt.text, tt.dimension)
			require.EqualError(t, err, tt.want)
			assert.Zero(t, v)
		})
	}
}

func TestLongTextIsCut(t *testing.T) {
	long := make([]byte, 1<<20)
	for i := range long {
		long[i] = '9'
	}
	_, err := unit.Parse(string(long), unit.Length)
	require.Error(t, err)
	assert.Less(t, len(err.Error()), 200)
	_, err = unit.Number(string(long))
	require.Error(t, err)
	assert.Less(t, len(err.Error()), 200)
}

// A value prints so that it reads back as itself, and its unit converts there
// and back.
func TestValuesRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SampledFrom(dimensions()).Draw(t, "dimension")
		symbol := rapid.SampledFrom(d.Spellings()).Draw(t, "symbol")
		x := rapid.Float64Range(-1e12, 1e12).Draw(t, "number")
		u, err := d.Lookup(symbol)
		require.NoError(t, err)

		v := unit.Value{Number: x, Unit: u}
		again, err := unit.Parse(v.String(), d)
		require.NoError(t, err)
		require.Equal(t, v, again)
		require.InDelta(t, x, u.FromCanonical(u.ToCanonical(x)), 1e-9*max(1, math.Abs(x)))
	})
}

// Every spelling belongs to one unit of its dimension only, and the canonical
// unit converts to itself.
func TestTablesAreSound(t *testing.T) {
	for _, d := range dimensions() {
		seen := map[string]bool{}
		for _, s := range d.Spellings() {
			assert.False(t, seen[s], "%s has %q twice", d, s)
			seen[s] = true
			u, err := d.Lookup(s)
			require.NoError(t, err)
			assert.Positive(t, u.Mul)
			assert.Positive(t, u.Div)
		}
		assert.Equal(t, 7.5, d.Canonical().ToCanonical(7.5), d.String())
		_, err := d.Lookup(d.Usual())
		assert.NoError(t, err)
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"108 mm", "1.4 mS/cm", "0.13 /cm", "1,4 mS/cm", "-40 °F", "1e-4 m/s", "5 1", "", "٣ mm", "1 µS/cm"} {
		f.Add(s, uint8(0))
		f.Add(s, uint8(4))
	}
	f.Fuzz(func(t *testing.T, text string, which uint8) {
		all := dimensions()
		d := all[int(which)%len(all)]
		v, err := unit.Parse(text, d)
		if err != nil {
			var e *unit.Error
			require.ErrorAs(t, err, &e)
			require.NotEmpty(t, e.Reason)
			require.Less(t, len(err.Error()), 1000)
			require.Zero(t, v)
			return
		}
		require.False(t, math.IsNaN(v.Canonical()) || math.IsInf(v.Canonical(), 0))
		again, err := unit.Parse(v.String(), d)
		require.NoError(t, err)
		require.Equal(t, v, again)
	})
}
