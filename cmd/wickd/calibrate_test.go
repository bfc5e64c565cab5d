package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
)

func calibrateArgs() map[string][]string {
	return map[string][]string{
		"probe": {"calibrate", "probe", "testdata/calibrate/probe.csv", "--volume", "9L", "--dry", "1.3kg"},
		"media": {"calibrate", "media", "testdata/calibrate/media.csv", "--height", "15cm", "--volume", "2.5L", "--scale", "2g"},
		"ec":    {"calibrate", "ec", "testdata/calibrate/ec.csv"},
		"ph":    {"calibrate", "ph", "testdata/calibrate/ph.csv"},
	}
}

func TestCalibrateText(t *testing.T) {
	for name, args := range calibrateArgs() {
		t.Run(name, func(t *testing.T) {
			code, out, complaint := command(t, args...)
			require.Zero(t, code, complaint)
			golden(t, "calibrate/"+name+".txt", out)
		})
	}
}

// after is the YAML that a calibration prints, without its indentation.
func after(t *testing.T, out string) []string {
	_, yaml, ok := strings.Cut(out, "Into the site file")
	require.True(t, ok, out)
	_, yaml, _ = strings.Cut(yaml, "\n\n")
	return strings.Split(strings.TrimRight(yaml, "\n"), "\n")
}

// What is printed to paste is taken by the reader of site files, and means what
// was measured.
func TestCalibrateYAMLPastes(t *testing.T) {
	site, err := os.ReadFile("testdata/bench/site.yaml")
	require.NoError(t, err)
	pasted := map[string]string{}
	for name, args := range calibrateArgs() {
		code, out, complaint := command(t, args...)
		require.Zero(t, code, complaint)
		var lines []string
		for _, l := range after(t, out) {
			lines = append(lines, strings.TrimSpace(l))
		}
		pasted[name] = strings.Join(lines, ", ")
	}
	_, out, _ := command(t, calibrateArgs()["media"]...)
	retention := after(t, out)[1:] // without its first line, the section's name
	text := string(site)
	for old, now := range map[string]string{
		`moisture: {topic: "bench/{id}/moisture", unit: "%"`:                       `moisture: {topic: "bench/{id}/moisture", ` + pasted["probe"],
		`ec: {topic: bench/tank/ec, unit: uS/cm, compensate: {coefficient: 2 %/K}`: `ph: {topic: bench/tank/ph, ` + pasted["ph"] + "}\n      ec: {topic: bench/tank/ec, " + pasted["ec"],
		"media:\n":   "media:\n" + strings.Join(retention, "\n") + "\n",
		"media: mix": "media: house-mix",
	} {
		require.Contains(t, text, old)
		text = strings.Replace(text, old, now, 1)
	}
	cfg, err := config.Parse("site.yaml", []byte(text))
	require.NoError(t, err, text)
	moisture := cfg.Site.Bags[0].Moisture
	require.Len(t, moisture.Calibration, 2)
	// The first weighing: 6420 g with 1300 g dry in 9 L is 56.9 % water.
	assert.InDelta(t, 1150, moisture.Calibration[0].Raw, 1e-9)
	assert.InDelta(t, 56.9, moisture.Calibration[0].Value, 0.3)
	retained := cfg.Site.Media["house-mix"].Retention
	require.NotNil(t, retained)
	// What the weights were made from: see the head of the file.
	assert.InDelta(t, 0.85, retained.Saturated, 0.001)
	assert.InEpsilon(t, 0.15, retained.Alpha, 0.1)
	assert.InDelta(t, 2, retained.N, 0.15)
	for _, s := range cfg.Site.Reservoirs[0].Sensors {
		if s.Quantity == "ec" {
			assert.True(t, s.CompensateTo25)
			assert.Len(t, s.Calibration, 2)
		}
	}
}

func TestCalibrateJSON(t *testing.T) {
	for name, args := range calibrateArgs() {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			code, out, complaint := command(t, append(args, "--json", "--plot", dir)...)
			require.Zero(t, code, complaint)
			var doc struct{ Pictures []string }
			require.NoError(t, json.Unmarshal([]byte(out), &doc))
			require.Len(t, doc.Pictures, 2)
			for _, p := range doc.Pictures {
				info, err := os.Stat(p)
				require.NoError(t, err)
				assert.Positive(t, info.Size())
			}
		})
	}
}

func TestCalibrateRefuses(t *testing.T) {
	file := func(text string) string {
		path := filepath.Join(t.TempDir(), "readings.csv")
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		return path
	}
	tests := map[string]struct {
		args []string
		code int
		want string
	}{
		"empty":           {[]string{"calibrate", "ec", file("")}, exitFailed, "its first line has to be: standard_ms_cm,temperature_c,reading"},
		"unknown column":  {[]string{"calibrate", "ph", file("buffer,celsius,reading\n")}, exitFailed, `readings.csv:1: "celsius" is not a column`},
		"missing column":  {[]string{"calibrate", "ph", file("buffer,reading\n7,7\n")}, exitFailed, `"temperature_c" is missing`},
		"millivolts":      {[]string{"calibrate", "ph", file("buffer,temperature_c,reading\n7,21,5\n4.01,21,178\n")}, exitUsage, "say so with --millivolts"},
		"no millivolts":   {[]string{"calibrate", "ph", "--millivolts", "testdata/calibrate/ph.csv"}, exitUsage, "leave --millivolts out"},
		"decimal comma":   {[]string{"calibrate", "ph", file("buffer,temperature_c,reading\n7,21,7,1\n")}, exitFailed, "readings.csv:2: 4 figures for 3 columns"},
		"not a number":    {[]string{"calibrate", "ec", file("standard_ms_cm,temperature_c,reading\n# fresh\n1.413,warm,1.2\n")}, exitFailed, "readings.csv:3: temperature_c"},
		"no such file":    {[]string{"calibrate", "ec", "nowhere.csv"}, exitFailed, "nowhere.csv"},
		"a directory":     {[]string{"calibrate", "probe", "testdata"}, exitFailed, "testdata: is a directory"},
		"weights unasked": {[]string{"calibrate", "probe", "testdata/calibrate/probe.csv"}, exitUsage, "--volume and --dry"},
		"percent unasked": {[]string{"calibrate", "probe", file("raw,water_percent\n512,20\n700,50\n"), "--volume", "9L", "--dry", "1300g"}, exitUsage, "leave them out"},
		"200 %":           {[]string{"calibrate", "probe", file("raw,water_percent\n512,200\n700,50\n")}, exitFailed, "readings.csv:2: water_percent is 200; it has to be from 0 to 100"},
		"half of it":      {[]string{"calibrate", "probe", "testdata/calibrate/probe.csv", "--volume", "9L"}, exitUsage, "both"},
		"wrong volume":    {[]string{"calibrate", "probe", "testdata/calibrate/probe.csv", "--volume", "3L", "--dry", "1300g"}, exitFailed, "check the weights"},
		"pounds":          {[]string{"calibrate", "probe", "testdata/calibrate/probe.csv", "--volume", "9L", "--dry", "3lb"}, exitUsage, "g or kg"},
		"no dry weight":   {[]string{"calibrate", "media", file("state,table_cm,weight_g\nsaturated,,2590\ndrained,0,1800\n"), "--height", "15cm", "--volume", "2.5L"}, exitFailed, "one dry weight"},
		"a state":         {[]string{"calibrate", "media", file("state,table_cm,weight_g\nsoaked,,2590\n"), "--height", "15cm", "--volume", "2.5L"}, exitFailed, "none of saturated, drained, dry"},
		"unlike":          {[]string{"calibrate", "media", "testdata/calibrate/media.csv", "--height", "15cm", "--volume", "2.5L", "--like", "gravel"}, exitUsage, "there are coir"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			code, out, complaint := command(t, tt.args...)
			assert.Equal(t, tt.code, code, complaint)
			assert.Contains(t, complaint, tt.want)
			if tt.code == exitFailed {
				assert.Empty(t, out)
			}
		})
	}
}

// A fit that nobody should use ends with 1, shows how far off each reading is,
// says what to measure again, and has no line to paste.
func TestCalibrateRefusesAHopelessFit(t *testing.T) {
	probe := []string{"calibrate", "probe", "testdata/calibrate/hopeless/probe.csv"}
	media := []string{"calibrate", "media", "testdata/calibrate/hopeless/media.csv", "--height", "15cm", "--volume", "2.5L"}
	tests := map[string]struct {
		args []string
		want string
	}{
		"flat":      {probe, "a flat line does as well"},
		"scattered": {[]string{"calibrate", "probe", "testdata/calibrate/hopeless/scattered.csv"}, "reading 4 lies farthest off, by -19.8 %: look at that one first"},
		"unmoved":   {[]string{"calibrate", "probe", "testdata/calibrate/hopeless/unmoved.csv"}, "moves by less than 1 %"},
		"gains":     {media, "a pot cannot gain water when it hangs higher"},
		"dead pH":   {[]string{"calibrate", "ph", "testdata/calibrate/hopeless/ph.csv"}, "the probe is dead: slope 6.6 % of Nernst"},
		"fouled EC": {[]string{"calibrate", "ec", "testdata/calibrate/hopeless/ec.csv"}, "the probe is strange: no line joins its readings, they lie up to 0."},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			code, out, complaint := command(t, tt.args...)
			assert.Equal(t, exitFailed, code)
			assert.Contains(t, complaint, "nothing to put into the site file")
			assert.Contains(t, complaint, tt.want)
			for _, yaml := range []string{"calibrate:", "retention:", "Into the site file"} {
				assert.NotContains(t, out, yaml)
			}
			assert.NotEmpty(t, out)
			code, out, _ = command(t, append(tt.args, "--json")...)
			assert.Equal(t, exitFailed, code)
			var doc map[string]any
			require.NoError(t, json.Unmarshal([]byte(out), &doc))
			assert.NotContains(t, doc, "calibrate")
		})
	}
}

// Spreadsheets part columns with semicolons or tabs where the comma is a decimal
// point, and some write a mark before the first line.
func TestSheetFromASpreadsheet(t *testing.T) {
	columns := []column{{name: "raw"}, {name: "weight_g"}}
	want := map[string]float64{"raw": 1150.5, "weight_g": 6420}
	for name, text := range map[string]string{
		"semicolons": "raw;weight_g\n1150,5;6420\n",
		"tabs":       "\ufeff# bag p2, one a day\nraw\tweight_g\n1150,5\t6420\n",
		"points":     "\n raw ; weight_g\r\n1150.5; 6420\r\n",
		"commas":     "\ufeffraw,weight_g\n1150.5,6420\n",
	} {
		t.Run(name, func(t *testing.T) {
			s, err := readSheet("f", strings.NewReader(text), columns)
			require.NoError(t, err)
			require.Len(t, s.rows, 1)
			assert.Equal(t, want, s.rows[0].numbers)
		})
	}
	_, err := readSheet("f", strings.NewReader("raw;weight_g\n1.150,5;6420\n"), columns)
	assert.ErrorContains(t, err, "f:2: raw")
}

// All mistakes of a sheet are told at once, each with its line, but not of a file that
// is another thing.
func TestSheetTellsAllItsMistakes(t *testing.T) {
	columns := []column{{name: "raw"}, {name: "weight_g"}}
	s, err := readSheet("f", strings.NewReader("raw,weight_g\n1,x\n2,6420\n3\n4,5,6\n"), columns)
	require.Empty(t, s.rows)
	require.ErrorContains(t, err, "f:2: weight_g: ")
	require.ErrorContains(t, err, "f:4: weight_g is missing")
	require.ErrorContains(t, err, "f:5: 3 figures for 2 columns")
	_, err = readSheet("f", strings.NewReader("raw,weight_g\n"+strings.Repeat("a,b\n", 100)), columns)
	assert.Len(t, strings.Split(err.Error(), "\n"), maxMistakes+1)
	assert.ErrorContains(t, err, "f: and 80 mistakes more")
}

// A person is asked, a mistake is asked again, and an empty answer ends it.
func TestAskSheet(t *testing.T) {
	columns := []column{{name: "buffer", question: "buffer"}, {name: "reading", question: "sent"}}
	var said bytes.Buffer
	s, err := askSheet(strings.NewReader("7.00\n7,1\n7.12\n4.01\n\n4.30\n\nignored\n"), &said, columns)
	require.NoError(t, err)
	require.Len(t, s.rows, 2)
	assert.Equal(t, map[string]float64{"buffer": 7, "reading": 7.12}, s.rows[0].numbers)
	assert.Equal(t, map[string]float64{"buffer": 4.01, "reading": 4.30}, s.rows[1].numbers)
	assert.Contains(t, said.String(), "has a comma")
	assert.Contains(t, said.String(), "reading is missing")
	cut, err := askSheet(strings.NewReader("7.00\n"), &said, columns)
	require.NoError(t, err)
	assert.Empty(t, cut.rows, "half a reading is none")
}

// A sheet that is taken holds, line by line, what was written; one that is
// refused leaves nothing.
func FuzzSheet(f *testing.F) {
	for _, s := range []string{"raw,weight_g\n1,2\n", "weight_g,raw\n2,1\n", "raw\n", "raw,weight_g\n1,nan\n", "raw,weight_g\n\"1\",2,3\n", "#\nraw,weight_g\n 1 ,2e3\n", "\xff,\"\n", "raw;weight_g\n1,5;2\n", "\ufeffraw\tweight_g\n1,5\t2.5\n", "# a;b\nraw;weight_g\n1;2,3,4\n"} {
		f.Add(s)
	}
	columns := []column{{name: "raw"}, {name: "weight_g"}, {name: "note", words: []string{"wet", "dry"}, optional: true}}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := readSheet("f", strings.NewReader(text), columns)
		if err != nil {
			require.Empty(t, s.rows)
			require.NotEmpty(t, err.Error())
			return
		}
		var again strings.Builder
		again.WriteString("raw,weight_g,note\n")
		for _, r := range s.rows {
			require.Contains(t, r.numbers, "raw")
			require.Contains(t, r.numbers, "weight_g")
			again.WriteString(digits17(r.numbers["raw"]) + "," + digits17(r.numbers["weight_g"]) + "," + r.words["note"] + "\n")
		}
		same, err := readSheet("f", strings.NewReader(again.String()), columns)
		require.NoError(t, err)
		require.Len(t, same.rows, len(s.rows))
		for i := range s.rows {
			require.Equal(t, s.rows[i].numbers, same.rows[i].numbers)
			require.Equal(t, s.rows[i].words, same.rows[i].words)
		}
	})
}

// digits17 writes a number so that reading gives it back.
func digits17(x float64) string {
	b, _ := json.Marshal(x)
	return string(b)
}
