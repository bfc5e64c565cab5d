package main

import (
	"bytes"
	"encoding/json"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/design"
)

func TestSizeReadsWell(t *testing.T) {
	t.Parallel()
	tests := map[string][]string{
		"size-strawberry.txt": {"--crop", "strawberry", "--lay-flat", "170mm", "--plants", "50", "--latitude", "47", "--cover", "70%"},
		"size-what-if.txt":    {"--crop", "sweet pepper", "--diameter", "95mm", "--per-bag", "2", "--plants", "12", "--wick", "wool felt", "--wicks", "2", "--section", "1cm2", "--lift", "120mm", "--media", "coir", "--latitude", "33.9S", "--month", "jan", "--reservoir", "60L", "--away", "5"},
	}
	for name, args := range tests {
		t.Run(name, func(t *testing.T) {
			code, out, complaint := command(t, append([]string{"size"}, args...)...)
			require.Equal(t, exitDone, code, complaint)
			golden(t, name, out)
		})
	}
}

// A winter day so dim that nothing drinks is no day to size by, and is said to be.
func TestSizeByADimDay(t *testing.T) {
	t.Parallel()
	for _, latitude := range []string{"75", "60"} {
		code, out, complaint := command(t, "size", "--crop", "strawberry", "--plants", "10", "--per-bag", "5", "--latitude", latitude, "--month", "December")
		require.Equal(t, exitDone, code, complaint)
		assert.Contains(t, strings.Join(strings.Fields(out), " "), "sizes nothing: there is next to no sun in the middle of December")
		assert.NotContains(t, out, "– the demand")
	}
	_, out, _ := command(t, "size", "--crop", "strawberry", "--plants", "10", "--per-bag", "5", "--latitude", "60", "--month", "April")
	assert.NotContains(t, out, "sizes nothing")
}

// What is to buy of each is what is to buy in all, as printed, and little is not
// rounded up to half as much again.
func TestSizeAddsUp(t *testing.T) {
	t.Parallel()
	for name, args := range map[string][]string{
		"many": {"--crop", "strawberry", "--lay-flat", "170mm", "--plants", "50"},
		"one":  {"--crop", "basil", "--diameter", "110mm", "--length", "60cm"},
	} {
		t.Run(name, func(t *testing.T) {
			code, out, complaint := command(t, append([]string{"size"}, args...)...)
			require.Equal(t, exitDone, code, complaint)
			number := func(text string) float64 {
				x, err := strconv.ParseFloat(text, 64)
				require.NoError(t, err)
				return x
			}
			sum := 0.0
			for _, part := range regexp.MustCompile(`(\S+) L, loose`).FindAllStringSubmatch(out, -1) {
				sum += number(part[1])
			}
			total := regexp.MustCompile(`That is (\S+) L to buy`).FindStringSubmatch(out)
			require.Len(t, total, 2)
			assert.InDelta(t, number(total[1]), sum, 1e-9)
			code, out, _ = command(t, append([]string{"size", "--json"}, args...)...)
			require.Equal(t, exitDone, code)
			var doc struct {
				Media struct {
					Bought float64 `json:"bought_l"`
				}
			}
			require.NoError(t, json.Unmarshal([]byte(out), &doc))
			assert.GreaterOrEqual(t, sum, doc.Media.Bought)
			assert.Less(t, sum, 1.2*doc.Media.Bought)
		})
	}
}

// The place, the medium, the wick and the crop come from the site file by name.
func TestSizeFromASiteFile(t *testing.T) {
	t.Parallel()
	code, out, complaint := command(t, "size", "--site", "testdata/weak.yaml", "--json",
		"--crop", "strawberry", "--drink", "0.3L/d", "--per-bag", "4", "--length", "80cm", "--media", "mix", "--shrink", "10%", "--wick", "strip", "--lift", "60 mm", "--fill", "95%", "--spill", "0%")
	require.Equal(t, exitDone, code, complaint)
	var got struct {
		Latitude float64 `json:"latitude"`
		PerPlant float64 `json:"demand_per_plant_l_per_day"`
		Section  float64 `json:"section_cm2"`
		Media    struct {
			Filled float64 `json:"filled_l"`
			Bought float64 `json:"bought_l"`
			Parts  []struct{ Material string }
		}
		Bag struct {
			Volume float64 `json:"volume_l"`
		}
		Origins map[string]string
	}
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	assert.Equal(t, 47.0, got.Latitude)
	assert.InDelta(t, 0.3, got.PerPlant, 0.03, "as measured, on a day near the bright one")
	assert.InDelta(t, 8, got.Bag.Volume, 0.05, "four plants with 2 L each")
	assert.InDelta(t, got.Media.Filled/0.9, got.Media.Bought, 1e-6)
	assert.Len(t, got.Media.Parts, 2)
	assert.Equal(t, 1.0, got.Section, "the wick of the site file")
	assert.Equal(t, "worked out", got.Origins["diameter"])
}

// Wick and lift come from the site file where its bags of the crop share one and the
// command line gives none, and the answer says so.
func TestSizeTakesWickAndLiftFromASiteFile(t *testing.T) {
	t.Parallel()
	said := func(args ...string) string {
		code, out, complaint := command(t, append([]string{"size", "--plants", "12"}, args...)...)
		require.Equal(t, exitDone, code, complaint)
		return strings.Join(strings.Fields(out), " ")
	}
	peppers := []string{"--crop", "sweet pepper", "--per-bag", "2", "--site", "testdata/bench/site.yaml"}
	all := said(peppers...)
	assert.Contains(t, all, "material wedge site file")
	assert.Contains(t, all, "section of each 6 cm² site file")
	assert.Contains(t, all, "lift 70 mm from the solution to the base of the bag site file")
	assert.Contains(t, all, "a cover that lets in 70 % site file")
	own := said(append(peppers, "--section", "2cm2", "--lift", "50mm")...)
	assert.Contains(t, own, "material wedge site file")
	assert.Contains(t, own, "section of each 2 cm² given")
	assert.Contains(t, own, "lift 50 mm from the solution to the base of the bag given")
	assert.Contains(t, said(append(peppers, "--wick", "wool felt")...), "material wool felt given")
	assert.Contains(t, said(append(peppers, "--section", "2cm2", "--wicks", "2")...), "to the base of the bag worked out", "that is what is asked for")

	like := said("--crop", "sweet pepper", "--per-bag", "2", "--site", "../../deploy/site.yaml")
	assert.Contains(t, like, "lift 70 mm from the solution to the base of the bag site file", "of early-peppers, which are like them")

	slope := said("--crop", "strawberry", "--per-bag", "5", "--site", "testdata/weak.yaml")
	assert.Contains(t, slope, "material strip site file")
	assert.Contains(t, slope, "to the base of the bag worked out", "strawberries lie over two lifts")

	code, _, complaint := command(t, "size", "--crop", "tomato", "--per-bag", "3", "--site", "testdata/weak.yaml", "--margin", "20", "--lay-flat", "60mm", "--length", "1m")
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, strings.Join(strings.Fields(complaint), " "), "(the wick strip and the lift of 150 mm are from the site file; --wick and --lift set another)")
	_, _, complaint = command(t, "size", "--crop", "tomato", "--per-bag", "3", "--site", "testdata/weak.yaml", "--lay-flat", "60mm", "--length", "1m", "--root-room", "1L")
	assert.NotContains(t, complaint, "site file", "of which it has nothing")
}

// The pictures of a proposal, by the command's own words: drawn, not rendered,
// which the race detector makes slow.
func TestSizeDrawsTheProposal(t *testing.T) {
	t.Parallel()
	z := sizeCommand{Crop: "strawberry"}
	z.PerBag = 5
	need, err := z.requirement(&model.Site{})
	require.NoError(t, err)
	p, err := design.Size(need)
	require.NoError(t, err)
	drawn := z.subject(p).pictures()
	require.Len(t, drawn, 3)
	for _, d := range drawn {
		assert.NoError(t, d.figure.Validate())
		assert.Contains(t, d.figure.Title, "5 strawberry plants in a bag")
		var svg bytes.Buffer
		require.NoError(t, d.figure.SVG(&svg))
		assert.Greater(t, svg.Len(), 2000)
	}
}

// Every refusal is a usage error that says how to do it.
func TestSizeRefusals(t *testing.T) {
	t.Parallel()
	tests := map[string]struct {
		args []string
		says string
	}{
		"nothing":       {nil, "for example --crop strawberry"},
		"crop":          {[]string{"--crop", "moss"}, `no crop "moss": built in are strawberry`},
		"no width":      {[]string{"--crop", "basil"}, "for example --lay-flat 170mm"},
		"no unit":       {[]string{"--crop", "basil", "--lay-flat", "170"}, `for example "170 mm"`},
		"wrong unit":    {[]string{"--crop", "basil", "--lay-flat", "170L"}, "is a volume, not a length"},
		"negative":      {[]string{"--crop", "basil", "--length=-1m"}, "write it without the minus, for example 1m"},
		"no length":     {[]string{"--crop", "basil", "--length=0m"}, "not above 0"},
		"two widths":    {[]string{"--crop", "basil", "--lay-flat", "170mm", "--diameter", "108mm"}, "give one"},
		"contradiction": {[]string{"--crop", "basil", "--lay-flat", "170mm", "--length", "1m", "--volume", "20L"}, "leave out one"},
		"impossible":    {[]string{"--crop", "basil", "--diameter", "9m"}, "diameter: 9000 mm is impossible"},
		"no plants":     {[]string{"--crop", "basil", "--plants", "0"}, "is no count: give a whole number"},
		"medium":        {[]string{"--crop", "basil", "--diameter", "108mm", "--media", "gravel"}, `no medium "gravel": built in are coir`},
		"own medium":    {[]string{"--crop", "basil", "--diameter", "108mm", "--site", "testdata/weak.yaml", "--media", "gravel"}, "the site file has bark, mix"},
		"mix":           {[]string{"--crop", "basil", "--diameter", "108mm", "--media", "coir 50%, peat 40%"}, "add up to 90 %"},
		"mix of what":   {[]string{"--crop", "basil", "--diameter", "108mm", "--media", "coir 50%, gravel 50%"}, `no medium "gravel"`},
		"mix how much":  {[]string{"--crop", "basil", "--diameter", "108mm", "--media", "coir, peat"}, "how much of what"},
		"shrink":        {[]string{"--crop", "basil", "--diameter", "108mm", "--media", "coir", "--shrink", "8%"}, "coir is not one"},
		"lone shrink":   {[]string{"--crop", "basil", "--diameter", "108mm", "--shrink", "8%"}, "name it with --media"},
		"wick":          {[]string{"--crop", "basil", "--diameter", "108mm", "--wick", "rope"}, `no wick "rope"`},
		"latitude":      {[]string{"--crop", "basil", "--latitude", "north"}, "is not a latitude"},
		"month":         {[]string{"--crop", "basil", "--month", "ju"}, "is not a month"},
		"days":          {[]string{"--crop", "basil", "--away", "0"}, "not above 0"},
		"share":         {[]string{"--crop", "basil", "--fill", "130%"}, "between 0 and 100"},
		"margin":        {[]string{"--crop", "basil", "--margin", "lots"}, "is not a number"},
		"too far":       {[]string{"--crop", "basil", "--diameter", "108mm", "--lift", "45cm"}, "underside"},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			code, out, complaint := command(t, append([]string{"size"}, c.args...)...)
			assert.Equal(t, exitUsage, code)
			assert.Empty(t, out)
			assert.Contains(t, complaint, c.says)
		})
	}
	code, _, complaint := command(t, "size", "--crop", "basil", "--site", "testdata/nowhere.yaml")
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, complaint, "read site file")
}

func TestFiguresOfTheCommandLine(t *testing.T) {
	var l latitudeFlag
	for text, want := range map[string]float64{"47": 47, "47N": 47, "33.9 S": -33.9, "-33.9": -33.9, "60.2° n": 60.2} {
		require.NoError(t, l.UnmarshalText([]byte(text)), text)
		assert.Equal(t, want, l.value, text)
	}
	for _, text := range []string{"91", "-33S", "S", ""} {
		assert.Error(t, l.UnmarshalText([]byte(text)), text)
	}
	var m monthFlag
	for text, want := range map[string]int{"June": 6, "jun": 6, "12": 12, "SEPTEMBER": 9} {
		require.NoError(t, m.UnmarshalText([]byte(text)), text)
		assert.Equal(t, want, int(m), text)
	}
	var d daysFlag
	for text, want := range map[string]float64{"7": 7, "7 d": 7, "36 h": 1.5} {
		require.NoError(t, d.UnmarshalText([]byte(text)), text)
		assert.InDelta(t, want, d.value, 1e-12, text)
	}
}
