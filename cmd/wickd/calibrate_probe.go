package main

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"wickd/cmd/internal/plot"
	"wickd/model/calibration"
	"wickd/model/unit"
)

// weightFlag is g.
type weightFlag struct{ quantity }

// UnmarshalText takes a weight with its unit.
func (f *weightFlag) UnmarshalText(b []byte) error {
	m := amountText.FindStringSubmatch(string(b))
	if m == nil {
		return fmt.Errorf("%q is not a weight, for example 1.3kg or 1300g", b)
	}
	n, err := unit.Number(m[1])
	if err != nil {
		return err
	}
	switch strings.TrimSpace(m[2]) {
	case "g":
	case "kg":
		n *= 1000
	default:
		return fmt.Errorf("%q: a weight is in g or kg", b)
	}
	if n < 0 {
		return fmt.Errorf("%q is below 0", b)
	}
	f.value, f.given = n, true
	return nil
}

type calibrateProbe struct {
	readings
	Volume volumeFlag `placeholder:"VOLUME" help:"Medium in the bag, for weights: 9L."`
	Dry    weightFlag `placeholder:"WEIGHT" help:"Weight of the bag with its medium dry, for weights: 1.3kg."`
}

// Help is shown under the flags' own help.
func (calibrateProbe) Help() string {
	return `Wet the bag through, let it drain, and while it dries for some days write down what
the probe sends and what the bag weighs:

  raw,weight_g
  1150,6420
  1480,5310

or take two points whose water you know, air-dry medium and just drained:

  raw,water_percent`
}

// probeDocument is what calibrate probe --json prints.
type probeDocument struct {
	Calibrate  [][2]float64 `json:"calibrate,omitempty"` // raw, % of the volume
	Unit       string       `json:"unit"`
	Residuals  []float64    `json:"residuals_percent"`
	Scatter    *float64     `json:"scatter_percent"`
	Confidence *float64     `json:"confidence95_percent"`
	R2         float64      `json:"r2"`
	Curved     bool         `json:"curved"`
	Notes      []string     `json:"notes,omitempty"`
	Unfit      string       `json:"unfit,omitempty"` // why there is no calibrate
	Pictures   []string     `json:"pictures,omitempty"`
}

func (k calibrateProbe) Run(c console) error {
	byWeight := k.Volume.given || k.Dry.given
	if byWeight && !(k.Volume.given && k.Dry.given) {
		return usageError{errors.New("calibrate probe: weights need both --volume and --dry")}
	}
	columns := []column{{name: "raw", question: "what the probe sends"}, {name: "water_percent", question: "water, % of the volume"}}
	if byWeight {
		columns[1] = column{name: "weight_g", question: "weight of the bag, g"}
	}
	s, err := k.read(c, columns)
	if err != nil {
		return k.hint(err, byWeight)
	}
	pairs, err := k.pairs(s, byWeight)
	if err != nil {
		return err
	}
	m, err := calibration.FitMoisture(pairs)
	if err != nil {
		return err
	}
	files, err := k.draw(probePicture(pairs, m))
	if err != nil {
		return err
	}
	if err := c.answer(k.JSON, probeDocumentOf(m, files), probeText(pairs, m)+filesText(k.Plot, files)); err != nil {
		return err
	}
	return unfit("probe", m.Unfit)
}

// hint says how weights are given when a file has them unasked.
func (k calibrateProbe) hint(err error, byWeight bool) error {
	if !byWeight && strings.Contains(err.Error(), `"weight_g" is not a column`) {
		return usageError{errors.New("calibrate probe: weights need --volume and --dry, to turn them into water")}
	}
	if byWeight && strings.Contains(err.Error(), `"water_percent" is not a column`) {
		return usageError{errors.New("calibrate probe: --volume and --dry are for weights; leave them out for a file with water_percent")}
	}
	return err
}

func (k calibrateProbe) pairs(s sheet, byWeight bool) ([]calibration.Reading, error) {
	var all []calibration.Reading
	for _, r := range s.rows {
		water := r.numbers["water_percent"] / 100
		if !byWeight && !(water >= 0 && water <= 1) {
			return nil, fmt.Errorf("%s: water_percent is %g; it has to be from 0 to 100, of the volume", r.where, r.numbers["water_percent"])
		}
		if byWeight {
			var err error
			if water, err = calibration.WaterOf(r.numbers["weight_g"], k.Dry.value, k.Volume.value); err != nil {
				return nil, fmt.Errorf("%s: %w", r.where, err)
			}
		}
		all = append(all, calibration.Reading{Raw: r.numbers["raw"], Water: water})
	}
	return all, nil
}

func probeDocumentOf(m calibration.Moisture, files []string) probeDocument {
	d := probeDocument{Unit: "%", R2: m.R2, Curved: m.Curved, Notes: m.Notes, Unfit: m.Unfit, Pictures: files}
	for _, p := range m.Points {
		if m.Unfit == "" {
			d.Calibrate = append(d.Calibrate, [2]float64{p.Raw, 100 * p.Value})
		}
	}
	for _, r := range m.Residuals {
		d.Residuals = append(d.Residuals, 100*r)
	}
	if !math.IsNaN(m.Scatter) {
		scatter, confidence := 100*m.Scatter, 100*m.Confidence
		d.Scatter, d.Confidence = &scatter, &confidence
	}
	return d
}

func probeText(pairs []calibration.Reading, m calibration.Moisture) string {
	var b strings.Builder
	t := table(&b)
	fmt.Fprint(t, "sent\twater\toff by\t\n\t%\t%\t\n")
	for i, r := range pairs {
		fmt.Fprintf(t, "%s\t%.1f\t%s\t\n", digits(r.Raw, 6), 100*r.Water, signed(100*m.Residuals[i], 1))
	}
	_ = t.Flush()
	shape := "A straight line"
	if m.Curved {
		shape = "A curve, which the readings ask for,"
	}
	if math.IsNaN(m.Scatter) {
		fmt.Fprintf(&b, "\n%s through %d points.\n", shape, len(pairs))
	} else {
		b.WriteString("\n" + paragraph(fmt.Sprintf("%s leaves the readings by ±%.1f %% of the volume (one standard deviation) and is itself sure to ±%.1f %% (95 %%); R² %.3f.", shape, 100*m.Scatter, 100*m.Confidence, m.R2), 0, 0))
	}
	for _, n := range m.Notes {
		b.WriteString(paragraph(n, 0, 0))
	}
	if m.Unfit != "" {
		return b.String()
	}
	fmt.Fprintf(&b, "\nInto the site file, at the bag's moisture:\n\n  unit: \"%%\"\n  %s\n", yamlPoints(m.Points, 100))
	return b.String()
}

func probePicture(pairs []calibration.Reading, m calibration.Moisture) picture {
	var marks []plot.Mark
	for _, r := range pairs {
		marks = append(marks, plot.Mark{X: r.Raw, Y: 100 * r.Water})
	}
	return fitPicture("calibration-probe", "Moisture probe", "weighed readings and the calibration through them",
		plot.Axis{Name: "what the probe sends"}, plot.Axis{Name: "water, % of the volume"}, m.Points, 100, marks)
}
