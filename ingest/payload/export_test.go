package payload

// Document reads a JSON document as a Body with that one selector does.
func Document(raw []byte, pointer Pointer, clock *Pointer) (Sample, error) {
	document, err := parseJSON(raw)
	if err != nil {
		return Sample{}, err
	}
	return sampleAt(document, pointer, clock)
}
