package unit

import "strings"

// Dimension is a kind of quantity and the units it can be written in.
type Dimension struct {
	name  string // "a length"
	units []Unit // the canonical unit first, then the usual one for examples
	usual string // symbol for examples
	// Where a bare number is above fine, fineUnit is likelier to be meant than usual.
	fine     float64
	fineUnit string
	// hints explain symbols that are refused although people write them.
	hints map[string]string
}

// Unit is one symbol of a Dimension. A number x in it is x·Mul/Div + Offset in
// the canonical unit. Mul and Div are kept apart so that 97 % is exactly the
// float64 nearest to 0.97.
type Unit struct {
	Symbol   string
	Mul, Div float64
	Offset   float64
	synonyms []string
}

// String is the name of the dimension with its article: "a length".
func (d *Dimension) String() string { return d.name }

// Canonical is the unit in which values of the dimension are calculated.
func (d *Dimension) Canonical() Unit { return d.units[0] }

// likely is the symbol of what a bare number was probably meant in.
func (d *Dimension) likely(x float64) string {
	if d.fineUnit != "" && x > d.fine {
		return d.fineUnit
	}
	return d.usual
}

// Usual is the symbol that examples show.
func (d *Dimension) Usual() string { return d.usual }

// Symbols lists the preferred symbol of every unit of the dimension.
func (d *Dimension) Symbols() []string {
	var all []string
	for _, u := range d.units {
		all = append(all, u.Symbol)
	}
	return all
}

// Spellings lists every symbol and synonym of the dimension, in table order.
func (d *Dimension) Spellings() []string {
	var all []string
	for _, u := range d.units {
		all = append(append(all, u.Symbol), u.synonyms...)
	}
	return all
}

// Lookup finds a unit by its symbol or a synonym. Its error says which units
// would fit.
func (d *Dimension) Lookup(symbol string) (Unit, error) {
	if u, ok := d.find(symbol); ok {
		return u, nil
	}
	return Unit{}, d.refuse(symbol)
}

// find matches a symbol after folding spellings that look the same.
func (d *Dimension) find(symbol string) (Unit, bool) {
	symbol = fold(symbol)
	for _, u := range d.units {
		if fold(u.Symbol) == symbol {
			return u, true
		}
		for _, s := range u.synonyms {
			if fold(s) == symbol {
				return u, true
			}
		}
	}
	return Unit{}, false
}

// folding maps characters that keyboards and fonts confuse: the micro sign and
// the Greek letter, the degree sign and the ordinal, raised digits.
var folding = strings.NewReplacer("μ", "u", "µ", "u", "º", "°", "²", "2", "³", "3", "⁻¹", "^-1", "·", ".")

func fold(symbol string) string { return folding.Replace(symbol) }

// refuse says why a symbol does not fit and what would.
func (d *Dimension) refuse(symbol string) *Error {
	if hint, ok := d.hints[fold(symbol)]; ok {
		return &Error{Reason: quote(symbol) + " cannot be " + d.name, Hint: hint}
	}
	for _, s := range d.Spellings() {
		if strings.EqualFold(fold(s), fold(symbol)) {
			return &Error{Reason: quote(symbol) + " is not a unit", Hint: "did you mean " + quote(s) + "?"}
		}
	}
	hint := "use " + list(d.Symbols())
	if other := dimensionOf(symbol); other != nil {
		return &Error{Reason: quote(symbol) + " is a unit of " + bare(other.name) + ", not of " + bare(d.name), Hint: hint}
	}
	return &Error{Reason: quote(symbol) + " is not a unit of " + bare(d.name) + " that wickd knows", Hint: hint}
}

// refuseValue says why a number's unit does not fit, and shows the number in
// one that does.
func (d *Dimension) refuseValue(text, digits, symbol string) error {
	e := d.refuse(symbol)
	if d.hints[fold(symbol)] != "" || strings.HasPrefix(e.Hint, "did you mean") {
		return e
	}
	if other := dimensionOf(symbol); other != nil {
		e.Reason = quote(strings.TrimSpace(text)) + " is " + other.name + ", not " + d.name
	}
	e.Hint += ", " + example(digits+" "+d.usual)
	return e
}

// dimensionOf finds the first dimension that knows a symbol.
func dimensionOf(symbol string) *Dimension {
	for _, d := range all() {
		if _, ok := d.find(symbol); ok {
			return d
		}
	}
	return nil
}

// bare drops the article of a dimension's name.
func bare(name string) string {
	return strings.TrimPrefix(strings.TrimPrefix(name, "an "), "a ")
}

// list joins words as a sentence does: "mm, cm or m".
func list(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}
