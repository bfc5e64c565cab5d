package payload

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"slices"
	"time"

	"github.com/fxamacker/cbor/v2"
)

// Bounds of a CBOR pack, well above what MaxSize bytes of sensible records
// hold. The nesting is array, record, decimal fraction.
const (
	cborDeepest = 4
	cborRecords = 8192
	cborFields  = 64
)

// tagDecimalFraction is [exponent, mantissa] (RFC 8949, section 3.4.4), the one
// tag that RFC 8428 section 6 names.
const tagDecimalFraction = 4

// cborMode is read-only and safe for concurrent use.
var cborMode = mustMode(cbor.DecOptions{
	DupMapKey:        cbor.DupMapKeyEnforcedAPF,
	MaxNestedLevels:  cborDeepest,
	MaxArrayElements: cborRecords,
	MaxMapPairs:      cborFields,
	UTF8:             cbor.UTF8RejectInvalid,
})

func mustMode(options cbor.DecOptions) cbor.DecMode {
	mode, err := options.DecMode()
	if err != nil {
		panic(fmt.Sprintf("payload: CBOR options: %v", err))
	}
	return mode
}

// DecodeSenMLCBOR reads a SenML pack in CBOR (RFC 8428, section 6) and resolves
// its records as DecodeSenMLJSON does. Bytes after the pack are refused.
func DecodeSenMLCBOR(raw []byte, now time.Time) ([]Sample, error) {
	var pack []map[any]any
	if err := cborMode.Unmarshal(raw, &pack); err != nil {
		return nil, refuseCBOR(err)
	}
	records := make([]record, len(pack))
	for i, fields := range pack {
		if err := records[i].setAll(fields); err != nil {
			return nil, within(err, "record %d", i)
		}
	}
	return resolve(records, now)
}

// refuseCBOR names the reason behind an error of the library.
func refuseCBOR(err error) *Refusal {
	var (
		duplicate *cbor.DupMapKeyError
		deep      *cbor.MaxNestedLevelError
	)
	switch {
	case errors.As(err, &duplicate):
		return refuse(DuplicateKey, "a record names a field twice: %w", err)
	case errors.As(err, &deep):
		return refuse(TooDeep, "it nests deeper than %d: %w", cborDeepest, err)
	}
	return refuse(BadCBOR, "it is not a SenML pack in CBOR: %w", err)
}

// setAll sets the fields in the order of their labels. A field may stand under
// its integer label or, as extensions do, its name; both at once is twice.
func (r *record) setAll(fields map[any]any) error {
	named := make(map[string]any, len(fields))
	labels := make([]string, 0, len(fields))
	for key, v := range fields {
		label, ok := labelOf(key)
		if !ok {
			continue
		}
		if _, ok := named[label]; ok {
			return refuse(DuplicateKey, "field %q stands under its name and its number", label)
		}
		named[label] = v
		labels = append(labels, label)
	}
	slices.Sort(labels)
	for _, label := range labels {
		if err := r.set(label, cborValue{named[label]}); err != nil {
			return err
		}
	}
	return nil
}

// labelOf finds the JSON name of a CBOR label; integers that are not in the
// table are unknown fields.
func labelOf(key any) (string, bool) {
	switch k := key.(type) {
	case string:
		return k, true
	case uint64:
		label, ok := fieldLabels[int64(min(k, math.MaxInt64))]
		return label, ok
	case int64:
		label, ok := fieldLabels[k]
		return label, ok
	}
	return "", false
}

// cborValue is a field as the library gives it in an any.
type cborValue struct{ v any }

var _ value = cborValue{}

func (c cborValue) number() (float64, error) {
	switch v := c.v.(type) {
	case uint64:
		return float64(v), nil
	case int64:
		return float64(v), nil
	case float64:
		return finite(v)
	case cbor.Tag:
		return decimalFraction(v)
	case nil:
		return 0, refuse(Null, "it is null")
	}
	return 0, refuse(BadSenML, "it is not a number")
}

func finite(x float64) (float64, error) {
	switch {
	case math.IsNaN(x):
		return 0, refuse(NaN, "it is not a number")
	case math.IsInf(x, 0):
		return 0, refuse(Infinite, "it is infinite")
	}
	return x, nil
}

// decimalFraction is mantissa × 10^exponent, rounded once.
func decimalFraction(tag cbor.Tag) (float64, error) {
	pair, ok := tag.Content.([]any)
	if !ok || tag.Number != tagDecimalFraction || len(pair) != 2 {
		return 0, refuse(BadSenML, "it is not a number")
	}
	exponent, okExponent := integer(pair[0])
	mantissa, okMantissa := integer(pair[1])
	if !okExponent || !okMantissa || !exponent.IsInt64() {
		return 0, refuse(BadSenML, "it is not a decimal fraction")
	}
	return parseFloat(fmt.Sprintf("%de%d", mantissa, exponent))
}

func integer(v any) (*big.Int, bool) {
	switch i := v.(type) {
	case uint64:
		return new(big.Int).SetUint64(i), true
	case int64:
		return big.NewInt(i), true
	}
	return nil, false
}

func (c cborValue) text() (string, error) { return jsonValue(c).text() }

func (c cborValue) boolean() error { return jsonValue(c).boolean() }

func (c cborValue) data() error {
	if _, ok := c.v.([]byte); !ok {
		return refuse(BadSenML, "it is not a byte string")
	}
	return nil
}
