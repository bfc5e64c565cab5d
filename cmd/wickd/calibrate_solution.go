package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"wickd/cmd/internal/plot"
	"wickd/model/solution"
)

type calibrateEC struct {
	readings
	Compensates bool `help:"The probe compensates to 25 °C by itself. Without it, it sends the EC at its temperature, and wickd compensates."`
}

// Help is shown under the flags' own help.
func (calibrateEC) Help() string {
	return `Rinse the probe, dip it into fresh standard (potassium chloride, 1.413 or 12.88 mS/cm
at 25 °C), wait until it rests, and write down what it sends. A second standard, or
the dry probe in air as standard 0, shows its offset:

  standard_ms_cm,temperature_c,reading
  1.413,21.0,1.24
  0,21.0,0.01`
}

type calibratePH struct {
	readings
	Millivolts bool `help:"The probe sends the electrode's voltage in mV. Without it, it sends pH."`
}

// Help is shown under the flags' own help.
func (calibratePH) Help() string {
	return `Rinse the probe in clean water, dip it into fresh buffer (4.01, 6.86, 7.00, 9.18 or
10.01), wait until it rests, and write down what it sends; two buffers or three:

  buffer,temperature_c,reading
  7.00,21.0,7.12
  4.01,21.0,4.22`
}

func (k calibrateEC) Run(c console) error {
	s, err := k.read(c, []column{
		{name: "standard_ms_cm", question: "standard in mS/cm at 25 °C, as on the bottle (0: dry, in air)"},
		{name: "temperature_c", question: "its temperature, °C"}, {name: "reading", question: "what the probe sends"},
	})
	if err != nil {
		return err
	}
	var all []solution.ECReading
	for _, r := range s.rows {
		all = append(all, solution.ECReading{Standard: r.numbers["standard_ms_cm"], Temperature: r.numbers["temperature_c"], Raw: r.numbers["reading"]})
	}
	fit, err := solution.FitECProbe(all, k.Compensates)
	if err != nil {
		return err
	}
	what := probeKind{command: "ec", title: "EC probe", file: "calibration-ec", unit: "mS/cm", place: "at the reservoir's ec"}
	if !k.Compensates {
		what.more = "  compensate: {}\n"
	}
	return k.report(c, what, fit, len(all), func(i int) (string, float64) {
		return fmt.Sprintf("%s mS/cm at %s °C", digits(all[i].Standard, 5), digits(all[i].Temperature, 3)), all[i].Raw
	})
}

func (k calibratePH) Run(c console) error {
	s, err := k.read(c, []column{
		{name: "buffer", question: "buffer, pH at 25 °C as on the bottle"},
		{name: "temperature_c", question: "its temperature, °C"}, {name: "reading", question: "what the probe sends"},
	})
	if err != nil {
		return err
	}
	var all []solution.PHReading
	for _, r := range s.rows {
		all = append(all, solution.PHReading{Buffer: r.numbers["buffer"], Temperature: r.numbers["temperature_c"], Raw: r.numbers["reading"]})
	}
	fit, err := solution.FitPHProbe(all, k.Millivolts)
	if err != nil {
		return err
	}
	switch {
	case fit.OtherUnit && k.Millivolts:
		return usageError{errors.New("calibrate ph: these are no millivolts of a pH electrode but readings in pH: leave --millivolts out")}
	case fit.OtherUnit:
		return usageError{errors.New("calibrate ph: these are no readings in pH but millivolts of an electrode: say so with --millivolts")}
	}
	what := probeKind{command: "ph", title: "pH probe", file: "calibration-ph", unit: "pH", place: "at the reservoir's ph"}
	return k.report(c, what, fit, len(all), func(i int) (string, float64) {
		return fmt.Sprintf("pH %.2f at %s °C", all[i].Buffer, digits(all[i].Temperature, 3)), all[i].Raw
	})
}

// probeKind is what a report calls its probe.
type probeKind struct {
	command, title, file, unit, place string
	more                              string // a further line for the site file
}

// fitDocument is what calibrate ec and ph print with --json.
type fitDocument struct {
	Calibrate [][2]float64          `json:"calibrate,omitempty"`
	Unit      string                `json:"unit"`
	Residuals []float64             `json:"residuals"`
	Verdict   solution.ProbeVerdict `json:"verdict"`
	Evidence  string                `json:"evidence"`
	Pictures  []string              `json:"pictures,omitempty"`
}

// report says what came of count readings; the fit may rest on one more, the zero
// that a single standard is held against.
func (f readings) report(c console, what probeKind, fit solution.ProbeFit, count int, reading func(int) (string, float64)) error {
	var marks []plot.Mark
	for i := range count {
		name, raw := reading(i)
		truth := fit.Points[0].Value + (raw-fit.Points[0].Raw)*(fit.Points[1].Value-fit.Points[0].Value)/(fit.Points[1].Raw-fit.Points[0].Raw) + fit.Residuals[i]
		marks = append(marks, plot.Mark{Name: name, X: raw, Y: truth})
	}
	dots := slices.Clone(marks)
	for i := range dots {
		dots[i].Name = "" // the table names them; here they would lie over the line
	}
	files, err := f.draw(fitPicture(what.file, what.title, fit.Evidence, plot.Axis{Name: "what the probe sends"}, plot.Axis{Name: what.unit}, fit.Points, 1, dots))
	if err != nil {
		return err
	}
	d := fitDocument{Unit: what.unit, Residuals: fit.Residuals[:count], Verdict: fit.Verdict, Evidence: fit.Evidence, Pictures: files}
	why := fmt.Sprintf("the probe is %s: %s", fit.Verdict, fit.Evidence)
	if fit.Verdict.Serves() {
		why = ""
		for _, p := range fit.Points {
			d.Calibrate = append(d.Calibrate, [2]float64{p.Raw, p.Value})
		}
	}
	if err := c.answer(f.JSON, d, fitText(what, fit, marks)+filesText(f.Plot, files)); err != nil {
		return err
	}
	return unfit(what.command, why)
}

func fitText(what probeKind, fit solution.ProbeFit, marks []plot.Mark) string {
	var b strings.Builder
	t := table(&b)
	fmt.Fprintf(t, "in\tsent\ttrue\toff by\t\n")
	for i, m := range marks {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t\n", m.Name, digits(m.X, 5), digits(m.Y, 4), signed(fit.Residuals[i], 3))
	}
	_ = t.Flush()
	if !fit.Verdict.Serves() {
		return b.String()
	}
	b.WriteString("\n" + paragraph(fmt.Sprintf("The probe is %s: %s.", fit.Verdict, fit.Evidence), 0, 0))
	if len(marks) < 3 {
		b.WriteString(paragraph("So few readings show no error of their own; a further one would.", 0, 0))
	}
	if fit.Verdict == solution.ProbeWorn {
		b.WriteString(paragraph("Put this to use only when a second try comes out the same.", 0, 0))
	}
	fmt.Fprintf(&b, "\nInto the site file, %s:\n\n  unit: %s\n  %s\n%s", what.place, what.unit, yamlPoints(fit.Points, 1), what.more)
	return b.String()
}
