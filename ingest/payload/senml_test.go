package payload_test

import (
	"encoding/hex"
	"strings"
	"testing"
	"time"

	"github.com/fxamacker/cbor/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/payload"
)

// The examples of RFC 8428 [M: the text was not at hand; the CBOR of section 6
// and the JSON of section 5.1.2 were written down independently and have to
// agree].
const (
	section511 = `[{"n": "urn:dev:ow:10e2073a01080063", "u": "Cel", "v": 23.1}]`

	section512a = `[
		{"bn": "urn:dev:ow:10e2073a01080063:", "n": "voltage", "u": "V", "v": 120.1},
		{"n": "current", "u": "A", "v": 1.2}]`

	section512b = `[
		{"bn": "urn:dev:ow:10e2073a0108006:", "bt": 1.276020076001e+09, "bu": "A", "bver": 5,
		 "n": "voltage", "u": "V", "v": 120.1},
		{"n": "current", "t": -5, "v": 1.2},
		{"n": "current", "t": -4, "v": 1.3},
		{"n": "current", "t": -3, "v": 1.4},
		{"n": "current", "t": -2, "v": 1.5},
		{"n": "current", "t": -1, "v": 1.6},
		{"n": "current", "v": 1.7}]`

	section513 = `[
		{"bn": "urn:dev:ow:10e2073a01080063", "bt": 1.320067464e+09, "bu": "%RH", "v": 20},
		{"u": "lon", "v": 24.30621},
		{"u": "lat", "v": 60.07965},
		{"t": 60, "v": 20.3},
		{"u": "lon", "t": 60, "v": 24.30622},
		{"u": "lat", "t": 60, "v": 60.07965},
		{"t": 120, "v": 20.7},
		{"u": "lon", "t": 120, "v": 24.30623},
		{"u": "lat", "t": 120, "v": 60.07966},
		{"u": "%EL", "t": 150, "v": 98},
		{"t": 180, "v": 21.2},
		{"u": "lon", "t": 180, "v": 24.30628},
		{"u": "lat", "t": 180, "v": 60.07967}]`

	section6 = "87a721781b75726e3a6465763a6f773a3130653230373361303130383030363a" +
		"22fb41d303a15b00106223614120050067766f6c7461676501615602fb405e066666666666" +
		"a3006763757272656e74062402fb3ff3333333333333" +
		"a3006763757272656e74062302fb3ff4cccccccccccd" +
		"a3006763757272656e74062202fb3ff6666666666666" +
		"a3006763757272656e74062102f93e00" +
		"a3006763757272656e74062002fb3ff999999999999a" +
		"a3006763757272656e74060002fb3ffb333333333333"
)

func TestSenMLRFC8428Section511(t *testing.T) {
	got, err := payload.DecodeSenMLJSON([]byte(section511), now)
	require.NoError(t, err)
	assert.Equal(t, []payload.Sample{{Name: "urn:dev:ow:10e2073a01080063", Unit: "Cel", Value: 23.1}}, got)
}

func TestSenMLRFC8428Section512(t *testing.T) {
	got, err := payload.DecodeSenMLJSON([]byte(section512a), now)
	require.NoError(t, err)
	assert.Equal(t, []payload.Sample{
		{Name: "urn:dev:ow:10e2073a01080063:voltage", Unit: "V", Value: 120.1},
		{Name: "urn:dev:ow:10e2073a01080063:current", Unit: "A", Value: 1.2},
	}, got)
}

// currents is what section 5.1.2's second example means once resolved.
func currents() []payload.Sample {
	const device = "urn:dev:ow:10e2073a0108006:"
	const at = 1276020076.001
	return []payload.Sample{
		{Name: device + "current", Unit: "A", Value: 1.2, Time: seconds(at - 5)},
		{Name: device + "current", Unit: "A", Value: 1.3, Time: seconds(at - 4)},
		{Name: device + "current", Unit: "A", Value: 1.4, Time: seconds(at - 3)},
		{Name: device + "current", Unit: "A", Value: 1.5, Time: seconds(at - 2)},
		{Name: device + "current", Unit: "A", Value: 1.6, Time: seconds(at - 1)},
		{Name: device + "voltage", Unit: "V", Value: 120.1, Time: seconds(at)},
		{Name: device + "current", Unit: "A", Value: 1.7, Time: seconds(at)},
	}
}

func TestSenMLRFC8428SeriesInBothEncodings(t *testing.T) {
	fromJSON, err := payload.DecodeSenMLJSON([]byte(section512b), now)
	require.NoError(t, err)
	assert.Equal(t, currents(), fromJSON)

	raw, err := hex.DecodeString(section6)
	require.NoError(t, err)
	fromCBOR, err := payload.DecodeSenMLCBOR(raw, now)
	require.NoError(t, err)
	assert.Equal(t, currents(), fromCBOR)
}

// One name, several quantities: the unit decides, and the series of one
// quantity comes as a whole.
func TestSenMLRFC8428Section513(t *testing.T) {
	got, err := payload.NewBody([]byte(section513), now).Samples(payload.Selector{
		Fits: func(unit string) bool { return unit == "%RH" },
	})
	require.NoError(t, err)
	const name, at = "urn:dev:ow:10e2073a01080063", 1320067464
	assert.Equal(t, []payload.Sample{
		{Name: name, Unit: "%RH", Value: 20, Time: seconds(at)},
		{Name: name, Unit: "%RH", Value: 20.3, Time: seconds(at + 60)},
		{Name: name, Unit: "%RH", Value: 20.7, Time: seconds(at + 120)},
		{Name: name, Unit: "%RH", Value: 21.2, Time: seconds(at + 180)},
	}, got)
}

func TestSenMLResolution(t *testing.T) {
	tests := map[string]struct {
		pack string
		want []payload.Sample
	}{
		"a relative time counts from now": {`[{"n": "a", "v": 1, "t": -30}]`,
			[]payload.Sample{{Name: "a", Value: 1, Time: now.Add(-30 * time.Second), Relative: true}}},
		"below 2^28 is relative": {`[{"n": "a", "v": 1, "t": 268435455}]`,
			[]payload.Sample{{Name: "a", Value: 1, Time: now.Add(268435455 * time.Second), Relative: true}}},
		"from 2^28 on it is absolute": {`[{"n": "a", "v": 1, "t": 268435456}]`,
			[]payload.Sample{{Name: "a", Value: 1, Time: time.Unix(1<<28, 0).UTC()}}},
		"base time and time add up before they are judged": {`[{"bt": 1780309800, "n": "a", "v": 1, "t": -60}]`,
			[]payload.Sample{{Name: "a", Value: 1, Time: time.Unix(1780309740, 0).UTC()}}},
		"base value adds": {`[{"bv": 20, "n": "a", "v": 1.5}]`,
			[]payload.Sample{{Name: "a", Value: 21.5}}},
		"a base holds until it is changed": {`[{"bn": "x:", "bu": "Cel", "n": "a", "v": 1}, {"bn": "y:", "n": "a", "v": 2}]`,
			[]payload.Sample{{Name: "x:a", Unit: "Cel", Value: 1}, {Name: "y:a", Unit: "Cel", Value: 2}}},
		"other values are no readings": {`[{"n": "a", "vs": "up"}, {"n": "b", "vb": true}, {"n": "c", "vd": "aGk"}, {"n": "d", "s": 4}, {"n": "e", "v": 5}]`,
			[]payload.Sample{{Name: "e", Value: 5}}},
		"unknown fields are ignored": {`[{"n": "a", "v": 1, "colour": "blue", "ut": 60}]`,
			[]payload.Sample{{Name: "a", Value: 1}}},
		"version 10 is today's": {`[{"bver": 10, "n": "a", "v": 1}]`,
			[]payload.Sample{{Name: "a", Value: 1}}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			got, err := payload.DecodeSenMLJSON([]byte(tt.pack), now)
			require.NoError(t, err)
			assert.Equal(t, tt.want, got)
		})
	}
}

func TestSenMLJSONRefuses(t *testing.T) {
	tests := map[string]struct {
		pack string
		want payload.Reason
	}{
		"an object":           {`{"n": "a", "v": 1}`, payload.BadSenML},
		"no records":          {`[]`, payload.BadSenML},
		"a number":            {`[5]`, payload.BadSenML},
		"no name":             {`[{"v": 1}]`, payload.BadSenML},
		"name begins with -":  {`[{"n": "-a", "v": 1}]`, payload.BadSenML},
		"space in the name":   {`[{"n": "a b", "v": 1}]`, payload.BadSenML},
		"two values":          {`[{"n": "a", "v": 1, "vb": true}]`, payload.BadSenML},
		"text as value":       {`[{"n": "a", "v": "1"}]`, payload.BadSenML},
		"number as name":      {`[{"n": 1, "v": 1}]`, payload.BadSenML},
		"no truth":            {`[{"n": "a", "vb": 1}]`, payload.BadSenML},
		"null as value":       {`[{"n": "a", "v": null}]`, payload.Null},
		"newer version":       {`[{"bver": 11, "n": "a", "v": 1}]`, payload.SenMLVersion},
		"must be understood":  {`[{"n": "a", "v": 1, "x_": 3}]`, payload.MustUnderstand},
		"understood nowhere":  {`[{"n": "a", "v": 1}, {"n": "b", "v": 1, "y_": 3}]`, payload.MustUnderstand},
		"a name twice":        {`[{"n": "a", "n": "b", "v": 1}]`, payload.DuplicateKey},
		"too large":           {`[{"n": "a", "v": 1e999}]`, payload.Overflow},
		"too large together":  {`[{"bv": 1e308, "n": "a", "v": 1e308}]`, payload.Overflow},
		"a time out of time":  {`[{"n": "a", "v": 1, "t": 1e30}]`, payload.BadTime},
		"a time before times": {`[{"n": "a", "v": 1, "t": -1e30}]`, payload.BadTime},
		"not JSON":            {`[{`, payload.BadJSON},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			got, err := payload.DecodeSenMLJSON([]byte(tt.pack), now)
			require.Error(t, err)
			assert.Empty(t, got)
			assert.Equal(t, tt.want, payload.ReasonOf(err), err.Error())
			assert.Equal(t, 1, strings.Count(err.Error(), "read payload"), err.Error())
		})
	}
}

func TestSenMLCBOR(t *testing.T) {
	tests := map[string]struct {
		pack   string // hexadecimal
		want   float64
		reason payload.Reason
	}{
		"an integer":                     {pack: "81a200616102182a", want: 42},
		"a negative integer":             {pack: "81a20061610220", want: -1},
		"a half-precision float":         {pack: "81a200616102f93e00", want: 1.5},
		"an array of indefinite length":  {pack: "9fa200616102182aff", want: 42},
		"a record of indefinite length":  {pack: "81bf00616102182aff", want: 42},
		"names for labels":               {pack: "81a2616e61616176182a", want: 42},
		"273.15 as a decimal fraction":   {pack: "81a200616102c48221196ab3", want: 273.15}, // RFC 8949, section 3.4.4, its own example: C4 82 21 19 6AB3 [M]
		"a label twice":                  {pack: "81a300616102182a02182b", reason: payload.DuplicateKey},
		"a label and its name":           {pack: "81a300616102182a6176182b", reason: payload.DuplicateKey},
		"not a number":                   {pack: "81a200616102f97e00", reason: payload.NaN},
		"infinite":                       {pack: "81a200616102f97c00", reason: payload.Infinite},
		"null":                           {pack: "81a200616102f6", reason: payload.Null},
		"a bignum":                       {pack: "81a200616102c2490100000000000000ff", reason: payload.BadSenML},
		"a monstrous fraction":           {pack: "81a200616102c4821a7fffffff01", reason: payload.Overflow},
		"must be understood":             {pack: "81a300616102182a62785f01", reason: payload.MustUnderstand},
		"bytes after the pack":           {pack: "81a200616102182a00", reason: payload.BadCBOR},
		"cut off":                        {pack: "81a2006161", reason: payload.BadCBOR},
		"says that it has 2^32 records":  {pack: "9affffffff", reason: payload.BadCBOR},
		"a map":                          {pack: "a200616102182a", reason: payload.BadCBOR},
		"nested without end":             {pack: strings.Repeat("81", 100) + "00", reason: payload.TooDeep},
		"invalid UTF-8 in the name":      {pack: "81a20061ff02182a", reason: payload.BadCBOR},
		"data that is no byte string":    {pack: "81a20061610861ab", reason: payload.BadCBOR},
		"data that is text":              {pack: "81a2006161086162", reason: payload.BadSenML},
		"an unknown integer is no field": {pack: "81a300616102182a186301", want: 42},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			raw, err := hex.DecodeString(tt.pack)
			require.NoError(t, err)
			got, err := payload.DecodeSenMLCBOR(raw, now)
			if tt.reason != "" {
				require.Error(t, err)
				assert.Empty(t, got)
				assert.Equal(t, tt.reason, payload.ReasonOf(err), err.Error())
				return
			}
			require.NoError(t, err)
			assert.Equal(t, []payload.Sample{{Name: "a", Value: tt.want}}, got)
		})
	}
}

// resolvedRecord is a record after resolution, in both encodings.
type resolvedRecord struct {
	Name  string   `json:"n" cbor:"0,keyasint"`
	Unit  string   `json:"u,omitempty" cbor:"1,keyasint,omitempty"`
	Value float64  `json:"v" cbor:"2,keyasint"`
	Time  *float64 `json:"t,omitempty" cbor:"6,keyasint,omitempty"`
}

func resolved(samples []payload.Sample) []resolvedRecord {
	records := make([]resolvedRecord, len(samples))
	for i, s := range samples {
		records[i] = resolvedRecord{Name: s.Name, Unit: s.Unit, Value: s.Value}
		if !s.Time.IsZero() {
			at := float64(s.Time.UnixMicro()) / 1e6
			records[i].Time = &at
		}
	}
	return records
}

func mustCBOR(t testing.TB, v any) []byte {
	t.Helper()
	raw, err := cbor.Marshal(v)
	require.NoError(t, err)
	return raw
}
