package payload

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// longestNumber bounds the digits of one number. A float64 prints in 24
// characters at most; 64 leave room for a careless printf.
const longestNumber = 64

// Number reads a bare number with an optional unit after it: "21.5",
// "-3.1e-2", "21.5 °C".
//
// White space around it and NUL bytes behind it (a C string sent with its
// terminator) are dropped. The number is decimal with a point: an optional
// sign, digits, at most one point, an optional exponent. Digit groups, commas,
// hexadecimal and underscores are refused. The unit is returned as it stands.
func Number(text string) (Sample, error) {
	text = strings.TrimSpace(strings.TrimRight(text, "\x00 \t\r\n"))
	if text == "" {
		return Sample{}, refuse(Empty, "it is empty")
	}
	if !utf8.ValidString(text) {
		return Sample{}, refuse(NotANumber, "it is not text")
	}
	n := numberLength(text)
	if n == 0 || !boundary(text[n:]) {
		return Sample{}, refuseWord(text)
	}
	value, err := parseFloat(text[:n])
	if err != nil {
		return Sample{}, err
	}
	unit := strings.TrimSpace(text[n:])
	if !plainUnit(unit) {
		return Sample{}, refuseWord(text)
	}
	return Sample{Value: value, Unit: unit}, nil
}

// numberLength is the length of the number that text begins with, or 0.
func numberLength(text string) int {
	i := 0
	if i < len(text) && (text[i] == '+' || text[i] == '-') {
		i++
	}
	whole := digits(text[i:])
	i += whole
	part := 0
	if i < len(text) && text[i] == '.' {
		part = digits(text[i+1:])
		i += 1 + part
	}
	if whole+part == 0 {
		return 0
	}
	return i + exponentLength(text[i:])
}

// exponentLength is the length of a complete exponent at the start of text; an
// "e" without digits belongs to what follows.
func exponentLength(text string) int {
	if text == "" || (text[0] != 'e' && text[0] != 'E') {
		return 0
	}
	i := 1
	if i < len(text) && (text[i] == '+' || text[i] == '-') {
		i++
	}
	n := digits(text[i:])
	if n == 0 {
		return 0
	}
	return i + n
}

func digits(text string) int {
	n := 0
	for n < len(text) && text[n] >= '0' && text[n] <= '9' {
		n++
	}
	return n
}

// boundary says that a number may end before rest: it does not run on into
// more digits, points or commas, as "5,8", "1.2.3" and "1_000" do.
func boundary(rest string) bool {
	return rest == "" || !strings.ContainsAny(rest[:1], ".,'_-+0123456789")
}

// plainUnit says that text can be the name of a unit: short, without white
// space or further numbers ("1 234" is a digit group, not 1 in units of 234;
// "0x1F" is hexadecimal; "1.#INF" is how some C libraries print infinity).
func plainUnit(text string) bool {
	const longest = 16
	if len(text) > longest || strings.ContainsAny(text, ",;:=#\"'{}\\ \t\r\n\x00") {
		return false
	}
	return text == "" || !strings.ContainsAny(text[:1], "0123456789xX")
}

// parseFloat reads what numberLength accepted.
func parseFloat(text string) (float64, error) {
	if len(text) > longestNumber {
		return 0, refuse(Overflow, "%q has more digits than a measurement can", clip(text))
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(x, 0) {
		return 0, refuse(Overflow, "%q is too large for a number", clip(text))
	}
	return x, nil
}

// refuseWord names what stands in the place of a number.
func refuseWord(text string) *Refusal {
	switch word := strings.ToLower(strings.TrimLeft(text, "+-")); word {
	case "nan", "1.#qnan", "1.#ind":
		return refuse(NaN, "the sensor sent %q", clip(text))
	case "inf", "infinity", "1.#inf":
		return refuse(Infinite, "the sensor sent %q", clip(text))
	case "null", "none", "nil", "undefined":
		return refuse(Null, "the sensor sent %q", clip(text))
	case "", "unavailable", "unknown", "offline", "online", "error", "err", "fail", "failed", "fault", "n/a", "na", "disconnected", "timeout":
		return refuse(Unavailable, "the sensor sent %q", clip(text))
	}
	if strings.HasPrefix(text, "{") {
		return refuse(WrongFormat, "it is a JSON object; give the sensor a pointer to the member, for example pointer: /value")
	}
	if commaDecimal(text) {
		return refuse(CommaDecimal, "%q has a comma; the sensor has to send a decimal point", clip(text))
	}
	return refuse(NotANumber, "%q is not a number", clip(text))
}

// commaDecimal finds a comma beside a digit.
func commaDecimal(text string) bool {
	i := strings.IndexByte(text, ',')
	if i < 0 {
		return false
	}
	before := i > 0 && digits(text[i-1:]) > 0
	return before || digits(text[i+1:]) > 0
}
