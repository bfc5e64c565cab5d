package solution

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"wickd/model"
)

// ProbeFit is the calibration of an EC or pH probe.
type ProbeFit struct {
	Points    []model.CalibrationPoint // for the site file: raw, true, rising
	Residuals []float64                // of each reading against the line, in the unit of the truth
	Scatter   float64                  // standard deviation of the residuals; 0 with as many readings as unknowns
	Verdict   ProbeVerdict
	Evidence  string

	CellFactor float64 // EC: truth for each unit of the reading
	Offset     float64 // EC: truth where it sends 0, mS/cm; pH: reading in pH 7, mV (of 25 °C)
	Slope      float64 // pH: share of Nernst's slope
	OtherUnit  bool    // pH: taken for what it was not said to send, mV or pH, it is sound
}

// ProbeVerdict says whether a probe can go on serving.
type ProbeVerdict string

// The verdicts on a probe.
const (
	ProbeGood     ProbeVerdict = "good"
	ProbeUnproven ProbeVerdict = "unproven" // one reading, of a scale of its own
	ProbeAgeing   ProbeVerdict = "ageing"
	ProbeWorn     ProbeVerdict = "worn"
	ProbeDead     ProbeVerdict = "dead"    // it hardly answers
	ProbeStrange  ProbeVerdict = "strange" // the readings do not belong together
)

// Serves says that a calibration of such a probe may be used.
func (v ProbeVerdict) Serves() bool { return v != ProbeDead && v != ProbeStrange }

// ECReading is what an EC probe sent in a standard.
type ECReading struct {
	Standard    float64 // mS/cm at 25 °C as on the bottle; 0: dry, in air
	Temperature float64 // °C
	Raw         float64
}

// FitECProbe gives the calibration of an EC probe from one standard or more.
// With one, nothing (dry in air) is taken to read 0. If the probe compensates to
// 25 °C by itself, what is true is the label; otherwise the EC at the temperature
// of the standard, which wickd then compensates.
func FitECProbe(readings []ECReading, compensates bool) (ProbeFit, error) {
	var raw, truth []float64
	dry := false
	for _, r := range readings {
		value := 0.0
		if r.Standard == 0 {
			dry = true
		} else if exact, err := StandardKCl(r.Standard, r.Temperature); err != nil {
			return ProbeFit{}, err
		} else if value = exact; compensates {
			value = r.Standard
		}
		raw, truth = append(raw, r.Raw), append(truth, value)
	}
	if len(readings) == 0 || dry && len(readings) == 1 {
		return ProbeFit{}, errors.New("EC calibration: no standard; one solution is the least, for example 1.413 mS/cm")
	}
	if len(readings) == 1 {
		raw, truth = append(raw, 0), append(truth, 0)
	}
	if err := distinct(raw, truth); err != nil {
		return ProbeFit{}, fmt.Errorf("EC calibration: %w", err)
	}
	fit, l := straight(raw, truth)
	if l.slope <= 0 {
		return ProbeFit{}, errors.New("EC calibration: the reading falls while the standard rises; have they been swapped")
	}
	fit.CellFactor, fit.Offset = l.slope, l.at(0)
	fit.Verdict, fit.Evidence = judgeEC(fit, truth)
	if len(readings) == 1 && fit.Verdict == ProbeGood && !ownUnit(fit.CellFactor) {
		fit.Verdict, fit.Evidence = ProbeUnproven, fmt.Sprintf("each unit it sends would be %.4g mS/cm: that can be a voltage or a count, "+
			"but no probe that sends mS/cm or µS/cm is so far off and whole. Dip it into a second standard, or hold it dry in the air, to see that it answers", fit.CellFactor)
	}
	return fit, nil
}

// ownUnit says that a probe seems to send mS/cm or µS/cm, as it does until its
// cell has lost a third.
func ownUnit(factor float64) bool {
	const least, most = 0.7, 1.45
	return factor > least && factor < most || 1000*factor > least && 1000*factor < most
}

// judgeEC doubts readings that no straight line joins within 5 % of the largest
// standard (common practice: fouled cell, wrong bottle), or within a tenth of
// each: the band that a solution is kept in is half as wide again.
func judgeEC(f ProbeFit, truth []float64) (ProbeVerdict, string) {
	const most, share = 0.05, 0.1
	if low, high := f.Points[0].Raw, f.Points[1].Raw; high-low < leastMove*math.Max(math.Abs(low), math.Abs(high)) {
		return ProbeDead, fmt.Sprintf("what it sends moves by less than a tenth, from %.6g to %.6g, between solutions that differ; clean the cell, see to its plug, then again", low, high)
	}
	top := 0.0
	for _, x := range truth {
		top = math.Max(top, x)
	}
	off, wrong := 0.0, false
	for i, r := range f.Residuals {
		off = math.Max(off, math.Abs(r))
		wrong = wrong || math.Abs(r) > math.Min(most*top, share*math.Max(truth[i], 1))
	}
	if wrong {
		return ProbeStrange, fmt.Sprintf("no line joins its readings, they lie up to %.2f mS/cm off; fresh solutions, a clean cell and no air bubble, then again", off)
	}
	text := fmt.Sprintf("each unit it sends is %.4g mS/cm, and where it sends 0 there are %+.3f mS/cm", f.CellFactor, math.Round(1000*f.Offset)/1000+0)
	const live = 0.1 // of the highest reading, above which a zero is no offset of a cell
	if zero := -f.Offset / f.CellFactor; zero > live*f.Points[1].Raw {
		text += fmt.Sprintf(". So it sends %.4g where there is nothing, which is right for a signal with a live zero (4–20 mA, 1–5 V) and for no other", zero)
	}
	return ProbeGood, text
}

// PHReading is what a pH probe sent in a buffer.
type PHReading struct {
	Buffer      float64 // pH at 25 °C as on the bottle
	Temperature float64 // °C
	Raw         float64
}

// FitPHProbe gives the calibration of a pH probe from two buffers or more, with
// its slope against Nernst. millivolts says that it sends the electrode's
// voltage; otherwise pH, made with an ideal slope.
func FitPHProbe(readings []PHReading, millivolts bool) (ProbeFit, error) {
	if len(readings) < 2 {
		return ProbeFit{}, errors.New("pH calibration: two buffers are the least, for example 7.00 and 4.01")
	}
	var raw, truth []float64
	nernst := 0.0
	for _, r := range readings {
		pH, err := BufferPH(r.Buffer, r.Temperature)
		if err != nil {
			return ProbeFit{}, fmt.Errorf("pH calibration: %w", err)
		}
		raw, truth = append(raw, r.Raw), append(truth, pH)
		nernst += NernstSlope(r.Temperature) / float64(len(readings))
	}
	if err := distinct(raw, truth); err != nil {
		return ProbeFit{}, fmt.Errorf("pH calibration: %w", err)
	}
	const least = 1.0
	if span := slices.Max(truth) - slices.Min(truth); span < least {
		return ProbeFit{}, fmt.Errorf("pH calibration: the buffers lie %.2f apart, which shows no slope; take two that lie 2 or more apart, for example 7.00 and 4.01", span)
	}
	fit, l := straight(raw, truth)
	zero := l.middle + (7-l.mean)/l.slope // raw at pH 7
	asVolts, asPH := fit, fit
	asVolts.Slope, asVolts.Offset = -1/(l.slope*nernst), zero
	asPH.Slope, asPH.Offset = 1/l.slope, -(zero-7)*nernst
	fit, other := asPH, asVolts
	if millivolts {
		fit, other = other, fit
	}
	fit.Verdict, fit.Evidence = judgePH(fit)
	verdict, _ := judgePH(other)
	fit.OtherUnit = !fit.Verdict.Serves() && verdict.Serves()
	return fit, nil
}

// leastMove is the share of its own value by which an EC probe moves between two
// standards at the least.
const leastMove = 0.1

// judgePH uses the limits that makers of electrodes print (common practice):
// slope 95 to 102 % and offset within 30 mV good; below 85 % or beyond 60 mV worn.
// Below half of Nernst's slope a probe's own drift reads as pH: it is dead.
func judgePH(f ProbeFit) (ProbeVerdict, string) {
	said := fmt.Sprintf("slope %.1f %% of Nernst, offset %+.0f mV", 100*f.Slope, f.Offset)
	switch {
	case f.Slope < 0:
		return ProbeStrange, said + ": it runs the wrong way; have the buffers been swapped"
	case f.Slope < 0.5:
		return ProbeDead, said + ": it hardly answers to pH; soak it in storage solution over night and try again, then replace it"
	case f.Slope > 1.05:
		return ProbeStrange, said + ": no electrode is steeper than ideal; old buffer, or not yet settled"
	case f.Scatter > 0.1:
		return ProbeStrange, said + fmt.Sprintf(": the buffers lie %.2f pH off one line; fresh buffers, rinse between them, then again", f.Scatter)
	case f.Slope < 0.85 || math.Abs(f.Offset) > 60:
		return ProbeWorn, said + ": clean it and try again, then replace it"
	case f.Slope < 0.95 || math.Abs(f.Offset) > 30:
		return ProbeAgeing, said + ": clean it, and calibrate every week"
	}
	return ProbeGood, said
}

// distinct refuses readings that no line can be drawn through.
func distinct(raw, truth []float64) error {
	low, high := raw[0], raw[0]
	lowest, highest := truth[0], truth[0]
	for i := range raw {
		if math.IsNaN(raw[i]) || math.IsInf(raw[i], 0) {
			return fmt.Errorf("reading %d is not a number", i+1)
		}
		low, high = math.Min(low, raw[i]), math.Max(high, raw[i])
		lowest, highest = math.Min(lowest, truth[i]), math.Max(highest, truth[i])
	}
	switch {
	case highest-lowest < 1e-9:
		return errors.New("all solutions are the same; use two that differ")
	case high-low < 1e-9:
		return errors.New("it reads the same in all solutions: the probe is dead or its value is stuck")
	}
	return nil
}

// straight fits truth on raw and takes the line's two ends as points.
func straight(raw, truth []float64) (ProbeFit, line) {
	l := fitLine(raw, truth)
	var f ProbeFit
	low, high := raw[0], raw[0]
	for i, x := range raw {
		f.Residuals = append(f.Residuals, truth[i]-l.at(x))
		low, high = math.Min(low, x), math.Max(high, x)
	}
	if len(raw) > 2 {
		f.Scatter = l.scatter
	}
	f.Points = []model.CalibrationPoint{{Raw: low, Value: l.at(low)}, {Raw: high, Value: l.at(high)}}
	return f, l
}
