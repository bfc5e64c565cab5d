package payload

import "bytes"

// Format is how a payload is written.
type Format int

// The formats.
const (
	BareNumber Format = iota
	JSONDocument
	SenMLJSON
	SenMLCBOR
)

// Detect tells the format by the rules in the package's documentation. It
// looks at the first byte only; that the rest is well-formed is for the decoder
// to see.
func Detect(raw []byte, hasPointer bool) Format {
	if hasPointer {
		return JSONDocument
	}
	text := bytes.TrimLeft(raw, " \t\r\n")
	if len(text) > 0 && text[0] == '[' {
		return SenMLJSON
	}
	// RFC 8949 section 3.1: major type 4, an array, in the high three bits.
	if len(raw) > 0 && raw[0]>>5 == 4 {
		return SenMLCBOR
	}
	return BareNumber
}
