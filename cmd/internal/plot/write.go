package plot

import (
	"bytes"
	"fmt"
	"image/color"
	"io"
	"os"
	"path/filepath"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

func (f Figure) size() (w, h vg.Length) {
	w, each := vg.Length(pageWidth), vg.Length(panelHeight)
	if f.Narrow {
		w, each = phoneWidth, phoneHeight
	}
	h = f.head(w) + margin
	for _, p := range f.Panels {
		h += each + p.lanes(f.gutter()).height()
	}
	return w, h
}

func noteStyle() text.Style { return lettering(8.5, faint(), text.XLeft, text.YTop) }

// noteDown is how far below the title the note begins.
const noteDown = vg.Length(17)

// head is what title and note take; a note of two lines leaves it as it is. On a
// phone it is always the same.
func (f Figure) head(width vg.Length) vg.Length {
	if f.Narrow {
		return headHeight
	}
	style, room := noteStyle(), vg.Points(4)
	return max(headHeight, margin+noteDown+style.Height(wrap(style, f.Note, width-2*margin))+room)
}

func (f Figure) pixels() int {
	if f.Narrow {
		return phonePixels
	}
	return pixelsInch
}

// paint draws the whole figure.
func (f Figure) paint(c draw.Canvas) error {
	c.FillPolygon(color.White, []vg.Point{c.Min, {X: c.Max.X, Y: c.Min.Y}, c.Max, {X: c.Min.X, Y: c.Max.Y}})
	c = draw.Crop(c, margin, -margin, margin, -margin)
	c.FillText(bold(lettering(12, ink(), text.XLeft, text.YTop)), vg.Point{X: c.Min.X, Y: c.Max.Y}, f.Title)
	note := noteStyle()
	c.FillText(note, vg.Point{X: c.Min.X, Y: c.Max.Y - noteDown}, wrap(note, f.Note, c.Max.X-c.Min.X))
	heights, top := f.heights(c)
	parts := make([]draw.Canvas, len(f.Panels))
	drawings := make([]drawing, len(f.Panels))
	var left vg.Length
	for i, p := range f.Panels {
		part := c
		part.Max.Y, part.Min.Y = top, top-heights[i]
		top = part.Min.Y
		parts[i] = draw.Crop(part, 0, 0, vg.Points(6), -vg.Points(8))
		var err error
		if drawings[i], err = p.prepare(); err != nil {
			return fmt.Errorf("draw %q: %w", f.Title, err)
		}
		left = max(left, drawings[i].left(parts[i]))
	}
	for i, d := range drawings {
		d.paint(parts[i], left, f.gutter(), f.Narrow)
	}
	return nil
}

// heights shares what is left under the head among the panels, each with its
// lanes.
func (f Figure) heights(c draw.Canvas) (heights []vg.Length, top vg.Length) {
	top = c.Max.Y + margin - f.head(c.Max.X-c.Min.X+2*margin)
	each := top - c.Min.Y
	for _, p := range f.Panels {
		heights = append(heights, p.lanes(f.gutter()).height())
		each -= heights[len(heights)-1]
	}
	for i := range heights {
		heights[i] += each / vg.Length(len(f.Panels))
	}
	return heights, top
}

// gutter is what names beyond the ends of lines take, all panels alike.
func (f Figure) gutter() vg.Length {
	if f.Narrow {
		return 0
	}
	for _, p := range f.Panels {
		if len(p.Lanes)+len(p.Clouds) > 0 {
			return nameWidth
		}
		for _, l := range p.Lines {
			if l.Name != "" && l.Beside.Side == AtEnd {
				return nameWidth
			}
		}
		for _, r := range p.Rules {
			if r.Name != "" && !r.Upright {
				return nameWidth
			}
		}
	}
	return margin
}

// SVG writes the figure as SVG 1.1.
func (f Figure) SVG(w io.Writer) error {
	if err := f.Validate(); err != nil {
		return err
	}
	width, height := f.size()
	c := vgsvg.New(width, height)
	if err := f.paint(draw.New(c)); err != nil {
		return err
	}
	if _, err := c.WriteTo(w); err != nil {
		return fmt.Errorf("write %q as SVG: %w", f.Title, err)
	}
	return nil
}

// PNG writes the figure as PNG, fine enough for print at its size.
func (f Figure) PNG(w io.Writer) error {
	if err := f.Validate(); err != nil {
		return err
	}
	width, height := f.size()
	c := vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(f.pixels()))}
	if err := f.paint(draw.New(c)); err != nil {
		return err
	}
	if _, err := c.WriteTo(w); err != nil {
		return fmt.Errorf("write %q as PNG: %w", f.Title, err)
	}
	return nil
}

// Write writes dir/name.svg and dir/name.png, making dir if there is none, and
// returns their names. Nothing is written when the figure cannot be drawn.
func (f Figure) Write(dir, name string) ([]string, error) {
	if err := f.Validate(); err != nil {
		return nil, err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("write pictures: %w", err)
	}
	var svg, png bytes.Buffer
	if err := f.SVG(&svg); err != nil {
		return nil, err
	}
	if err := f.PNG(&png); err != nil {
		return nil, err
	}
	var written []string
	for _, file := range []struct {
		ending  string
		content []byte
	}{{".png", png.Bytes()}, {".svg", svg.Bytes()}} {
		path := filepath.Join(dir, name+file.ending)
		if err := os.WriteFile(path, file.content, 0o644); err != nil {
			return nil, fmt.Errorf("write pictures: %w", err)
		}
		written = append(written, path)
	}
	return written, nil
}
