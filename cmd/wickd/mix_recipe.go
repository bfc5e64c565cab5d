package main

import (
	"errors"
	"fmt"
	"strings"

	"wickd/model/solution"
	"wickd/model/unit"
)

type recipeCommand struct {
	Target   ionsFlag   `required:"" placeholder:"IONS" help:"The solution in mmol/L: 'K 6, Ca 4, Mg 2, NH4 1, P 1, S 2'. Nitrate balances the charges unless NO3 is given."`
	Water    ionsFlag   `placeholder:"IONS" help:"What the water brings in mmol/L, from its report: 'Ca 1.3, Mg 0.3, Na 0.4, Cl 0.3, S 0.15, HCO3 3'."`
	Acid     string     `default:"nitric" enum:"nitric,phosphoric,sulfuric" placeholder:"ACID" help:"The acid that neutralises its HCO3: nitric (as when left out), phosphoric or sulfuric."`
	Traces   tracesFlag `placeholder:"ELEMENTS" help:"Micronutrients in mg/L: 'Fe 1.5, Mn 0.5, B 0.3, Zn 0.1, Cu 0.05, Mo 0.05'."`
	Dilution numberFlag `placeholder:"N" help:"Litres of solution from a litre of each stock; 100 when left out."`
	Tank     volumeFlag `placeholder:"VOLUME" help:"Volume of each stock tank; 10 L when left out."`
	Use      []string   `placeholder:"SALT" sep:"," help:"Use these salts only, by formula: KNO3,MgSO4·7H2O,…"`
	JSON     bool       `name:"json" help:"For machines, and for mix --stocks."`
}

// ionsFlag is a composition by symbols, mmol/L.
type ionsFlag struct {
	of    solution.Composition
	given map[solution.Ion]bool
}

// UnmarshalText takes symbols with numbers: "K 6, Ca 4".
func (f *ionsFlag) UnmarshalText(b []byte) error {
	symbols := map[string]solution.Ion{
		"no3": solution.Nitrate, "nh4": solution.Ammonium, "p": solution.Phosphate, "h2po4": solution.Phosphate, "k": solution.Potassium,
		"ca": solution.Calcium, "mg": solution.Magnesium, "s": solution.Sulfate, "so4": solution.Sulfate, "cl": solution.Chloride,
		"na": solution.Sodium, "hco3": solution.Bicarbonate,
	}
	f.given = map[solution.Ion]bool{}
	return pairs(string(b), func(symbol string, x float64) error {
		ion, ok := symbols[strings.ToLower(symbol)]
		if !ok {
			return fmt.Errorf("%q is none of NO3, NH4, P, K, Ca, Mg, S, Cl, Na, HCO3", symbol)
		}
		if f.given[ion] {
			return fmt.Errorf("%s is given twice", symbol)
		}
		f.of[ion], f.given[ion] = x, true
		return nil
	})
}

// tracesFlag is micronutrients by symbol, mg/L.
type tracesFlag map[string]float64

// UnmarshalText takes symbols with numbers: "Fe 1.5, Mn 0.5".
func (f *tracesFlag) UnmarshalText(b []byte) error {
	*f = tracesFlag{}
	return pairs(string(b), func(symbol string, x float64) error {
		(*f)[symbol] = x
		return nil
	})
}

// pairs reads "name number, name number"; numbers are not below 0.
func pairs(text string, each func(string, float64) error) error {
	for _, part := range strings.Split(text, ",") {
		words := strings.Fields(part)
		if len(words) != 2 {
			return fmt.Errorf("%q is not a symbol and a number, for example 'K 6, Ca 4'", strings.TrimSpace(part))
		}
		x, err := unit.Number(words[1])
		if err != nil {
			return err
		}
		if x < 0 {
			return fmt.Errorf("%q is below 0", strings.TrimSpace(part))
		}
		if err := each(words[0], x); err != nil {
			return err
		}
	}
	return nil
}

func (k recipeCommand) Run(c console) error {
	r := solution.Recipe{
		Target: k.Target.of, BalanceNitrate: !k.Target.given[solution.Nitrate], Water: k.Water.of, Traces: k.Traces,
		Dilution: 100, Tank: 10, Use: k.Use,
		AcidAnion: map[string]solution.Ion{"nitric": solution.Nitrate, "phosphoric": solution.Phosphate, "sulfuric": solution.Sulfate}[k.Acid],
	}
	if k.Target.given[solution.Bicarbonate] {
		return usageError{errors.New("mix recipe: bicarbonate is what the water brings and acid takes; it is no target")}
	}
	if k.Dilution.given {
		r.Dilution = k.Dilution.value
	}
	if k.Tank.given {
		r.Tank = k.Tank.value
	}
	tanks, err := r.Weigh()
	if err != nil {
		return fmt.Errorf("mix %w", err)
	}
	return c.answer(k.JSON, recipeDocumentOf(r, tanks), recipeText(r, tanks))
}

type recipeDocument struct {
	A        []weighedDocument  `json:"tank_a"`
	B        []weighedDocument  `json:"tank_b"`
	Solution map[string]float64 `json:"solution_mmol_per_l"`
	EC       float64            `json:"ec_ms_per_cm"`
	Stocks   []stockDocument    `json:"stocks"`
	Notes    []string           `json:"notes,omitempty"`
	Cautions []string           `json:"cautions"`
}

type weighedDocument struct {
	Salt  string  `json:"salt"`
	Grams float64 `json:"g"`
}

func recipeDocumentOf(r solution.Recipe, t solution.StockTanks) recipeDocument {
	d := recipeDocument{A: []weighedDocument{}, B: []weighedDocument{}, Solution: map[string]float64{}, EC: t.EC, Notes: t.Notes, Cautions: recipeCare(r)}
	for _, w := range t.A {
		d.A = append(d.A, weighedDocument{w.Name, w.Grams})
	}
	for _, w := range t.B {
		d.B = append(d.B, weighedDocument{w.Name, w.Grams})
	}
	for ion := range solution.Ions {
		d.Solution[ion.String()] = t.Solution[ion]
	}
	for _, s := range t.Stocks {
		d.Stocks = append(d.Stocks, stockDocument(s))
	}
	return d
}

func recipeText(r solution.Recipe, t solution.StockTanks) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Two stock tanks of %s L; %s mL of each make a litre of solution.\n", amount(r.Tank), amount(1000/r.Dilution))
	for _, tank := range []struct {
		name  string
		salts []solution.Weighed
	}{{"A", t.A}, {"B", t.B}} {
		fmt.Fprintf(&b, "\nTank %s\n", tank.name)
		for _, w := range tank.salts {
			fmt.Fprintf(&b, "%9s g  %s\n", amount(w.Grams), w.Name)
		}
	}
	b.WriteString("\nThe solution has")
	for ion := range solution.Ions {
		if mmol := t.Solution[ion]; mmol > 0.005 {
			fmt.Fprintf(&b, "\n%9.2f mmol/L %-10s (%s mg/L %s)", mmol, ion, amount(ion.MgPerL(mmol)), ion.Element())
		}
	}
	fmt.Fprintf(&b, "\nand an EC of about %.2f mS/cm (%.2f by the rule of cations).\n", t.EC, t.RoughEC)
	var flags []string
	for _, s := range t.Stocks {
		if s.Strength > 0 { // a recipe may need one tank only
			flags = append(flags, fmt.Sprintf("--stock %s=%s", s.Name, amount(s.Strength)))
		}
	}
	fmt.Fprintf(&b, "For mix: %s, or --stocks with what --json prints.\n", strings.Join(flags, " "))
	for _, n := range t.Notes {
		b.WriteString(paragraph("Note. "+capital(n)+".", 0, 0))
	}
	b.WriteString("\n" + paragraph("Caution. Fill each tank nine tenths with water, dissolve one salt after the other, then fill up. "+strings.Join(recipeCare(r), " "), 0, 0))
	return b.String()
}

// recipeCare lists the cautions for what a recipe names.
func recipeCare(r solution.Recipe) []string {
	if r.Water[solution.Bicarbonate] > 0 {
		return []string{careConcentrate, careAcid, careSalts, careEyes, careCode}
	}
	return []string{careConcentrate, careSalts, careEyes, careCode}
}
