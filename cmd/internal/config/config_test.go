package config_test

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
	"wickd/model"
)

func load(t testing.TB, file string) *config.Config {
	cfg, err := config.Load(file)
	require.NoError(t, err)
	return cfg
}

func TestGoodFilesLoad(t *testing.T) {
	for _, file := range goodFiles(t) {
		checkSite(t, load(t, file).Site)
	}
}

func TestExampleLoads(t *testing.T) {
	cfg := load(t, exampleFile)
	checkSite(t, cfg.Site)
	assert.Empty(t, cfg.Warnings)
	assert.Len(t, cfg.Site.Channels, 3)
	assert.Len(t, cfg.Site.Reservoirs, 2)
	assert.Len(t, cfg.Site.Bags, 12)
	assert.Equal(t, "Kestrel Yard", cfg.Site.Name)
	assert.NotNil(t, cfg.Influx)
	assert.Len(t, cfg.Notify.Recipients, 2)
}

// checkSite holds what every loaded site promises.
func checkSite(t require.TestingT, s *model.Site) {
	require.NotNil(t, s.TimeZone)
	require.NotEmpty(t, s.Bags)
	ids := map[string]bool{}
	for _, b := range s.Bags {
		require.False(t, ids[b.ID], "bag %s twice", b.ID)
		ids[b.ID] = true
		c, ok := s.ChannelByID(b.Channel)
		require.True(t, ok)
		_, ok = s.ReservoirByID(c.Reservoir)
		require.True(t, ok)
		require.Contains(t, s.Media, b.Media)
		require.Contains(t, s.Wicks, b.Wick)
		require.Contains(t, s.Crops, b.Crop)
		for _, x := range []float64{b.Diameter, b.Length, b.Fill, float64(b.Plants), float64(b.WickCount), c.Lift} {
			require.True(t, x > 0 && !math.IsInf(x, 0))
		}
		require.LessOrEqual(t, b.Fill, 1.0)
	}
	for _, r := range s.Reservoirs {
		require.Less(t, r.Empty, r.Full)
		require.True(t, r.Low >= r.Empty && r.Low < r.Full)
	}
	sources := map[[3]string]bool{}
	for _, sensor := range s.AllSensors() {
		key := [3]string{sensor.Topic, sensor.Pointer, sensor.Record}
		require.False(t, sources[key], "%v is read twice", key)
		sources[key] = true
		require.NotEmpty(t, sensor.Topic)
		require.False(t, strings.ContainsAny(sensor.Topic, "+#"))
		require.Less(t, sensor.Min, sensor.Max)
	}
}

func TestUnitsBecomeCanonical(t *testing.T) {
	s := load(t, "testdata/good-services.yaml").Site
	bag := s.Bags[0]
	assert.Equal(t, "a1", bag.ID)
	assert.InDelta(t, 0.4, bag.Canopy, 1e-12)
	assert.Equal(t, 0.97, bag.Fill)
	assert.Equal(t, 400.0, bag.Position)
	assert.Equal(t, time.Date(2026, 4, 10, 0, 0, 0, 0, time.UTC), bag.Planted)
	assert.Equal(t, 0.42, bag.DryLimit)
	assert.Equal(t, "/bags/a1/counts", bag.Moisture.Pointer)
	assert.Equal(t, model.Subject("bag/a1/moisture"), bag.Moisture.ID)
	assert.Equal(t, model.CalibrationPoint{Raw: 1480, Value: 62}, bag.Moisture.Calibration[0])
	assert.Equal(t, model.Subject("bag/a1/temperature"), bag.Sensors[0].ID)
	assert.Equal(t, "/bags/a1/at", bag.Sensors[0].TimePointer)

	wick := s.Wicks["wedge"]
	assert.InDelta(t, 0.096, wick.Retention.Alpha, 1e-12)
	assert.InDelta(t, 108, wick.Conductivity, 1e-9)

	crop := s.Crops["strawberry"]
	assert.Equal(t, "strawberry", crop.Builtin, "an entry of a built-in's name extends it")
	assert.Equal(t, 1.5, crop.ECLimit)
	assert.InDelta(t, 204, crop.DryLimit, 0.1, "20 kPa is 2.04 m of water")
	assert.InDelta(t, 0.4, s.Crops["seedlings"].LitresPerPlant, 1e-12)

	drum := s.Reservoirs[0]
	assert.Equal(t, model.Shape{Kind: model.LyingCylinder, Diameter: 580, Length: 880}, drum.Shape)
	assert.Equal(t, model.Target{EC: 1.2, PH: 5.7, ECTolerance: 0.2, PHTolerance: 0.3}, drum.Target)
	assert.True(t, drum.FloatValve)
	require.NotNil(t, drum.Water)
	assert.InDelta(t, 0.4, drum.Water.EC, 1e-12)
	assert.InDelta(t, 2.853, drum.Water.Alkalinity, 1e-3, "8 °dH are 2.85 meq/L, by tables of hardness [M]")
	assert.Nil(t, s.Reservoirs[1].Water)
	assert.Equal(t, model.PlainWaterEC, s.Reservoirs[1].WaterEC())
	assert.False(t, s.Reservoirs[1].FloatValve)
	assert.False(t, drum.FeedsAtTimes)
	assert.True(t, s.Reservoirs[2].FeedsAtTimes)
	ec := drum.Sensors[0]
	assert.True(t, ec.CompensateTo25)
	assert.Equal(t, 0.02, ec.TemperatureCoefficient)
	assert.False(t, ec.NaturalWater)
	assert.True(t, s.Reservoirs[1].Sensors[0].NaturalWater)
	assert.Equal(t, [2]float64{0.1, 5}, [2]float64{ec.Min, ec.Max})
	assert.Equal(t, 10*time.Minute, drum.Sensors[1].ExpectEvery)
	assert.Equal(t, []model.LevelVolume{{Level: 0, Volume: 0}, {Level: 200, Volume: 71}, {Level: 400, Volume: 160}}, s.Reservoirs[2].Shape.Table)

	assert.Equal(t, 12.0, s.Channels[0].Holds)
	assert.Equal(t, &model.Lamps{Radiation: 40, Hours: []model.Hours{
		{From: 5*time.Hour + 30*time.Minute, To: 8 * time.Hour}, {From: 22 * time.Hour, To: time.Hour},
	}}, s.Lamps)
	mix := s.Media["mix"]
	assert.Negative(t, mix.Shrink, "not measured")
	var sum float64
	for _, p := range mix.Parts {
		sum += p.Fraction
	}
	assert.InDelta(t, 1, sum, 1e-12)
	assert.Equal(t, "coir", mix.Parts[0].Material)
}

func TestDefaults(t *testing.T) {
	cfg := load(t, "testdata/good.yaml")
	s := cfg.Site
	assert.False(t, s.RadiationOutside)
	assert.Equal(t, 1.0, s.Bags[0].Fill)
	assert.InDelta(t, 52+0.2*(375-52), s.Reservoirs[0].Low, 1e-9)
	assert.InDelta(t, 0.28, s.Reservoirs[0].Target.ECBand(), 1e-12)
	assert.Equal(t, 0.5, s.Reservoirs[0].Target.PHBand())
	assert.Equal(t, 48*time.Hour, cfg.Alerts.Horizon)
	assert.Equal(t, map[model.Priority]time.Duration{"urgent": 30 * time.Minute, "high": 4 * time.Hour}, cfg.Alerts.Reminders)

	bare := load(t, "testdata/good-aliases.yaml").Site
	assert.Equal(t, time.UTC, bare.TimeZone)
	assert.Equal(t, 1.0, bare.CoverTransmission)
	assert.Nil(t, bare.Place)
	assert.Equal(t, model.Crop{Name: "strawberry", Builtin: "strawberry"}, bare.Crops["strawberry"])
}

// A group's bags lie end to end along their channel, the next group behind it.
// The flat width of a tube is half its perimeter: 170 mm make 108.2 mm.
func TestGroupsAliasesAndMerges(t *testing.T) {
	s := load(t, "testdata/good-aliases.yaml").Site
	var ids []string
	var positions []float64
	for _, b := range s.Bags {
		ids = append(ids, b.ID)
		positions = append(positions, b.Position)
		assert.InDelta(t, 108.2, b.Diameter, 0.05)
	}
	assert.Equal(t, []string{"1", "2", "3", "11", "12", "x"}, ids)
	assert.Equal(t, []float64{0, 1000, 2000, 0, 1200, 2200}, positions)
	last := s.Bags[5]
	assert.Equal(t, "basil", last.Crop, "the first of several merged maps wins")
	assert.Equal(t, 2, last.Plants)
	assert.Equal(t, 500.0, last.Length, "a key of its own wins over a merged one")
	assert.Equal(t, []string{"1", "2"}, []string{s.Reservoirs[0].ID, s.Reservoirs[1].ID})
	assert.Equal(t, 300.0, s.Reservoirs[1].Full)
}

func TestTopicsAreSortedAndUnique(t *testing.T) {
	topics := load(t, "testdata/good-services.yaml").Topics()
	assert.Equal(t, []string{"gateway/7", "yard/air", "yard/drum", "yard/roof", "yard/tower/ec", "yard/tower/t"}, topics)
}

func TestParseIsDeterministic(t *testing.T) {
	data := read(t, exampleFile)
	first, err := config.Parse("site.yaml", data)
	require.NoError(t, err)
	for range 5 {
		again, err := config.Parse("site.yaml", data)
		require.NoError(t, err)
		require.Equal(t, first, again)
	}
}

func TestLoadMissingFile(t *testing.T) {
	cfg, err := config.Load(filepath.Join(t.TempDir(), "site.yaml"))
	assert.Nil(t, cfg)
	require.ErrorIs(t, err, fs.ErrNotExist)
	var problems config.Problems
	assert.False(t, errors.As(err, &problems))
}

// manyBags writes a site of n bags in full.
func manyBags(t testing.TB, n int) []byte {
	head, _, _ := strings.Cut(string(read(t, "testdata/good.yaml")), "bags:")
	var b strings.Builder
	b.WriteString(head + "bags:\n")
	for i := range n {
		fmt.Fprintf(&b, "  - {id: a%d, channel: a, tube: {diameter: 108 mm, length: 1 m}, media: house-mix, wicks: {kind: wedge, count: 4}, plants: 4, crop: peppers, moisture: {topic: \"yard/{id}/moisture\", unit: \"%%\"}}\n", i)
	}
	return []byte(b.String())
}

func TestSizeOfSite(t *testing.T) {
	cfg, err := config.Parse("site.yaml", manyBags(t, 500))
	require.NoError(t, err)
	assert.Len(t, cfg.Site.Bags, 500)

	ids := make([]string, 10_001)
	for i := range ids {
		ids[i] = fmt.Sprintf("a%d", i)
	}
	crowded := strings.Replace(string(read(t, "testdata/good.yaml")), "a1, a2", strings.Join(ids, ", "), 1)
	_, err = config.Parse("site.yaml", []byte(crowded))
	require.ErrorContains(t, err, "the site has too many bags, at most 10000")
}

// The largest site, each bag written out: 2 MB of YAML.
func BenchmarkParse(b *testing.B) {
	data := manyBags(b, 10_000)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := config.Parse("site.yaml", data); err != nil {
			b.Fatal(err)
		}
	}
}

// Files made to exhaust the reader are refused in good time.
func TestHostileFiles(t *testing.T) {
	laughs := "a0: &a0 {k: v}\n"
	for i := 1; i < 40; i++ {
		laughs += fmt.Sprintf("a%d: &a%d [*a%d, *a%d, *a%d]\n", i, i, i-1, i-1, i-1)
	}
	merges := "m0: &m0 {k0: v}\n"
	for i := 1; i < 1500; i++ {
		merges += fmt.Sprintf("m%d: &m%d {<<: *m%d, k%d: v}\n", i, i, i-1, i)
	}
	fanned := "bags:\n  - &b\n    ids: [" + strings.Repeat("x, ", 1000) + "y]\n"
	for range 9000 {
		fanned += "  - *b\n"
	}
	tests := map[string]struct{ data, want string }{
		"too large":         {strings.Repeat("#\n", 3<<20), "the file is larger than 4 MiB"},
		"brackets":          {strings.Repeat("[", 100_000), "nested too deeply"},
		"maps":              {strings.Repeat("{a: ", 50_000), "nested too deeply"},
		"dashes":            {strings.Repeat("- ", 50_000), "nested too deeply"},
		"alias in alias":    {laughs, "unknown key"},
		"merge in merge":    {merges, "merge keys unfold into too much"},
		"alias many times":  {fanned, "aliases unfold into too much"},
		"alias in itself":   {"site: &s {name: *s}\n", "the alias *s points to nothing"},
		"not text":          {"site: \xff\n", "save the file as UTF-8"},
		"not text at all":   {strings.Repeat("\xff\n", 30), "site.yaml:1:1: a character here is not text, nor in 29 other lines"},
		"compressed":        {"\x1f\x8b\x08\x00", "unpack it first"},
		"control character": {"site: {name: a\x00b}\n", "save the file as UTF-8"},
		"merge of a list":   {"site: {<<: [1]}\n", "<< takes maps only"},
		"merge of a text":   {"site: {<<: x}\n", "<< takes a map"},
		"tag":               {"site: {name: !!binary x}\n", `the tag "!!binary" has no meaning here`},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			start := time.Now()
			cfg, err := config.Parse("site.yaml", []byte(tt.data))
			require.ErrorContains(t, err, tt.want)
			assert.Nil(t, cfg)
			assert.Less(t, time.Since(start), time.Minute)
		})
	}
}

func TestProblemsAreInOrder(t *testing.T) {
	_, err := config.Parse("site.yaml", read(t, "testdata/faults/many.yaml"))
	var problems config.Problems
	require.ErrorAs(t, err, &problems)
	assert.Greater(t, len(problems), 25)
	for i := range problems[1:] {
		a, b := problems[i], problems[i+1]
		assert.True(t, a.Line < b.Line || a.Line == b.Line && a.Column <= b.Column)
	}
}

// One mistake in an anchored value is told once, not once for each alias.
func TestAliasedMistakeIsToldOnce(t *testing.T) {
	data := strings.Replace(string(read(t, "testdata/good-aliases.yaml")), "lay_flat: 170 mm", "lay_flat: 170", 1)
	_, err := config.Parse("site.yaml", []byte(data))
	require.EqualError(t, err, `site.yaml:23:28: bags[0].tube.lay_flat: "170" needs a unit, for example "170 mm"`)
}

// A row that is mistyped makes a vessel bulge; one that narrows to its floor or to
// its lid is a vessel.
func TestAVesselThatBulges(t *testing.T) {
	const rows = "[0 mm, 0 L], [200 mm, 71 L], [400 mm, 160 L]"
	text := string(read(t, "testdata/good-services.yaml"))
	require.Contains(t, text, rows)
	for name, c := range map[string]struct {
		rows   string
		bulges string
	}{
		"straight": {"[0 mm, 0 L], [100 mm, 40 L], [400 mm, 160 L]", ""},
		"cone":     {"[0 mm, 0 L], [100 mm, 3 L], [200 mm, 22 L], [400 mm, 170 L]", ""},
		"mistyped": {"[0 mm, 0 L], [50 mm, 400 L], [400 mm, 460 L]", "from 0 mm to 50 mm"},
		"in line":  {"[0 mm, 0 L], [399 mm, 150 L], [400 mm, 170 L]", "from 399 mm to 400 mm"},
		"no floor": {"[200 mm, 71 L], [400 mm, 160 L]", "below the first row of the table; from 200 mm down"},
	} {
		t.Run(name, func(t *testing.T) {
			cfg, err := config.Parse("site.yaml", []byte(strings.Replace(text, rows, c.rows, 1)))
			require.NoError(t, err)
			if c.bulges == "" {
				assert.Empty(t, cfg.Warnings)
				return
			}
			require.NotEmpty(t, cfg.Warnings)
			assert.Contains(t, cfg.Warnings[0].Message, c.bulges)
		})
	}
}

func TestLevelsEndAtTheBrim(t *testing.T) {
	cfg := load(t, exampleFile)
	for _, r := range cfg.Site.Reservoirs {
		for _, s := range r.Sensors {
			if s.Quantity == model.Level {
				assert.Greater(t, s.Max, r.Full, r.ID)
				assert.Less(t, s.Max, 2*r.Full, r.ID)
			}
		}
	}
	text := string(read(t, exampleFile))
	require.Contains(t, text, "level: {")
	wide, err := config.Parse("site.yaml", []byte(strings.ReplaceAll(text, "level: {", "level: {max: 4 m, ")))
	require.NoError(t, err)
	highest := 0.0
	for _, r := range wide.Site.Reservoirs {
		for _, s := range r.Sensors {
			if s.Quantity == model.Level {
				highest = max(highest, s.Max)
			}
		}
	}
	assert.Equal(t, 4000.0, highest, "as the site file says")
}

// A channel on which no bag lies may be one that was mistyped at the bags.
func TestAChannelWithoutBags(t *testing.T) {
	text := string(read(t, "testdata/good.yaml"))
	cfg, err := config.Parse("site.yaml", []byte(strings.Replace(text, "\nchannels:\n", "\nchannels:\n  herbs: {reservoir: tank, lift: 60 mm}\n", 1)))
	require.NoError(t, err)
	require.Len(t, cfg.Warnings, 1)
	assert.Contains(t, cfg.Warnings[0].String(), "channels.herbs: no bag lies on it")
}

// A reservoir fills its channels, or something is mistyped.
func TestAReservoirThatCannotFillItsChannels(t *testing.T) {
	text := string(read(t, "testdata/good.yaml"))
	for holds, want := range map[string]string{
		"holds: 12 L":  "",
		"holds: 1.2m3": "reservoirs.tank.feeds_at_times: its channels hold 1200 L when filled, and it gives",
	} {
		fed := strings.NewReplacer("    full: 375 mm\n", "    full: 375 mm\n    feeds_at_times: true\n", "lift: 70 mm}", "lift: 70 mm, "+holds+"}").Replace(text)
		require.Equal(t, 1, strings.Count(fed, holds))
		cfg, err := config.Parse("site.yaml", []byte(fed))
		require.NoError(t, err)
		if want == "" {
			assert.Empty(t, cfg.Warnings)
			continue
		}
		require.Len(t, cfg.Warnings, 1)
		assert.Contains(t, cfg.Warnings[0].String(), want)
	}
}

// A day's hours of lamps, and of quiet, end at 24:00 at the latest. Spans may touch.
func TestHoursOfLamps(t *testing.T) {
	const good = `hours: ["05:30-08:00", "22:00-01:00"]`
	text := string(read(t, "testdata/good-services.yaml"))
	require.Contains(t, text, good)
	h := func(from, to time.Duration) model.Hours {
		return model.Hours{From: from * time.Hour, To: to * time.Hour}
	}
	for hours, want := range map[string][]model.Hours{
		`"00:00-24:00"`:                               {h(0, 24)},
		`"16:00-24:00", "00:00-02:00"`:                {h(16, 24), h(0, 2)},
		`"16:00-00:00"`:                               {h(16, 0)},
		`"22:00-06:00", "06:00-08:00", "21:00-22:00"`: {h(22, 6), h(6, 8), h(21, 22)},
		`"22:00-06:00", "05:00-08:00"`:                nil,
		`"05:00-08:00", "22:00-06:00"`:                nil,
		`"22:00-06:00", "20:00-04:00"`:                nil,
		`"05:00-08:00", "06:00-07:00"`:                nil,
		`"06:00-07:00", "05:00-08:00"`:                nil,
		`"06:00-07:00", "06:00-07:00"`:                nil,
		`"00:00-24:00", "12:00-13:00"`:                nil,
		`"23:00-01:00", "00:00-24:00"`:                nil,
		`"10:00-12:00", "13:00-14:00", "13:30-13:45"`: nil,
	} {
		cfg, err := config.Parse("site.yaml", []byte(strings.Replace(text, good, "hours: ["+hours+"]", 1)))
		if want == nil {
			assert.ErrorContains(t, err, "overlaps", hours)
			continue
		}
		require.NoError(t, err, hours)
		assert.Equal(t, want, cfg.Site.Lamps.Hours, hours)
	}
	cfg, err := config.Parse("site.yaml", []byte(strings.Replace(text, `quiet: "22:00-06:00"`, `quiet: "22:00-24:00"`, 1)))
	require.NoError(t, err)
	assert.Equal(t, &config.Quiet{From: 22 * time.Hour}, cfg.Notify.Recipients[1].Quiet)
}

// What a sensor below them sees of lamps need not be stated.
func TestLampsBelowWhichASensorHangs(t *testing.T) {
	const below = "  radiation: {topic: yard/roof, unit: W/m2}\n"
	text := string(read(t, "testdata/good-services.yaml"))
	require.Contains(t, text, "  radiation: {topic: yard/roof, unit: W/m2, placed: outside}\n")
	cfg, err := config.Parse("site.yaml", []byte(strings.Replace(text, "  radiation: {topic: yard/roof, unit: W/m2, placed: outside}\n", below, 1)))
	require.NoError(t, err)
	require.Len(t, cfg.Warnings, 1)
	assert.Contains(t, cfg.Warnings[0].String(), "lamps: decides nothing but what check and size say, while the radiation sensor under the cover sends")
}
