package payload_test

import (
	"encoding/hex"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/payload"
)

func TestDetect(t *testing.T) {
	tests := map[string]struct {
		raw     string
		pointer bool
		want    payload.Format
	}{
		"a number":             {"21.5", false, payload.BareNumber},
		"nothing":              {"", false, payload.BareNumber},
		"a JSON array":         {" [{}]", false, payload.SenMLJSON},
		"a pointer wins":       {"[1]", true, payload.JSONDocument},
		"a short CBOR array":   {"\x81\xa0", false, payload.SenMLCBOR},
		"a long CBOR array":    {"\x98\x20", false, payload.SenMLCBOR},
		"an endless one":       {"\x9f\xff", false, payload.SenMLCBOR},
		"a CBOR map":           {"\xa1\x00\x00", false, payload.BareNumber},
		"a CBOR byte string":   {"\x40", false, payload.BareNumber},
		"a degree sign at 0":   {"°", false, payload.BareNumber},
		"an object, no pointr": {`{"v":1}`, false, payload.BareNumber},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, tt.want, payload.Detect([]byte(tt.raw), tt.pointer))
		})
	}
}

func TestBodySelects(t *testing.T) {
	celsius := func(unit string) bool { return unit == "Cel" }
	pack := `[{"bn": "bag7:", "n": "t", "u": "Cel", "v": 19}, {"n": "w", "u": "%", "v": 52}, {"n": "ec", "u": "S/m", "v": 0.14}]`
	twoTemperatures := `[{"n": "root", "u": "Cel", "v": 19}, {"n": "air", "u": "Cel", "v": 24}, {"n": "w", "u": "%", "v": 5}]`
	tests := map[string]struct {
		raw    string
		sel    payload.Selector
		want   []float64
		reason payload.Reason
	}{
		"by name":                  {pack, payload.Selector{Record: "bag7:ec", Fits: celsius}, []float64{0.14}, ""},
		"by unit":                  {pack, payload.Selector{Fits: celsius}, []float64{19}, ""},
		"no such name":             {pack, payload.Selector{Record: "ec"}, nil, payload.NoRecord},
		"no such unit":             {pack, payload.Selector{Fits: func(u string) bool { return u == "pH" }}, nil, payload.NoRecord},
		"no way to tell":           {pack, payload.Selector{}, nil, payload.NoRecord},
		"two of that unit":         {twoTemperatures, payload.Selector{Fits: celsius}, nil, payload.Ambiguous},
		"two, but named":           {twoTemperatures, payload.Selector{Record: "root", Fits: celsius}, []float64{19}, ""},
		"the only one":             {section511, payload.Selector{}, []float64{23.1}, ""},
		"no number in the pack":    {`[{"n": "a", "vs": "up"}]`, payload.Selector{}, nil, payload.NoRecord},
		"a number, SenML expected": {"21.5", payload.Selector{Record: "a"}, nil, payload.WrongFormat},
		"an object, no pointer":    {`{"v": 1}`, payload.Selector{}, nil, payload.WrongFormat},
		"an essay":                 {strings.Repeat("word ", 20000), payload.Selector{}, nil, payload.TooLarge},
		"a history, oldest first":  {`[{"n": "a", "v": 3}, {"n": "a", "v": 1, "t": -20}, {"n": "a", "v": 2, "t": -10}]`, payload.Selector{}, []float64{1, 2, 3}, ""},
		"binary that is no CBOR":   {"\x85garbage", payload.Selector{}, nil, payload.BadCBOR},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			samples, err := payload.NewBody([]byte(tt.raw), now).Samples(tt.sel)
			assert.Equal(t, tt.reason, payload.ReasonOf(err))
			var values []float64
			for _, s := range samples {
				values = append(values, s.Value)
			}
			assert.Equal(t, tt.want, values)
		})
	}
}

// Several sensors read from one body; a refusal of one does not touch another.
func TestBodyServesSeveralSensors(t *testing.T) {
	body := payload.NewBody([]byte(`{"ec": 1.38, "ph": "5,8"}`), now)
	ec, ph := mustPointer(t, "/ec"), mustPointer(t, "/ph")
	_, err := body.Samples(payload.Selector{Pointer: &ph})
	assert.Equal(t, payload.CommaDecimal, payload.ReasonOf(err))
	samples, err := body.Samples(payload.Selector{Pointer: &ec})
	require.NoError(t, err)
	assert.Equal(t, []payload.Sample{{Value: 1.38}}, samples)
}

func BenchmarkNumber(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := payload.Number("21.5"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDocument(b *testing.B) {
	raw := []byte(`{"device": "kestrel-7", "data": {"ec": 1.38, "ph": 5.8, "t": 18.4}, "battery": 3.61}`)
	pointer := mustPointer(b, "/data/ec")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := payload.Document(raw, pointer, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSenMLCBOR(b *testing.B) {
	raw, err := hex.DecodeString(section6)
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := payload.DecodeSenMLCBOR(raw, now); err != nil {
			b.Fatal(err)
		}
	}
}
