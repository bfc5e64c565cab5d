package payload

import "time"

// MaxSize is the longest payload that is read, in bytes. A SenML pack of a
// day's readings a minute apart fits; a firmware image on the wrong topic does
// not.
const MaxSize = 64 << 10

// Sample is one number as the payload has it, before calibration and
// conversion.
type Sample struct {
	Name  string    // of a SenML record, base name included; empty otherwise
	Value float64   // finite
	Unit  string    // as written in the payload; empty: it has none
	Time  time.Time // when it was taken, in UTC; zero: the payload has none

	// Relative says that Time counts from now, as SenML of a sensor without a
	// clock does: it is as good as what is known of when the message was sent.
	Relative bool
}

// Selector says which samples of a payload belong to one sensor.
type Selector struct {
	Pointer     *Pointer // into a JSON document; nil: a number or SenML
	TimePointer *Pointer // to the time in the same document; nil: it has none
	Record      string   // full name of the SenML record; empty: any

	// Fits says that a unit suits the sensor. It decides between the records
	// of a pack when Record is empty. Nil: none does.
	Fits func(unit string) bool
}

// Body is one payload. However many sensors read from it, it is parsed once.
type Body struct {
	raw []byte
	now time.Time

	document      any
	documentErr   error
	documentKnown bool

	pack      []Sample
	packErr   error
	packKnown bool
}

// NewBody wraps a payload, which must not change while the Body is used. Now is
// the time that relative SenML times count from: when the message arrived, or
// when it is known to have been sent.
func NewBody(raw []byte, now time.Time) *Body { return &Body{raw: raw, now: now} }

// Samples reads the samples that sel selects, oldest first. There is at least
// one when the error is nil; only SenML gives more. The error is a *Refusal.
func (b *Body) Samples(sel Selector) ([]Sample, error) {
	if len(b.raw) > MaxSize {
		return nil, refuse(TooLarge, "it has %d bytes; %d are read at most", len(b.raw), MaxSize)
	}
	switch format := Detect(b.raw, sel.Pointer != nil); {
	case format == JSONDocument:
		return one(b.fromDocument(sel))
	case format == SenMLJSON || format == SenMLCBOR:
		return b.fromPack(sel, format)
	case sel.Record != "":
		return nil, refuse(WrongFormat, "the sensor names the SenML record %q, but this is no SenML", clip(sel.Record))
	default:
		return one(Number(string(b.raw)))
	}
}

func one(s Sample, err error) ([]Sample, error) {
	if err != nil {
		return nil, err
	}
	return []Sample{s}, nil
}

func (b *Body) fromDocument(sel Selector) (Sample, error) {
	if !b.documentKnown {
		b.document, b.documentErr = parseJSON(b.raw)
		b.documentKnown = true
	}
	if b.documentErr != nil {
		return Sample{}, b.documentErr
	}
	return sampleAt(b.document, *sel.Pointer, sel.TimePointer)
}

func (b *Body) fromPack(sel Selector, format Format) ([]Sample, error) {
	if !b.packKnown {
		if format == SenMLJSON {
			b.pack, b.packErr = DecodeSenMLJSON(b.raw, b.now)
		} else {
			b.pack, b.packErr = DecodeSenMLCBOR(b.raw, b.now)
		}
		b.packKnown = true
	}
	if b.packErr != nil {
		return nil, b.packErr
	}
	return choose(b.pack, sel)
}
