package capture

import (
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
)

func message(at time.Time, topic, payload string) ingest.Record {
	return ingest.Record{Message: ingest.Message{Arrived: at, Topic: topic, Payload: []byte(payload)}}
}

var noon = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

func TestDecode(t *testing.T) {
	flagged := message(noon, "yard/a", "52.0")
	flagged.Message.Retained, flagged.Message.Duplicate = true, true
	placed := message(noon, "yard/a", "52.0")
	placed.Message.Taken = noon.Add(-time.Hour)
	placed.Gaps = []ingest.Gap{{From: noon.Add(-2 * time.Hour), To: noon.Add(-time.Hour)}, {From: noon.Add(-time.Minute), To: noon.Add(-time.Second)}}
	placed.Backlog, placed.Place = 7, 2
	tests := map[string]struct {
		line string
		want ingest.Record
	}{
		"as the design writes it": {
			`{"tst": "2026-06-01T12:00:00+00:00", "topic": "yard/a", "qos": 1, "retain": 0, "payloadlen": 4, "payload": "52.0"}`,
			message(noon, "yard/a", "52.0")},
		"Z":                   {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":"52.0"}`, message(noon, "yard/a", "52.0")},
		"another zone":        {`{"tst":"2026-06-01T14:30:00+02:30","topic":"yard/a","payload":"52.0"}`, message(noon, "yard/a", "52.0")},
		"fraction, bare zone": {`{"tst":"2026-06-01T14:00:00.000001+0200","topic":"yard/a","payload":"52.0"}`, message(noon.Add(time.Microsecond), "yard/a", "52.0")},
		// As mosquitto_sub 2.0.11 writes with -F %j and -F %J.
		"mosquitto_sub %j":       {`{"tst":"2026-06-01T14:00:00.000001Z+0200","topic":"yard/a","qos":0,"retain":0,"payloadlen":4,"payload":"52.0"}`, message(noon.Add(time.Microsecond), "yard/a", "52.0")},
		"mosquitto_sub %J":       {`{"tst":"2026-06-01T12:00:00.000000Z+0000","topic":"yard/b","qos":0,"retain":0,"payloadlen":11,"payload":{"ec":1.4}}`, message(noon, "yard/b", `{"ec":1.4}`)},
		"mosquitto_sub, nothing": {`{"tst":"2026-06-01T12:00:00.000000Z+0000","topic":"yard/c","qos":0,"retain":0,"payloadlen":0,"payload":null}`, message(noon, "yard/c", "")},
		"nanoseconds":            {`{"tst":"2026-06-01T12:00:00.000000001Z","topic":"yard/a","payload":"52.0"}`, message(noon.Add(1), "yard/a", "52.0")},
		"keys in another order":  {`{"payload":"52.0","topic":"yard/a","mid":4,"tst":"2026-06-01T12:00:00Z"}`, message(noon, "yard/a", "52.0")},
		"a number":               {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":52.0}`, message(noon, "yard/a", "52.0")},
		"an object as it is":     {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":{"ec": 1.40}}`, message(noon, "yard/a", `{"ec": 1.40}`)},
		"true":                   {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":true}`, message(noon, "yard/a", "true")},
		"null":                   {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":null}`, message(noon, "yard/a", "")},
		"empty":                  {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":""}`, message(noon, "yard/a", "")},
		"text of JSON":           {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":"{\"ec\": 1.40}"}`, message(noon, "yard/a", `{"ec": 1.40}`)},
		"bytes":                  {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload_base64":"AP+A"}`, message(noon, "yard/a", "\x00\xff\x80")},
		"flags":                  {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":"52.0","retain":1,"dup":true}`, flagged},
		"a backlog": {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":"52.0","taken":"2026-06-01T11:00:00Z",` +
			`"gaps":[["2026-06-01T10:00:00Z","2026-06-01T11:00:00Z"],["2026-06-01T11:59:00Z","2026-06-01T11:59:59Z"]],"backlog":7,"place":2}`, placed},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			got, err := Decode([]byte(tt.line))
			require.NoError(t, err)
			assert.Equal(t, string(tt.want.Message.Payload), string(got.Message.Payload))
			got.Message.Payload, tt.want.Message.Payload = nil, nil
			assert.Equal(t, tt.want, got)
		})
	}
}

func TestDecodeRefuses(t *testing.T) {
	tests := map[string]struct{ line, want string }{
		"no JSON":         {`tst=2026`, "invalid character"},
		"an array":        {`[1]`, "cannot unmarshal array"},
		"no time":         {`{"topic":"yard/a","payload":"1"}`, `no "tst"`},
		"no topic":        {`{"tst":"2026-06-01T12:00:00Z","payload":"1"}`, `no "topic"`},
		"no payload":      {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a"}`, `no "payload"`},
		"a local time":    {`{"tst":"2026-06-01T12:00:00","topic":"yard/a","payload":"1"}`, "for example 2026-06-01T00:00:00Z"},
		"seconds":         {`{"tst":1780000000,"topic":"yard/a","payload":"1"}`, "tst"},
		"the year 9999":   {`{"tst":"9999-06-01T12:00:00Z","topic":"yard/a","payload":"1"}`, "between 1970 and 2261"},
		"half a gap":      {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":"1","gaps":[["","2026-06-01T12:00:00Z"]]}`, "gaps"},
		"a lone place":    {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":"1","place":3}`, "count from 1"},
		"bad base64":      {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload_base64":"?"}`, "payload_base64"},
		"a flag of 2":     {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":"1","retain":2}`, "0, 1, false or true"},
		"not UTF-8":       {"{\"tst\":\"2026-06-01T12:00:00Z\",\"topic\":\"yard/a\",\"payload\":\"\xff\"}", "UTF-8"},
		"two on one line": {`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":"1"} {}`, "after top-level value"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			got, err := Decode([]byte(tt.line))
			assert.ErrorContains(t, err, tt.want)
			assert.Zero(t, got)
		})
	}
}

func TestEncodeWritesWhatTheDesignSays(t *testing.T) {
	got, err := Encode(nil, message(noon.Add(time.Millisecond), "yard/a", `<5 & "wet"`))
	require.NoError(t, err)
	assert.Equal(t, `{"tst":"2026-06-01T12:00:00.001Z","topic":"yard/a","payload":"<5 & \"wet\""}`+"\n", string(got))
}

func lines(n int) string {
	var out strings.Builder
	w := NewWriter(&out)
	for i := range n {
		if err := w.Write(message(noon.Add(time.Duration(i)*time.Second), "yard/a4/moisture", "52.0")); err != nil {
			panic(err)
		}
	}
	if err := w.Flush(); err != nil {
		panic(err)
	}
	return out.String()
}

func compress(text string) []byte {
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	_, _ = w.Write([]byte(text))
	_ = w.Close()
	return out.Bytes()
}

// readAll reads until the end or an error that ends the capture.
func readAll(t *testing.T, name string, data []byte) (n int, errs []error) {
	t.Helper()
	r, err := NewReader(name, bytes.NewReader(data))
	require.NoError(t, err)
	for {
		_, err := r.Next()
		switch {
		case err == nil:
			n++
		case errors.Is(err, io.EOF):
			return n, errs
		default:
			var line *LineError
			require.ErrorAs(t, err, &line)
			if errs = append(errs, err); line.Final {
				return n, errs
			}
		}
	}
}

func TestCompressionIsKnownByContent(t *testing.T) {
	dir := t.TempDir()
	for name, data := range map[string][]byte{"plain.ndjson.gz": []byte(lines(3)), "packed.ndjson": compress(lines(3))} {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, data, 0o600))
		r, err := OpenAs(path, path)
		require.NoError(t, err)
		for i := range 3 {
			rec, err := r.Next()
			require.NoError(t, err)
			assert.EqualValues(t, i+1, rec.Seq)
		}
		_, err = r.Next()
		assert.Equal(t, io.EOF, err)
		require.NoError(t, r.Close())
	}
	_, err := OpenAs(filepath.Join(dir, "missing"), "missing")
	assert.ErrorIs(t, err, os.ErrNotExist)
}

func TestABadLineIsNamedAndTheRestIsRead(t *testing.T) {
	text := lines(2) + "\n  \nnonsense\n" + lines(1) + strings.Repeat("x", MaxLine+1) + "\n" + lines(2)
	n, errs := readAll(t, "yard.ndjson", []byte(text))
	assert.Equal(t, 5, n)
	require.Len(t, errs, 2)
	assert.ErrorContains(t, errs[0], "yard.ndjson:5: ")
	assert.ErrorContains(t, errs[0], "a line looks like")
	assert.ErrorContains(t, errs[1], "yard.ndjson:7: the line is longer than 1048576 bytes")
	var line *LineError
	assert.ErrorAs(t, errs[0], &line)
}

func TestALineThatBreaksOffIsSaidTo(t *testing.T) {
	whole := lines(1)
	n, errs := readAll(t, "yard.ndjson", []byte(lines(1)+whole[:30]+"\r\n"+lines(1)))
	assert.Equal(t, 2, n)
	require.Len(t, errs, 1)
	assert.ErrorContains(t, errs[0], "yard.ndjson:2: the line breaks off;")
}

func TestALongLineIsRead(t *testing.T) {
	long := message(noon, "yard/a", strings.Repeat("9", 200_000))
	text, err := Encode(nil, long)
	require.NoError(t, err)
	r, err := NewReader("long", bytes.NewReader(text))
	require.NoError(t, err)
	got, err := r.Next()
	require.NoError(t, err)
	assert.Equal(t, long.Message, got.Message)
}

func TestTruncation(t *testing.T) {
	whole := lines(1000)
	packed := compress(whole)
	for name, data := range map[string][]byte{"plain": []byte(whole[:len(whole)-20]), "packed": packed[:len(packed)-12]} {
		n, errs := readAll(t, name, data)
		require.NotEmpty(t, errs, name)
		require.ErrorIs(t, errs[len(errs)-1], ErrTruncated, name)
		assert.ErrorContains(t, errs[0], "lines before it were read", name)
		assert.Greater(t, n, 0, name)
		assert.Less(t, n, 1001, name)
	}
	n, errs := readAll(t, "no line end", []byte(strings.TrimSuffix(whole, "\n")))
	assert.Equal(t, 1000, n, "a last line without an end is whole")
	assert.Empty(t, errs)

	damaged := bytes.Clone(packed)
	damaged[len(damaged)-6] ^= 0xff // the checksum (RFC 1952 §2.3.1)
	n, errs = readAll(t, "damaged", damaged)
	assert.Equal(t, 1000, n)
	require.Len(t, errs, 1)
	assert.ErrorIs(t, errs[0], gzip.ErrChecksum)
	assert.ErrorIs(t, errs[0], ErrTruncated, "what came before is used")

	damaged = bytes.Clone(packed)
	for i := len(damaged) / 2; i < len(damaged)/2+40; i++ {
		damaged[i] ^= 0xa5
	}
	n, errs = readAll(t, "damaged", damaged)
	require.NotEmpty(t, errs)
	assert.ErrorIs(t, errs[len(errs)-1], ErrTruncated)
	assert.Greater(t, n, 100)
}

// Whatever can be read can be written, and reads as the same again.
func FuzzDecode(f *testing.F) {
	f.Add([]byte(`{"tst": "2026-06-01T00:00:00+00:00", "topic": "annexe/a1/moisture", "qos": 1, "retain": 0, "payload": "52.0"}`))
	f.Add([]byte(`{"tst":"2026-06-01T12:00:00.5-0130","topic":"yard/a","payload":{"ec":1.4},"dup":1,"backlog":3,"place":1}`))
	f.Add([]byte(`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload_base64":"AP+A","taken":"2026-06-01T11:00:00Z"}`))
	f.Add([]byte(`{"tst":"2026-06-01T12:00:00Z","topic":"yard/a","payload":"\ud800","gaps":[["2026-06-01T11:00:00Z","2026-06-01T11:30:00Z"]]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		first, err := Decode(text)
		if err != nil {
			assert.Zero(t, first)
			return
		}
		written, err := Encode(nil, first)
		require.NoError(t, err)
		require.Equal(t, 1, bytes.Count(written, []byte("\n")), "one line")
		second, err := Decode(written)
		require.NoError(t, err)
		require.Equal(t, []byte(first.Message.Payload), []byte(second.Message.Payload))
		first.Message.Payload, second.Message.Payload = nil, nil
		require.Equal(t, first, second)
	})
}

// Any payload survives being written and read.
func FuzzEncode(f *testing.F) {
	f.Add("yard/a", []byte("52.0"))
	f.Add("yard/\u2028", []byte{0xff, 0, '\n'})
	f.Fuzz(func(t *testing.T, topic string, payload []byte) {
		topic = strings.ToValidUTF8(topic, "?") // MQTT-1.5.3-1
		if topic == "" {
			return
		}
		written, err := Encode(nil, message(noon, topic, string(payload)))
		require.NoError(t, err)
		got, err := Decode(written)
		require.NoError(t, err)
		require.Equal(t, topic, got.Message.Topic)
		require.Equal(t, string(payload), string(got.Message.Payload))
	})
}

func BenchmarkRead(b *testing.B) {
	data := []byte(lines(10_000))
	for b.Loop() {
		r, err := NewReader("bench", bytes.NewReader(data))
		require.NoError(b, err)
		for {
			if _, err := r.Next(); err != nil {
				require.Equal(b, io.EOF, err)
				break
			}
		}
	}
	b.ReportMetric(float64(b.N)*10_000/b.Elapsed().Seconds(), "lines/s")
}

func BenchmarkWrite(b *testing.B) {
	w := NewWriter(io.Discard)
	rec := message(noon, "yard/a4/moisture", "52.0")
	for b.Loop() {
		if err := w.Write(rec); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "lines/s")
}
