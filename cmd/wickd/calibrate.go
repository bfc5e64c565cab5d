package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"

	"wickd/cmd/internal/plot"
	"wickd/model"
)

type calibrateCommand struct {
	Probe calibrateProbe `cmd:"" help:"A moisture probe, from weighings of its bag or from a dry and a wet point."`
	Media calibrateMedia `cmd:"" help:"A medium, from a pot weighed saturated, drained and dried."`
	EC    calibrateEC    `cmd:"" name:"ec" help:"An EC probe, from standard solutions."`
	PH    calibratePH    `cmd:"" name:"ph" help:"A pH probe, from buffers."`
}

// Help is shown under the flags' own help.
func (calibrateCommand) Help() string {
	return `Readings come from a file of comma-separated values whose first line names the
columns (semicolons or tabs do too); lines that begin with # are passed over. Without a file wickd asks for
them, or takes the same from standard input. What it prints is YAML to paste into
the site file, with how far to trust it.`
}

// readings are where a calibration takes its figures from.
type readings struct {
	File string `arg:"" optional:"" type:"path" placeholder:"FILE" help:"Readings as comma-separated values; - or a pipe: standard input. Without it wickd asks."`
	Plot string `type:"path" placeholder:"DIR" help:"Write pictures into this directory, as SVG and PNG."`
	JSON bool   `name:"json" help:"For machines."`
}

// read takes the readings from a file, standard input or a person.
func (f readings) read(c console, columns []column) (sheet, error) {
	if f.File == "" && terminal(os.Stdin) {
		return askSheet(os.Stdin, c.err, columns)
	}
	name, from := "standard input", io.Reader(os.Stdin)
	if f.File != "" && f.File != "-" {
		file, err := os.Open(f.File)
		if err != nil {
			return sheet{}, fmt.Errorf("read the readings: %w", err)
		}
		defer file.Close()
		name, from = f.File, file
	}
	s, err := readSheet(name, from, columns)
	if err != nil {
		return sheet{}, err
	}
	return s, nil
}

// unfit is the end of a calibration that must not be used; nil: it serves.
func unfit(what, why string) error {
	if why == "" {
		return nil
	}
	return fmt.Errorf("calibrate %s: nothing to put into the site file: %s", what, why)
}

// terminal says that a person types into a file.
func terminal(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// yamlPoints writes a calibration as the site file takes it.
func yamlPoints(points []model.CalibrationPoint, scale float64) string {
	var pairs []string
	for _, p := range points {
		pairs = append(pairs, fmt.Sprintf("[%s, %s]", digits(p.Raw, 6), digits(p.Value*scale, 4)))
	}
	return "calibrate: [" + strings.Join(pairs, ", ") + "]"
}

// digits writes a number with as many digits that count, without an exponent;
// what is nothing but rounding is 0.
func digits(x float64, count int) string {
	const nothing = 1e-9
	if math.Abs(x) < nothing {
		return "0"
	}
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', count-1, 64), 64)
	if err != nil {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

// fitPicture shows readings about the calibration that was drawn through them.
func fitPicture(name, title, note string, x, y plot.Axis, points []model.CalibrationPoint, scale float64, marks []plot.Mark) picture {
	line := plot.Line{Name: "calibration"}
	for _, p := range points {
		line.X, line.Y = append(line.X, p.Raw), append(line.Y, p.Value*scale)
	}
	return picture{name, plot.Figure{Title: title, Note: note, Panels: []plot.Panel{{X: x, Y: y, Lines: []plot.Line{line}, Marks: marks}}}}
}

// draw writes a picture if one is asked for, and says so.
func (f readings) draw(p picture) ([]string, error) {
	if f.Plot == "" {
		return nil, nil
	}
	return writePictures(f.Plot, []picture{p})
}

// signed writes a difference with its sign; what rounds to nothing has none.
func signed(x float64, decimals int) string {
	text := strconv.FormatFloat(x, 'f', decimals, 64)
	switch {
	case strings.Trim(text, "-0.") == "":
		return strings.TrimPrefix(text, "-")
	case x > 0:
		return "+" + text
	}
	return text
}
