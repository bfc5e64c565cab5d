package payload

import (
	"fmt"
	"strings"
)

// Pointer is a JSON Pointer (RFC 6901). The zero Pointer is "", the whole
// document.
type Pointer struct {
	tokens []string // unescaped reference tokens
}

// unescape replaces ~1 before ~0, as RFC 6901 section 4 asks, so that "~01"
// means "~1" and not "/". A Replacer scans once from the left, which comes to
// the same.
var (
	unescape = strings.NewReplacer("~1", "/", "~0", "~")
	escape   = strings.NewReplacer("~", "~0", "/", "~1")
)

// ParsePointer reads the string form of section 3: empty, or tokens that each
// begin with "/". The URI fragment form of section 6 is not a pointer here.
func ParsePointer(text string) (Pointer, error) {
	if text == "" {
		return Pointer{}, nil
	}
	if text[0] != '/' {
		return Pointer{}, fmt.Errorf("parse JSON pointer %q: it does not begin with a slash, for example %q", text, "/"+text)
	}
	tokens := strings.Split(text[1:], "/")
	for i, token := range tokens {
		if !escapesWell(token) {
			return Pointer{}, fmt.Errorf("parse JSON pointer %q: a \"~\" stands only in \"~0\" (for ~) and \"~1\" (for /)", text)
		}
		tokens[i] = unescape.Replace(token)
	}
	return Pointer{tokens: tokens}, nil
}

// escapesWell says that every "~" is followed by 0 or 1 (the grammar of
// section 3).
func escapesWell(token string) bool {
	for i := 0; i < len(token); i++ {
		if token[i] != '~' {
			continue
		}
		if i+1 == len(token) || (token[i+1] != '0' && token[i+1] != '1') {
			return false
		}
	}
	return true
}

// String is the form that ParsePointer reads.
func (p Pointer) String() string {
	var b strings.Builder
	for _, token := range p.tokens {
		b.WriteByte('/')
		b.WriteString(escape.Replace(token))
	}
	return b.String()
}

// lookup follows the pointer into a value of parseJSON (section 4).
func (p Pointer) lookup(value any) (any, error) {
	for _, token := range p.tokens {
		next, ok := step(value, token)
		if !ok {
			return nil, refuse(NotFound, "it has nothing at %q", clip(p.String()))
		}
		value = next
	}
	return value, nil
}

// step follows one reference token. "-" names the element after the last of an
// array, which is never there.
func step(value any, token string) (any, bool) {
	switch v := value.(type) {
	case map[string]any:
		next, ok := v[token]
		return next, ok
	case []any:
		i, ok := arrayIndex(token)
		if !ok || i >= len(v) {
			return nil, false
		}
		return v[i], true
	}
	return nil, false
}

// arrayIndex reads the array-index of section 4: digits without leading zeros.
func arrayIndex(token string) (int, bool) {
	const longest = 6 // digits; MaxSize holds fewer elements
	if token == "" || len(token) > longest || digits(token) != len(token) || (token[0] == '0' && len(token) > 1) {
		return 0, false
	}
	i := 0
	for _, c := range token {
		i = 10*i + int(c-'0')
	}
	return i, true
}
