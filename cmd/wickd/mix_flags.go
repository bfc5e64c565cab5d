package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"

	"wickd/model/solution"
	"wickd/model/unit"
)

// amountText is a number and what follows it.
var amountText = regexp.MustCompile(`^\s*([0-9][0-9.eE+-]*?)\s*([^0-9.\s].*)$`)

// stockFlag is a concentrate: NAME=EC.
type stockFlag struct{ solution.Stock }

// UnmarshalText takes a name and the EC that 1 mL in a litre adds, mS/cm.
func (f *stockFlag) UnmarshalText(b []byte) error {
	name, strength, ok := strings.Cut(string(b), "=")
	name = strings.TrimSpace(name)
	if !ok || name == "" {
		return fmt.Errorf("%q is not a concentrate, for example A=0.11", b)
	}
	n, err := unit.Number(strings.TrimSpace(strength))
	if err != nil {
		return err
	}
	// What a pair brings together is guessed as a solution's phosphate is.
	f.Stock = solution.Stock{Name: name, Strength: n, Phosphate: solution.PhosphatePerEC * n}
	return nil
}

// amountFlag is mL or g of an acid or base.
type amountFlag struct {
	quantity
	unit, text string
}

// UnmarshalText takes an amount with its unit.
func (f *amountFlag) UnmarshalText(b []byte) error {
	m := amountText.FindStringSubmatch(string(b))
	if m == nil || !slices.Contains([]string{"mL", "ml", "g"}, strings.TrimSpace(m[2])) {
		return fmt.Errorf("%q is not an amount, for example 3.6mL or 12g", b)
	}
	n, err := unit.Number(m[1])
	if err != nil {
		return err
	}
	if !(n > 0) {
		return fmt.Errorf("%q: give what went in", b)
	}
	f.value, f.given = n, true
	f.unit, f.text = "mL", string(b)
	if strings.TrimSpace(m[2]) == "g" {
		f.unit = "g"
	}
	return nil
}

// reagentFlag is an acid or base of named strength; nil: none was named.
type reagentFlag struct{ reagent *solution.Reagent }

// UnmarshalText takes a name, and a strength in % by mass or in mol/L.
func (f *reagentFlag) UnmarshalText(b []byte) error {
	text := strings.TrimSpace(string(b))
	at := strings.IndexAny(text, "0123456789")
	if at < 0 {
		r, err := solution.NewReagent(text, 0)
		f.reagent = &r
		return err
	}
	name := strings.TrimSpace(text[:at])
	m := amountText.FindStringSubmatch(text[at:])
	if m == nil {
		return fmt.Errorf("%q has no strength with a unit, for example 'nitric 38%%' or 'nitric 1mol/L'", b)
	}
	n, err := unit.Number(m[1])
	if err != nil {
		return err
	}
	var r solution.Reagent
	switch strings.TrimSpace(m[2]) {
	case "%":
		r, err = solution.NewReagent(name, n)
	case "mol/L", "mol/l", "M":
		r, err = solution.NewReagentMolar(name, n)
	default:
		return fmt.Errorf("%q: a strength is in %% by mass or mol/L", b)
	}
	f.reagent = &r
	return err
}

// stocks are those of the command line, or those of a recipe.
func (f mixFlags) stocks() ([]solution.Stock, error) {
	if f.Stocks != "" {
		if len(f.Stock) > 0 {
			return nil, usageError{errors.New("mix: --stock and --stocks both name the concentrates: give one")}
		}
		return readStocks(f.Stocks)
	}
	var all []solution.Stock
	for _, s := range f.Stock {
		all = append(all, s.Stock)
	}
	return all, once(all)
}

// once refuses a concentrate that is named twice: it would be dosed twice.
func once(stocks []solution.Stock) error {
	seen := map[string]bool{}
	for _, s := range stocks {
		if seen[s.Name] {
			return usageError{fmt.Errorf("mix: concentrate %s is named twice; each goes in once, so give the other its own name, for example --stock A=0.11 --stock B=0.09", s.Name)}
		}
		seen[s.Name] = true
	}
	return nil
}

// stockDocument is a concentrate in the answer of mix recipe.
type stockDocument struct {
	Name      string  `json:"name"`
	Strength  float64 `json:"ms_per_cm_for_ml_per_l"`
	Phosphate float64 `json:"phosphate_mmol_for_ml"`
}

func readStocks(path string) ([]solution.Stock, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read the concentrates: %w", err)
	}
	defer file.Close()
	var doc struct {
		Stocks []stockDocument `json:"stocks"`
	}
	const most = 1 << 20
	err = json.NewDecoder(io.LimitReader(file, most)).Decode(&doc)
	if errors.Is(err, io.EOF) {
		err = errors.New("it is empty")
	}
	if err != nil {
		return nil, fmt.Errorf("read the concentrates: %s: %w (it is made by wickd mix recipe --json)", path, err)
	}
	if len(doc.Stocks) == 0 {
		return nil, fmt.Errorf("read the concentrates: %s names none (it is made by wickd mix recipe --json)", path)
	}
	var all []solution.Stock
	for _, s := range doc.Stocks {
		all = append(all, solution.Stock(s))
	}
	return all, once(all)
}
