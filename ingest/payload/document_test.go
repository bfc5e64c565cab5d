package payload_test

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/ingest/payload"
)

// RFC 6901, section 5: its document and its pointers [M: text not at hand, but
// short and well known; every value is an exact integer].
const rfc6901 = `{"foo": ["bar", "baz"], "": 0, "a/b": 1, "c%d": 2, "e^f": 3, "g|h": 4, "i\\j": 5, "k\"l": 6, " ": 7, "m~n": 8}`

func TestPointerRFC6901Section5(t *testing.T) {
	tests := map[string]float64{
		"/": 0, "/a~1b": 1, "/c%d": 2, "/e^f": 3, "/g|h": 4, `/i\j`: 5, `/k"l`: 6, "/ ": 7, "/m~0n": 8,
	}
	for pointer, want := range tests {
		t.Run(pointer, func(t *testing.T) {
			got, err := payload.Document([]byte(rfc6901), mustPointer(t, pointer), nil)
			require.NoError(t, err)
			assert.Equal(t, payload.Sample{Value: want}, got)
		})
	}
	for _, pointer := range []string{"", "/foo", "/foo/0"} {
		_, err := payload.Document([]byte(rfc6901), mustPointer(t, pointer), nil)
		assert.Equal(t, payload.NotANumber, payload.ReasonOf(err), "%q is the document, an array and a word", pointer)
	}
}

func TestPointerSyntax(t *testing.T) {
	for _, bad := range []string{"foo", "#/foo", "/~", "/~2", "/a~", "/a~/b"} {
		_, err := payload.ParsePointer(bad)
		assert.ErrorContains(t, err, strconv.Quote(bad))
	}
	// Section 4: "~01" is "~1" after unescaping, never "/" [M].
	got, err := payload.Document([]byte(`{"~1": 1, "/": 2}`), mustPointer(t, "/~01"), nil)
	require.NoError(t, err)
	assert.EqualValues(t, 1, got.Value)
}

func TestPointerArrayIndex(t *testing.T) {
	document := []byte(`{"a": [10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20], "01": 1}`)
	tests := map[string]float64{"/a/0": 10, "/a/10": 20, "/01": 1}
	for pointer, want := range tests {
		got, err := payload.Document(document, mustPointer(t, pointer), nil)
		require.NoError(t, err, pointer)
		assert.Equal(t, want, got.Value, pointer)
	}
	for _, pointer := range []string{"/a/01", "/a/-", "/a/11", "/a/-1", "/a/+1", "/a/", "/a/1e0", "/a/99999999999999999999", "/a/0/0", "/b"} {
		_, err := payload.Document(document, mustPointer(t, pointer), nil)
		assert.Equal(t, payload.NotFound, payload.ReasonOf(err), pointer)
	}
}

func TestDocumentRefuses(t *testing.T) {
	tests := map[string]struct {
		document string
		want     payload.Reason
	}{
		"empty":            {"", payload.Empty},
		"a bare word":      {"unavailable", payload.BadJSON},
		"cut off":          {`{"v": 1`, payload.BadJSON},
		"two texts":        {`{"v": 1} {"v": 2}`, payload.BadJSON},
		"trailing comma":   {`{"v": 1,}`, payload.BadJSON},
		"a comma decimal":  {`{"v": "5,8"}`, payload.CommaDecimal},
		"null":             {`{"v": null}`, payload.Null},
		"a truth":          {`{"v": true}`, payload.NotANumber},
		"an object":        {`{"v": {}}`, payload.NotANumber},
		"a word":           {`{"v": "unavailable"}`, payload.Unavailable},
		"twice":            {`{"v": 1, "v": 2}`, payload.DuplicateKey},
		"twice elsewhere":  {`{"v": 1, "x": {"a": 1, "\u0061": 2}}`, payload.DuplicateKey},
		"huge":             {`{"v": 1e400}`, payload.Overflow},
		"many digits":      {`{"v": ` + strings.Repeat("1", 500) + `}`, payload.Overflow},
		"deep":             {`{"v": 1, "x": ` + strings.Repeat("[", 40) + strings.Repeat("]", 40) + `}`, payload.TooDeep},
		"bottomless":       {strings.Repeat("[", 60000), payload.BadJSON},
		"not UTF-8":        {"{\"v\": 1, \"x\": \"\xff\"}", payload.BadJSON},
		"not in this one":  {`{"w": 1}`, payload.NotFound},
		"NaN unquoted":     {`{"v": NaN}`, payload.BadJSON},
		"the empty string": {`{"v": ""}`, payload.Empty},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			got, err := payload.Document([]byte(tt.document), mustPointer(t, "/v"), nil)
			require.Error(t, err)
			assert.Zero(t, got)
			assert.Equal(t, tt.want, payload.ReasonOf(err), err.Error())
		})
	}
}

func TestDocumentTime(t *testing.T) {
	want := time.Date(2026, 6, 1, 10, 30, 0, 0, time.UTC)
	tests := map[string]time.Time{
		`"2026-06-01T10:30:00Z"`:      want,
		`"2026-06-01T12:30:00+02:00"`: want,
		`1780309800`:                  want, // date -u -d 2026-06-01T10:30:00Z +%s
		`1780309800000`:               want,
		`1780309800.25`:               want.Add(250 * time.Millisecond),
		`null`:                        {},
		`0`:                           time.Unix(0, 0).UTC(), // a clock that was never set; whether to believe it is not decided here
	}
	clock := mustPointer(t, "/at")
	for moment, want := range tests {
		t.Run(moment, func(t *testing.T) {
			got, err := payload.Document(fmt.Appendf(nil, `{"v": 1.5, "at": %s}`, moment), mustPointer(t, "/v"), &clock)
			require.NoError(t, err)
			assert.Equal(t, payload.Sample{Value: 1.5, Time: want}, got)
		})
	}
	for _, moment := range []string{`"yesterday"`, `true`, `{}`, `"5,8"`, `1e300`} {
		_, err := payload.Document(fmt.Appendf(nil, `{"v": 1.5, "at": %s}`, moment), mustPointer(t, "/v"), &clock)
		assert.Equal(t, payload.BadTime, payload.ReasonOf(err), moment)
	}
	for _, moment := range []string{"2026-11-28T00:30:00", "2026-11-28 00:30:00", "2026-11-28T00:30", "2026-11-28 00:30"} {
		_, err := payload.Document(fmt.Appendf(nil, `{"v": 1.5, "at": %q}`, moment), mustPointer(t, "/v"), &clock)
		assert.Equal(t, payload.BadTime, payload.ReasonOf(err), moment)
		assert.ErrorContains(t, err, "does not say of which zone it is: end it with Z")
	}
	got, err := payload.Document([]byte(`{"v": 1.5}`), mustPointer(t, "/v"), &clock)
	require.NoError(t, err)
	assert.Equal(t, payload.Sample{Value: 1.5}, got)
}

// Every member of any object is found by the pointer made of its escaped name.
func TestPointerFindsEveryName(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.SliceOfNDistinct(rapid.String(), 1, 5, rapid.ID).Draw(t, "names")
		object := map[string]int{}
		for i, name := range names {
			object[name] = i
		}
		document, err := json.Marshal(object)
		require.NoError(t, err)
		for i, name := range names {
			token := strings.ReplaceAll(strings.ReplaceAll(name, "~", "~0"), "/", "~1")
			pointer, err := payload.ParsePointer("/" + token)
			require.NoError(t, err)
			require.Equal(t, "/"+token, pointer.String())
			got, err := payload.Document(document, pointer, nil)
			require.NoError(t, err)
			require.EqualValues(t, i, got.Value)
		}
	})
}

func FuzzPointer(f *testing.F) {
	for _, seed := range []string{"", "/", "/a~1b/0", "/~01", "//", "a"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := payload.ParsePointer(text)
		if err != nil {
			require.Equal(t, payload.Pointer{}, p)
			return
		}
		require.Equal(t, text, p.String())
	})
}

// What Document reads, encoding/json reads too, at the same place. The oracle
// finds the place in its own way: it walks the unescaped tokens of String.
func FuzzDocument(f *testing.F) {
	f.Add([]byte(rfc6901), "/a~1b")
	f.Add([]byte(`{"data": {"ec": "1.38"}}`), "/data/ec")
	f.Add([]byte(`[1, [2, 3]]`), "/1/0")
	f.Add([]byte(`{"v": 1, "v": 2}`), "/v")
	f.Add([]byte(`5`), "")
	f.Fuzz(func(t *testing.T, document []byte, text string) {
		pointer, err := payload.ParsePointer(text)
		if err != nil {
			return
		}
		got, err := payload.Document(document, pointer, nil)
		if err != nil {
			requireRefused(t, err)
			require.Zero(t, got)
			return
		}
		var tree any
		require.NoError(t, json.Unmarshal([]byte(strings.TrimRight(string(document), "\x00")), &tree))
		switch want := walk(t, tree, text).(type) {
		case float64:
			require.Equal(t, want, got.Value)
		case string:
			again, err := payload.Number(want)
			require.NoError(t, err)
			require.Equal(t, again, got)
		default:
			t.Fatalf("%v was read as %v", want, got)
		}
	})
}

func walk(t *testing.T, tree any, pointer string) any {
	if pointer == "" {
		return tree
	}
	for _, token := range strings.Split(pointer[1:], "/") {
		token = strings.ReplaceAll(strings.ReplaceAll(token, "~1", "/"), "~0", "~")
		switch node := tree.(type) {
		case map[string]any:
			tree = node[token]
		case []any:
			i, err := strconv.Atoi(token)
			require.NoError(t, err)
			tree = node[i]
		}
	}
	return tree
}
