package payload

import "strings"

// fieldLabels are the labels of RFC 8428, table 4, by their CBOR integer. The
// JSON name is the other label of the same field.
var fieldLabels = map[int64]string{
	-6: "bs", -5: "bv", -4: "bu", -3: "bt", -2: "bn", -1: "bver",
	0: "n", 1: "u", 2: "v", 3: "vs", 4: "vb", 5: "s", 6: "t", 7: "ut", 8: "vd",
}

// value is one field of a record in either encoding: it reads itself as the
// type that the label asks for.
type value interface {
	number() (float64, error)
	text() (string, error)
	boolean() error
	data() error
}

// set puts a field into the record. Unknown labels are ignored, unless they end
// in "_" (section 4.4): then the whole pack is refused.
func (r *record) set(label string, v value) error {
	var err error
	switch label {
	case "bn":
		r.baseName, err = ref(v.text())
	case "bu":
		r.baseUnit, err = ref(v.text())
	case "bt":
		r.baseTime, err = ref(v.number())
	case "bv":
		r.baseValue, err = ref(v.number())
	case "bs":
		r.baseSum, err = ref(v.number())
	case "bver":
		r.version, err = ref(v.number())
	case "n":
		r.name, err = ref(v.text())
	case "u":
		r.unit, err = ref(v.text())
	case "v":
		r.value, err = ref(v.number())
	case "s":
		r.sum, err = ref(v.number())
	case "t":
		r.time, err = ref(v.number())
	case "ut":
		r.update, err = ref(v.number())
	case "vs":
		_, err = v.text()
		r.hasString = true
	case "vb":
		err, r.hasBool = v.boolean(), true
	case "vd":
		err, r.hasDataVal = v.data(), true
	default:
		if strings.HasSuffix(label, "_") {
			return refuse(MustUnderstand, "the field %q must be understood and is not", clip(label))
		}
		return nil
	}
	if err != nil {
		return within(err, "field %q", label)
	}
	return nil
}

func ref[T any](v T, err error) (*T, error) {
	if err != nil {
		return nil, err
	}
	return &v, nil
}
