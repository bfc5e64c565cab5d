package solution

import (
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// hoagland is the solution of Hoagland & Arnon 1950 (California Agr. Exp. Sta.
// Circular 347), the one with ammonium [P]: K 6, Ca 4, Mg 2, N 15 (NH₄ 1), P 1,
// S 2 mmol/L.
func hoagland() Composition {
	return Composition{Nitrate: 14, Ammonium: 1, Phosphate: 1, Potassium: 6, Calcium: 4, Magnesium: 2, Sulfate: 2}
}

// The circular makes it of 1 mmol/L NH₄H₂PO₄, 6 KNO₃, 4 Ca(NO₃)₂ and 2 MgSO₄ [P
// by its ions, the salts M]; P 31.0, K 234.6, Ca 160.3 mg/L [D].
func TestHoaglandAndArnon(t *testing.T) {
	got, err := Recipe{
		Target: hoagland(), Dilution: 100, Tank: 10,
		Use: []string{"Ca(NO3)2·4H2O", "KNO3", "NH4H2PO4", "MgSO4·7H2O"},
	}.Weigh()
	require.NoError(t, err)
	mmol := map[string]float64{}
	for _, w := range append(append([]Weighed{}, got.A...), got.B...) {
		mmol[w.Name] = w.Mmol
	}
	want := map[string]float64{
		"calcium nitrate, tetrahydrate (Ca(NO3)2·4H2O)": 4, "potassium nitrate (KNO3)": 6,
		"monoammonium phosphate (NH4H2PO4)": 1, "magnesium sulfate, heptahydrate (MgSO4·7H2O)": 2,
	}
	require.Len(t, mmol, len(want))
	for name, x := range want {
		assert.InDelta(t, x, mmol[name], 1e-6, name)
	}
	for ion, mg := range map[Ion]float64{Phosphate: 31.0, Potassium: 234.6, Calcium: 160.3} {
		assert.InDelta(t, mg, ion.MgPerL(got.Solution[ion]), 0.05)
	}
	// 4 mmol/L of 236.15 g/mol, a hundredfold, in 10 L: 944.6 g.
	assert.InDelta(t, 944.6, got.A[0].Grams, 0.1)
	assert.Empty(t, got.Notes)
}

// Hoagland & Arnon's micronutrients by weight in their stock, 1 mL/L: boric acid
// 2.86 g/L for B 0.5 mg/L, zinc sulfate 0.22 for 0.05, copper sulfate 0.08 for
// 0.02 [M].
func TestHoaglandTraces(t *testing.T) {
	got, err := Recipe{Target: hoagland(), Dilution: 100, Tank: 10, Traces: map[string]float64{"B": 0.5, "Zn": 0.05, "Cu": 0.02, "Fe": 1}}.Weigh()
	require.NoError(t, err)
	want := map[string]float64{"boric acid": 2.86, "zinc sulfate, heptahydrate": 0.22, "copper sulfate, pentahydrate": 0.08}
	for _, w := range got.B {
		if mg, ok := want[w.Name]; ok {
			assert.InEpsilon(t, mg, w.Grams, 0.02, w.Name) // g for 1000 L, as mg in 1 mL/L
			delete(want, w.Name)
		}
	}
	assert.Empty(t, want)
}

// Molar masses follow from formulas and IUPAC's atomic masses, and every salt is
// neutral.
func TestSaltTable(t *testing.T) {
	for _, s := range Salts() {
		t.Run(s.Formula, func(t *testing.T) {
			assert.InDelta(t, massOf(t, s.Formula), s.MolarMass, 0.02*float64(len(s.Formula)))
			assert.InDelta(t, s.Ions.Cations(), s.Ions.Anions(), 1e-9)
		})
	}
}

var piece = regexp.MustCompile(`\(([^)]*)\)(\d*)|([A-Z][a-z]?)(\d*)`)

// massOf reads a formula: groups in brackets, waters after a dot.
func massOf(t *testing.T, formula string) float64 {
	atoms := map[string]float64{"H": 1.008, "N": 14.007, "O": 15.999, "Na": 22.990, "Mg": 24.305, "P": 30.974, "S": 32.06, "Cl": 35.45, "K": 39.098, "Ca": 40.078}
	count := func(digits string) float64 {
		if digits == "" {
			return 1
		}
		n, err := strconv.Atoi(digits)
		require.NoError(t, err)
		return float64(n)
	}
	sum := 0.0
	for _, part := range regexp.MustCompile("·").Split(formula, -1) {
		lead := regexp.MustCompile(`^\d+`).FindString(part)
		for _, m := range piece.FindAllStringSubmatch(part[len(lead):], -1) {
			if m[1] != "" {
				sum += count(lead) * count(m[2]) * massOf(t, m[1])
				continue
			}
			require.Contains(t, atoms, m[3])
			sum += count(lead) * count(m[4]) * atoms[m[3]]
		}
	}
	return sum
}

// Any mixture of salts can be asked for by its ions: the answer brings those ions
// and keeps calcium apart from sulfate and phosphate.
func TestRecipeProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var want Composition
		for _, s := range Salts() {
			if rapid.Bool().Draw(t, "use "+s.Name) {
				want = want.Plus(s.Ions, rapid.Float64Range(0.1, 2).Draw(t, s.Name))
			}
		}
		if want.Cations() == 0 {
			t.Skip()
		}
		got, err := Recipe{Target: want, Dilution: 100, Tank: 20}.Weigh()
		require.NoError(t, err)
		for ion := range Ions {
			require.InDelta(t, want[ion], got.Solution[ion], 1e-3, ion.String())
		}
		for _, w := range got.A {
			require.NotContains(t, w.Name, "sulfate")
			require.NotContains(t, w.Name, "phosphate")
		}
		for _, w := range got.B {
			require.NotContains(t, w.Name, "calcium")
		}
		require.InDelta(t, got.EC, (got.Stocks[0].Strength+got.Stocks[1].Strength)*1000/100, 1e-9)
	})
}

func TestRecipeWithHardWater(t *testing.T) {
	water := Composition{Calcium: 1.5, Magnesium: 0.3, Bicarbonate: 3, Sodium: 0.5, Chloride: 0.5, Sulfate: 0.3}
	got, err := Recipe{Target: hoagland(), BalanceNitrate: true, Water: water, Dilution: 100, Tank: 10}.Weigh()
	require.NoError(t, err)
	for _, ion := range []Ion{Ammonium, Phosphate, Potassium, Calcium, Magnesium, Sulfate, Nitrate} {
		assert.InDelta(t, hoagland()[ion], got.Solution[ion], 1e-3, ion.String())
	}
	assert.Equal(t, 0.5, got.Solution[Sodium])
	assert.NotEmpty(t, got.Notes, "sodium and chloride of the water are mentioned")
}

func TestRecipeRefuses(t *testing.T) {
	good := Recipe{Target: hoagland(), Dilution: 100, Tank: 10}
	tests := map[string]struct {
		change func(*Recipe)
		want   string
	}{
		"charges":        {func(r *Recipe) { r.Target[Nitrate] = 10 }, "nitrate is usual) by 4.00"},
		"water report":   {func(r *Recipe) { r.Water[Calcium] = 1; r.Water[Bicarbonate] = 1 }, "the water's own do not balance, with 2.00 and 1.00"},
		"mg/L":           {func(r *Recipe) { r.Target[Potassium] = 234 }, "is it in mg/L"},
		"hard water":     {func(r *Recipe) { r.Water[Calcium] = 5; r.Water[Bicarbonate] = 10 }, "the water (with its acid) brings 5.00 mmol/L of calcium"},
		"too few salts":  {func(r *Recipe) { r.Use = []string{"KNO3", "Ca(NO3)2·4H2O", "NH4H2PO4"} }, "fall short by 2.00 mmol/L of magnesium"},
		"unknown salt":   {func(r *Recipe) { r.Use = []string{"plain salt"} }, "not a salt"},
		"no dilution":    {func(r *Recipe) { r.Dilution = 0 }, "1:100 is usual"},
		"no tank":        {func(r *Recipe) { r.Tank = 0 }, "for example 10 L"},
		"trace element":  {func(r *Recipe) { r.Traces = map[string]float64{"Pb": 1} }, "not a micronutrient"},
		"poison":         {func(r *Recipe) { r.Traces = map[string]float64{"B": 500} }, "poison"},
		"nothing":        {func(r *Recipe) { r.Target = Composition{} }, "nothing is asked for"},
		"only anions":    {func(r *Recipe) { r.Target = Composition{Sulfate: 2}; r.BalanceNitrate = true }, "anions exceed cations"},
		"acid with none": {func(r *Recipe) { r.AcidAnion = Calcium }, "no acid brings calcium"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			r := good
			tt.change(&r)
			_, err := r.Weigh()
			assert.ErrorContains(t, err, tt.want)
		})
	}
}

func TestRecipeWarnsOfCrystals(t *testing.T) {
	got, err := Recipe{Target: Composition{Potassium: 10, Sulfate: 3, Nitrate: 4}, Dilution: 400, Tank: 10}.Weigh()
	require.NoError(t, err)
	assert.Contains(t, got.Notes[0], "more than dissolves")
}
