package payload_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/ingest/payload"
)

func TestNumberAccepts(t *testing.T) {
	tests := map[string]struct {
		value float64
		unit  string
	}{
		"21.5":             {21.5, ""},
		" 21.5\r\n":        {21.5, ""},
		"21.5\x00":         {21.5, ""},
		"-40":              {-40, ""},
		"+3":               {3, ""},
		"1.4e3":            {1400, ""},
		"1.4E-3":           {0.0014, ""},
		".5":               {0.5, ""},
		"5.":               {5, ""},
		"21.5 °C":          {21.5, "°C"},
		"52.1%":            {52.1, "%"},
		"1.38 mS/cm":       {1.38, "mS/cm"},
		"410 W/m2":         {410, "W/m2"},
		"3 e":              {3, "e"},
		"0.1234567890123e": {0.1234567890123, "e"},
	}
	for text, want := range tests {
		t.Run(text, func(t *testing.T) {
			got, err := payload.Number(text)
			require.NoError(t, err)
			assert.Equal(t, payload.Sample{Value: want.value, Unit: want.unit}, got)
		})
	}
}

func TestNumberRefuses(t *testing.T) {
	tests := map[string]payload.Reason{
		"":                        payload.Empty,
		" \t\n":                   payload.Empty,
		"\x00":                    payload.Empty,
		"5,8":                     payload.CommaDecimal,
		"-0,5":                    payload.CommaDecimal,
		"1,234.5":                 payload.CommaDecimal,
		",5":                      payload.CommaDecimal,
		"5,8 pH":                  payload.CommaDecimal,
		"nan":                     payload.NaN,
		"NaN":                     payload.NaN,
		"-nan":                    payload.NaN,
		"1.#QNAN":                 payload.NaN,
		"inf":                     payload.Infinite,
		"-Infinity":               payload.Infinite,
		"1.#INF":                  payload.Infinite,
		"null":                    payload.Null,
		"None":                    payload.Null,
		"unavailable":             payload.Unavailable,
		"unknown":                 payload.Unavailable,
		"--":                      payload.Unavailable,
		"N/A":                     payload.Unavailable,
		"true":                    payload.NotANumber,
		"1.2.3":                   payload.NotANumber,
		"1 234":                   payload.NotANumber,
		"1_000":                   payload.NotANumber,
		"0x1F":                    payload.NotANumber,
		"1'000":                   payload.NotANumber,
		"12-05":                   payload.NotANumber,
		"t=21.5":                  payload.NotANumber,
		"21.5 degrees of warmth":  payload.NotANumber,
		"\xff\xfe2":               payload.NotANumber,
		"1e999":                   payload.Overflow,
		"-1e999":                  payload.Overflow,
		strings.Repeat("9", 100):  payload.Overflow,
		`{"value": 21.5}`:         payload.WrongFormat,
		"\u221221.5":              payload.NotANumber, // a minus sign that is not ASCII
		"\u0665":                  payload.NotANumber, // a digit that is not ASCII
		"21.5 °C, 40 % and so on": payload.NotANumber,
	}
	for text, want := range tests {
		t.Run(text, func(t *testing.T) {
			got, err := payload.Number(text)
			require.Error(t, err)
			assert.Zero(t, got)
			assert.Equal(t, want, payload.ReasonOf(err), err.Error())
		})
	}
}

// Whatever a C printf or a Go formatter makes of a float comes back exactly.
func TestNumberReadsEveryPrintedFloat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e300, 1e300).Draw(t, "x")
		verb := rapid.SampledFrom([]byte{'g', 'e', 'E', 'G'}).Draw(t, "verb")
		got, err := payload.Number(strconv.FormatFloat(x, verb, -1, 64))
		if err != nil || got.Value != x {
			t.Fatalf("%g came back as %g, %v", x, got.Value, err)
		}
	})
}

// A decimal comma never turns into a number, wherever it stands.
func TestNumberNeverReadsAComma(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		whole := rapid.StringMatching(`[+-]?[0-9]{0,6}`).Draw(t, "whole")
		part := rapid.StringMatching(`[0-9]{1,6}`).Draw(t, "part")
		got, err := payload.Number(whole + "," + part)
		if err == nil || got != (payload.Sample{}) {
			t.Fatalf("%s,%s was read as %g", whole, part, got.Value)
		}
	})
}

func FuzzNumber(f *testing.F) {
	for _, seed := range []string{"21.5", "5,8", "1e3", "nan", "-127", "21.5 °C", "1.#INF", "0x1", "\x00"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, err := payload.Number(text)
		if err != nil {
			requireRefused(t, err)
			require.Zero(t, got)
			return
		}
		require.False(t, math.IsNaN(got.Value) || math.IsInf(got.Value, 0))
		again, err := payload.Number(strconv.FormatFloat(got.Value, 'g', -1, 64) + " " + got.Unit)
		require.NoError(t, err)
		require.Equal(t, got, again)
	})
}
