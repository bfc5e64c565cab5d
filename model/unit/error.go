package unit

import "strconv"

// Error says what is wrong with a quantity and how to write it.
type Error struct {
	Reason string // `"108" needs a unit`
	Hint   string // `for example "108 mm"`
}

// Error is the reason and the hint in one line.
func (e *Error) Error() string {
	if e.Hint == "" {
		return e.Reason
	}
	return e.Reason + ", " + e.Hint
}

// quote shows text as it was written, with control characters escaped.
func quote(text string) string { return strconv.Quote(text) }

func example(text string) string { return "for example " + quote(text) }
