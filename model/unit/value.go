package unit

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// maxText bounds what is read as one quantity; the longest sensible one,
// "-1.7976931348623157e+308 umol/(m2.s)", is half of it.
const maxText = 80

// number is a decimal number with a point: no comma, no digit groups, no
// hexadecimal, no infinity.
var number = regexp.MustCompile(`^[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?`)

// comma finds numbers that are written with a decimal comma.
var comma = regexp.MustCompile(`^[+-]?[0-9]+,[0-9]+`)

// Value is a number with the unit that it was written in.
type Value struct {
	Number float64
	Unit   Unit
}

// Parse reads a quantity of dimension d: a number, an optional space, a unit.
// On error the Value is zero and the error is an *Error that shows how to
// write it.
func Parse(text string, d *Dimension) (Value, error) {
	digits, symbol, err := split(text, d)
	if err != nil {
		return Value{}, err
	}
	x, err := Number(digits)
	if err != nil {
		return Value{}, err
	}
	if symbol == "" {
		return Value{}, &Error{Reason: quote(text) + " needs a unit", Hint: example(digits + " " + d.likely(math.Abs(x)))}
	}
	u, ok := d.find(symbol)
	if !ok {
		return Value{}, d.refuseValue(text, digits, symbol)
	}
	v := Value{Number: x, Unit: u}
	if math.IsInf(v.Canonical(), 0) {
		return Value{}, &Error{Reason: quote(text) + " is out of every range", Hint: example("1 " + d.usual)}
	}
	return v, nil
}

// split parts the number from the unit.
func split(text string, d *Dimension) (digits, symbol string, err error) {
	if len(text) > maxText {
		return "", "", &Error{Reason: quote(clip(text)) + " is too long for a number with a unit", Hint: example("1 " + d.usual)}
	}
	text = strings.TrimSpace(text)
	if comma.MatchString(text) {
		return "", "", commaError(text)
	}
	if digits = number.FindString(text); digits == "" {
		return "", "", &Error{Reason: quote(text) + " is not " + d.name, Hint: example("10 " + d.usual)}
	}
	return digits, strings.TrimSpace(text[len(digits):]), nil
}

// Number reads a plain decimal number: a decimal point, no comma, no digit
// groups, finite.
func Number(text string) (float64, error) {
	switch {
	case len(text) > maxText:
		return 0, &Error{Reason: quote(clip(text)) + " is too long for a number", Hint: example("1.5")}
	case comma.MatchString(text):
		return 0, commaError(text)
	case number.FindString(text) != text:
		return 0, &Error{Reason: quote(text) + " is not a number", Hint: example("1.5")}
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, &Error{Reason: quote(text) + " is out of every range", Hint: example("1.5")}
	}
	return x, nil
}

func commaError(text string) error {
	return &Error{Reason: quote(text) + " has a comma", Hint: "write a decimal point: " + quote(strings.Replace(text, ",", ".", 1))}
}

// Canonical is the value in the canonical unit of its dimension.
func (v Value) Canonical() float64 { return v.Unit.ToCanonical(v.Number) }

// ToCanonical converts a number in unit u.
func (u Unit) ToCanonical(x float64) float64 { return x*u.Mul/u.Div + u.Offset }

// FromCanonical converts a number in the canonical unit into unit u.
func (u Unit) FromCanonical(x float64) float64 { return (x - u.Offset) * u.Div / u.Mul }

// String prints the value so that Parse reads it back unchanged.
func (v Value) String() string {
	return strconv.FormatFloat(v.Number, 'g', -1, 64) + " " + v.Unit.Symbol
}

// clip shortens text for an error.
func clip(text string) string {
	if len(text) <= maxText {
		return text
	}
	return strings.ToValidUTF8(text[:16], "") + "…"
}
