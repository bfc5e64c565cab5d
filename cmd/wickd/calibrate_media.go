package main

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strings"

	"wickd/cmd/internal/plot"
	"wickd/model/calibration"
	"wickd/model/hydraulics"
)

type calibrateMedia struct {
	readings
	Name   string     `default:"house-mix" placeholder:"NAME" help:"What to call it in the site file (${default})."`
	Height lengthFlag `required:"" placeholder:"HEIGHT" help:"Of the medium in the pot: 15cm."`
	Volume volumeFlag `required:"" placeholder:"VOLUME" help:"Of the medium in the pot: 2.5L."`
	Scale  weightFlag `placeholder:"WEIGHT" help:"How well the balance weighs, one standard deviation: 5g when left out."`
	Like   string     `placeholder:"MEDIUM" help:"The built-in medium whose conductivity it takes, as draining does not show it; the nearest when left out."`
}

// Help is shown under the flags' own help.
func (calibrateMedia) Help() string {
	return `Fill a pot with straight walls as you fill your bags. Shut its outlet, fill it with
water from below over a day until the surface shines, and weigh it: saturated. Open
the outlet, let it drain for two hours in the shade under a cover, and weigh it:
drained, table 0. For the dry end stand it on a felt wick that hangs into water 10,
20 and 40 cm below the pot, a day each, and weigh it: table 10, 20, 40. Dry it in
the oven at 105 °C until it loses no more weight, and weigh it: dry. Weigh it the
same way each time, pot and all:

  state,table_cm,weight_g
  saturated,,2590
  drained,0,2030
  drained,20,1250
  dry,,460`
}

// mediumName is what needs no quotes in a site file.
var mediumName = regexp.MustCompile(`^[\pL\pN][\pL\pN ._-]*$`)

func (k calibrateMedia) Run(c console) error {
	if !mediumName.MatchString(k.Name) {
		return usageError{fmt.Errorf("calibrate media: --name %q: letters, digits, blanks and . _ - make a name in a site file, for example house-mix", k.Name)}
	}
	s, err := k.read(c, []column{
		{name: "state", question: "saturated, drained or dry", words: []string{"saturated", "drained", "dry"}},
		{name: "table_cm", question: "for drained: cm from the pot's base down to the water (0: drained freely)", optional: true},
		{name: "weight_g", question: "weight, g"},
	})
	if err != nil {
		return err
	}
	test, err := k.test(s)
	if err != nil {
		return err
	}
	m, err := calibration.FitDrain(test)
	if err != nil {
		return err
	}
	like, err := k.like(m)
	if err != nil {
		return err
	}
	m.Curve.Ks = like.Material.Ks
	if err := m.Curve.Validate(); err != nil {
		return fmt.Errorf("calibrate media: %w", err)
	}
	files, err := k.draw(k.picture(test, m))
	if err != nil {
		return err
	}
	if err := c.answer(k.JSON, mediaDocumentOf(m, like, files), k.text(m, like)+filesText(k.Plot, files)); err != nil {
		return err
	}
	return unfit("media", m.Unfit)
}

func (k calibrateMedia) test(s sheet) (calibration.DrainTest, error) {
	t := calibration.DrainTest{Height: k.Height.value / 10, Volume: k.Volume.value, ScaleSD: k.Scale.value}
	count := map[string]int{}
	for _, r := range s.rows {
		state := r.words["state"]
		count[state]++
		switch weight := r.numbers["weight_g"]; state {
		case "saturated":
			t.Saturated = weight
		case "dry":
			t.Dry = weight
		default:
			t.Drained = append(t.Drained, calibration.Drained{Table: r.numbers["table_cm"], Weight: weight})
		}
	}
	if count["saturated"] != 1 || count["dry"] != 1 {
		return t, errors.New("calibrate media: one saturated and one dry weight are needed, beside one or more drained")
	}
	return t, nil
}

// like is the medium whose conductivity stands in for what draining cannot show.
func (k calibrateMedia) like(m calibration.Medium) (hydraulics.TypicalMedium, error) {
	if k.Like != "" {
		if t, ok := hydraulics.Typical(k.Like); ok {
			return t, nil
		}
		return hydraulics.TypicalMedium{}, usageError{fmt.Errorf("calibrate media: %q is not a built-in medium; there are %s", k.Like, strings.Join(hydraulics.TypicalNames(), ", "))}
	}
	var nearest hydraulics.TypicalMedium
	least := math.Inf(1)
	for _, name := range []string{"coir", "peat", "perlite", "vermiculite", "composted bark", "potting soil"} {
		t, ok := hydraulics.Typical(name)
		if !ok {
			continue
		}
		if d := math.Hypot(math.Log(t.Material.Alpha/m.Curve.Alpha), 5*(t.Material.SaturatedTheta-m.Curve.SaturatedTheta)); d < least {
			nearest, least = t, d
		}
	}
	return nearest, nil
}

func (k calibrateMedia) text(m calibration.Medium, like hydraulics.TypicalMedium) string {
	var b strings.Builder
	share := func(name string, e calibration.Estimated) {
		fmt.Fprintf(&b, "  %-34s %5.1f ± %.1f %%\n", name, 100*e.Value, 100*e.SD)
	}
	b.WriteString("Measured in this pot\n")
	share("pores (saturated)", m.Porosity)
	if m.Container.Value > 0 {
		share("container capacity (drained)", m.Container)
		share("air space", m.Air)
	}
	b.WriteString("\nBy the fitted curve, after De Boodt and Verdonck\n")
	share("air space at 1 kPa", m.AirAt1kPa)
	share("easily available water, 1–5 kPa", m.Easy)
	share("buffer, 5–10 kPa", m.Buffer)
	alpha, alphaLow, alphaHigh := m.Alpha()
	n, nLow, nHigh := m.N()
	fmt.Fprintf(&b, "\nvan Genuchten: residual %.3f ± %.3f, alpha %.3f /cm (%.3f–%.3f), n %.2f (%.2f–%.2f);\nthe weights are met within %.1f %% of the volume.\n",
		m.Residual.Value, m.Residual.SD, alpha, alphaLow, alphaHigh, n, nLow, nHigh, 100*m.Misfit)
	for _, note := range m.Notes {
		b.WriteString(paragraph(note, 0, 0))
	}
	if m.Unfit != "" {
		return b.String()
	}
	fmt.Fprintf(&b, "\nInto the site file:\n\nmedia:\n  %s:\n    retention: {residual: %s, saturated: %s, alpha: %s /cm, n: %s}\n    conductivity: %s cm/h # not measured: typical of %s\n",
		k.Name, digits(m.Curve.ResidualTheta, 3), digits(m.Curve.SaturatedTheta, 3), digits(m.Curve.Alpha, 3), digits(m.Curve.N, 4), digits(like.Material.Ks, 3), like.Name)
	return b.String()
}

// mediaDocument is what calibrate media --json prints; water and air as shares.
type mediaDocument struct {
	Porosity     [2]float64 `json:"porosity"` // value and standard deviation, as all pairs
	Container    [2]float64 `json:"container_capacity"`
	Air          [2]float64 `json:"air_space"`
	AirAt1kPa    [2]float64 `json:"air_at_1kpa"`
	Easy         [2]float64 `json:"easily_available"`
	Buffer       [2]float64 `json:"buffer"`
	Residual     float64    `json:"residual"`
	Saturated    float64    `json:"saturated"`
	Alpha        float64    `json:"alpha_per_cm"`
	AlphaBand    [2]float64 `json:"alpha_band"`
	N            float64    `json:"n"`
	NBand        [2]float64 `json:"n_band"`
	Conductivity float64    `json:"conductivity_cm_per_h"`
	Like         string     `json:"conductivity_typical_of"`
	Misfit       float64    `json:"misfit"`
	Notes        []string   `json:"notes,omitempty"`
	Unfit        string     `json:"unfit,omitempty"` // why none of it must be used
	Pictures     []string   `json:"pictures,omitempty"`
}

func mediaDocumentOf(m calibration.Medium, like hydraulics.TypicalMedium, files []string) mediaDocument {
	pair := func(e calibration.Estimated) [2]float64 { return [2]float64{e.Value, e.SD} }
	_, alphaLow, alphaHigh := m.Alpha()
	_, nLow, nHigh := m.N()
	return mediaDocument{
		Porosity: pair(m.Porosity), Container: pair(m.Container), Air: pair(m.Air), AirAt1kPa: pair(m.AirAt1kPa), Easy: pair(m.Easy), Buffer: pair(m.Buffer),
		Residual: m.Curve.ResidualTheta, Saturated: m.Curve.SaturatedTheta, Alpha: m.Curve.Alpha, AlphaBand: [2]float64{alphaLow, alphaHigh},
		N: m.Curve.N, NBand: [2]float64{nLow, nHigh}, Conductivity: m.Curve.Ks, Like: like.Name, Misfit: m.Misfit, Notes: m.Notes, Unfit: m.Unfit, Pictures: files,
	}
}

// picture shows the curve and its mean over the pot, which is what was weighed,
// at the suction in the middle of it.
func (k calibrateMedia) picture(t calibration.DrainTest, m calibration.Medium) picture {
	line := plot.Line{Name: "fitted retention"}
	for s := 0.0; s <= 100; s++ {
		line.X, line.Y = append(line.X, s), append(line.Y, 100*m.Curve.Theta(-s))
	}
	mean := plot.Line{Name: "mean over the pot", Stroke: plot.Dashed}
	for s := t.Height / 2; s <= 100; s++ {
		mean.X, mean.Y = append(mean.X, s), append(mean.Y, 100*m.PotMean(s-t.Height/2, t.Height))
	}
	var marks []plot.Mark
	for _, d := range t.Drained {
		marks = append(marks, plot.Mark{X: d.Table + t.Height/2, Y: (d.Weight - t.Dry) / (10 * t.Volume)})
	}
	return picture{"calibration-" + plainName(k.Name), plot.Figure{
		Title: "Retention of " + k.Name, Note: "weights at the suction in the middle of the pot",
		Panels: []plot.Panel{{X: plot.Axis{Name: "suction, cm of water", From: 0, To: 100}, Y: plot.Axis{Name: "water, % of the volume", From: 0, To: 100}, Lines: []plot.Line{line, mean}, Marks: marks}},
	}}
}

// plainName is a name as part of a file name.
func plainName(name string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' {
			return r
		}
		return '-'
	}, name)
}
