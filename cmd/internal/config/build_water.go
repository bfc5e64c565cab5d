package config

import (
	"fmt"
	"strconv"

	"wickd/model"
	"wickd/model/design"
)

// lowShare of the depth between empty and full is left when a refill is
// due. Common practice: a fifth in reserve. When it runs out is the
// forecast's business, so the mark need not be exact.
const lowShare = 0.2

// reservoirs makes the reservoirs, sorted by id.
func (b *builder) reservoirs() {
	for _, id := range inOrder(b.raw.Reservoirs) {
		raw := b.raw.Reservoirs[id]
		if !raw.given() || !b.checkID(raw.place, id) {
			continue
		}
		r := model.Reservoir{
			ID: id, Full: raw.Full.value, Empty: raw.Empty.value, Low: raw.Low.value,
			Open: raw.Open.value, MaxTemp: raw.MaxTemperature.value, FloatValve: raw.FloatValve.value, FeedsAtTimes: raw.FeedsAtTimes.value,
		}
		if r.FeedsAtTimes && r.FloatValve {
			b.report(raw.FeedsAtTimes.place, "a float valve keeps its level, so that no filling of a channel shows", "leave it out")
		}
		var height float64
		r.Shape, height = b.shape(raw.Shape)
		b.levels(raw, height)
		b.deep(raw, r.Shape.Table)
		if !raw.Low.given() {
			r.Low = r.Empty + lowShare*(r.Full-r.Empty)
		}
		r.Target = b.target(raw.Target)
		if w := raw.Water; w != nil {
			r.Water = &model.Water{EC: w.EC.value, Alkalinity: w.Alkalinity.value, PH: w.PH.value}
			b.fit(w.EC, r.Target)
		}
		r.Sensors = b.reservoirSensors(id, raw.Sensors, r.Full, brim(height, r.Full))
		b.site.Reservoirs = append(b.site.Reservoirs, r)
	}
}

// levels checks that the marks of a reservoir are in order and within it.
func (b *builder) levels(raw rawReservoir, height float64) {
	full, empty, low := raw.Full, raw.Empty, raw.Low
	if full.given() && height > 0 && full.value > height {
		b.report(full.place, fmt.Sprintf("full at %s is above the reservoir's height of %g mm", full.shown, height), "")
	}
	if empty.given() && height > 0 && empty.value >= height {
		b.report(empty.place, fmt.Sprintf("empty at %s is not below the reservoir's height of %g mm", empty.shown, height), "")
	}
	if full.given() && empty.given() && empty.value >= full.value {
		b.report(empty.place, fmt.Sprintf("empty at %s is not below full at %s", empty.shown, full.shown), "levels are measured from the floor")
		return
	}
	if low.given() && full.given() && empty.given() && (low.value < empty.value || low.value >= full.value) {
		b.report(low.place, fmt.Sprintf("low at %s is not between empty and full", low.shown), "")
	}
}

// shape makes a shape and gives the height that a level cannot exceed, mm; 0:
// not known.
func (b *builder) shape(raw rawShape) (model.Shape, float64) {
	if !raw.given() {
		return model.Shape{}, 0
	}
	b.exactlyOne(raw.place, "give one of box, upright cylinder, lying cylinder and table, for example box: {length: 80 cm, width: 60 cm}",
		way{"box", raw.Box != nil}, way{"upright cylinder", raw.Upright != nil},
		way{"lying cylinder", raw.Lying != nil}, way{"table", raw.Table != nil})
	switch {
	case raw.Box != nil:
		return model.Shape{Kind: model.Box, Length: raw.Box.Length.value, Width: raw.Box.Width.value}, raw.Box.Height.value
	case raw.Upright != nil:
		return model.Shape{Kind: model.UprightCylinder, Diameter: raw.Upright.Diameter.value}, raw.Upright.Height.value
	case raw.Lying != nil:
		return model.Shape{Kind: model.LyingCylinder, Diameter: raw.Lying.Diameter.value, Length: raw.Lying.Length.value}, raw.Lying.Diameter.value
	case raw.Table != nil:
		rows := b.rows(raw)
		if len(rows) == 0 {
			return model.Shape{Kind: model.Table}, 0
		}
		return model.Shape{Kind: model.Table, Table: rows}, rows[len(rows)-1].Level
	}
	return model.Shape{}, 0
}

// rows checks that a table rises in level and in volume.
func (b *builder) rows(raw rawShape) []model.LevelVolume {
	var rows []model.LevelVolume
	for i, r := range raw.Table {
		if !r.given() {
			return nil
		}
		if r.level < 0 || r.volume < 0 {
			b.report(r.place, "level and volume cannot be below 0", "")
			return nil
		}
		if r.level > tallest || r.volume > largest {
			b.report(r.place, fmt.Sprintf("no vessel holds %s L at %s mm", plain(r.volume), plain(r.level)), "see whether a unit is mistyped")
			return nil
		}
		if i > 0 && (r.level <= rows[i-1].Level || r.volume <= rows[i-1].Volume) {
			b.report(r.place, fmt.Sprintf("rows must rise in level and in volume; %.4g mm, %.4g L follows %.4g mm, %.4g L", r.level, r.volume, rows[i-1].Level, rows[i-1].Volume),
				"sort them from the floor up, and leave out what is there twice")
			return nil
		}
		if i == 0 && r.level == 0 && r.volume > 0 {
			b.report(r.place, fmt.Sprintf("the vessel holds %.4g L at level 0", r.volume), "levels are measured from the floor")
			return nil
		}
		rows = append(rows, model.LevelVolume{Level: r.level, Volume: r.volume})
	}
	if len(rows) < 2 {
		b.report(raw.under("table"), "a table needs at least two rows", "for example [[0 mm, 0 L], [400 mm, 150 L]]")
		return rows
	}
	b.doubtRows(raw, rows)
	return rows
}

// Bounds of a vessel's table: those of the other shapes.
const (
	tallest = 10e3 // mm
	largest = 1e6  // L
)

// deep checks that a table says what the vessel holds down to its mark of empty.
func (b *builder) deep(raw rawReservoir, rows []model.LevelVolume) {
	if len(rows) == 0 || !raw.Empty.given() || rows[0].Level <= raw.Empty.value {
		return
	}
	if first := rows[0]; first.Volume > 0 {
		b.warn(raw.Empty.place, fmt.Sprintf("empty at %s is below the first row of the table; from %.4g mm down the volume is taken to go straight to nothing at the floor", raw.Empty.shown, first.Level),
			"add a row at or below empty")
		return
	}
	b.report(raw.Empty.place, fmt.Sprintf("empty at %s is below %.4g mm, where the table holds nothing", raw.Empty.shown, rows[0].Level), "")
}

// doubtRows warns of a part of a table that is far wider than the next: a vessel
// may widen upwards, a cone between two rows of which one is twice as high by
// 7 to 1, but it seldom narrows at once, and a mistyped row does both.
func (b *builder) doubtRows(raw rawShape, rows []model.LevelVolume) {
	const narrows, widens = 4, 10
	wide := func(i int) float64 { // litres per millimetre above row i
		return (rows[i+1].Volume - rows[i].Volume) / (rows[i+1].Level - rows[i].Level)
	}
	for i := range len(rows) - 2 {
		at := i
		switch below, above := wide(i), wide(i+1); {
		case above > widens*below:
			at = i + 1
		case below <= narrows*above:
			continue
		}
		b.warn(raw.Table[at+1].place, fmt.Sprintf("from %.4g mm to %.4g mm the vessel would be %.3g times as wide as beside it", rows[at].Level, rows[at+1].Level, max(wide(i)/wide(i+1), wide(i+1)/wide(i))),
			"see whether a level or a volume is mistyped")
	}
}

func (b *builder) target(raw *rawTarget) model.Target {
	if raw == nil {
		return model.Target{}
	}
	t := model.Target{EC: raw.EC.value, PH: raw.PH.value, ECTolerance: raw.ECTolerance.value, PHTolerance: raw.PHTolerance.value}
	if raw.ECTolerance.given() && raw.EC.given() && t.ECTolerance >= t.EC {
		b.report(raw.ECTolerance.place, fmt.Sprintf("a tolerance of %s leaves no band around %s", raw.ECTolerance.shown, raw.EC.shown), "for example 0.2 mS/cm")
	}
	return t
}

// fit refuses a target that the water alone is too strong for.
func (b *builder) fit(water conductance, t model.Target) {
	if water.given() && t.EC > 0 && water.value >= t.EC {
		b.report(water.place, fmt.Sprintf("water of %s leaves no room for feed below the target of %.4g mS/cm", water.shown, t.EC), "use water with less salt, or see whether the two have been swapped")
	}
}

// reservoirSensors makes the sensors in the order level, EC, pH, temperature.
// full is the mark of the reservoir, highest the bound of its levels where the
// site file gives none, mm.
func (b *builder) reservoirSensors(id string, raw *rawReservoirSensors, full, highest float64) []model.Sensor {
	if raw == nil {
		return nil
	}
	subject := model.ReservoirSubject(id)
	var all []model.Sensor
	add := func(s *model.Sensor) {
		if s != nil {
			all = append(all, *s)
		}
	}
	of := func(s *rawSensor, q model.Quantity) *model.Sensor { return b.sensor(s, subject.Sensor(q), q, id) }
	level := of(raw.Level, model.Level)
	if level != nil && !raw.Level.Max.given() && highest > level.Min {
		level.Max = highest
	}
	if level != nil && raw.Level.Max.given() && level.Max <= full {
		b.report(raw.Level.Max.place, fmt.Sprintf("max at %g mm is not above full at %g mm", level.Max, full), "max is where a level is no longer believed")
	}
	add(level)
	if raw.EC != nil {
		ec := of(&raw.EC.rawSensor, model.EC)
		b.compensation(raw.EC, ec, raw.Temperature)
		add(ec)
	}
	add(of(raw.PH, model.PH))
	add(of(raw.Temperature, model.Temperature))
	return all
}

// brim is the level that a working sensor cannot be above, mm; 0: not known. A
// vessel is measured to a few per cent, and a sensor's zero to a centimetre;
// where its height is not stated, a third is left above the mark of full.
func brim(height, full float64) float64 {
	switch {
	case height > 0:
		return 1.03*height + 10
	case full > 0:
		return 4.0/3*full + 20
	}
	return 0
}

// channels makes the channels, sorted by id.
func (b *builder) channels() {
	for _, id := range inOrder(b.raw.Channels) {
		raw := b.raw.Channels[id]
		if !raw.given() || !b.checkID(raw.place, id) {
			continue
		}
		refer(b.decoder, raw.Reservoir, "reservoir", b.raw.Reservoirs)
		if b.raw.Reservoirs[raw.Reservoir.value].FeedsAtTimes.value && !raw.Holds.given() {
			b.missing(raw.place, "holds", fmt.Sprintf("is missing: reservoir %s feeds at times", raw.Reservoir.value), "say what the channel holds when it has just been filled, for example holds: 12 L")
		}
		b.site.Channels = append(b.site.Channels, model.Channel{
			ID: id, Reservoir: raw.Reservoir.value, Lift: raw.Lift.value, Holds: raw.Holds.value, Slope: raw.Slope.value,
		})
	}
}

// filling warns of a reservoir that cannot fill its channels: a volume or a mark
// is then likely mistyped, as nobody builds that.
func (b *builder) filling() {
	if len(b.problems) > 0 {
		return
	}
	for _, r := range b.site.Reservoirs {
		if !r.FeedsAtTimes {
			continue
		}
		built, err := design.Build(&model.Site{Reservoirs: []model.Reservoir{r}, Channels: b.site.Channels})
		if err != nil {
			continue // it will be told where the site is built
		}
		if v := built.Reservoirs[0]; v.Standing > v.Usable() {
			b.warn(b.raw.Reservoirs[r.ID].FeedsAtTimes.place, fmt.Sprintf("its channels hold %s L when filled, and it gives %s L between full and empty", plain(v.Standing), plain(v.Usable())),
				"see whether holds of a channel, or a measure of the reservoir, is mistyped")
		}
	}
}

// plain writes a figure to four places, and never with an exponent.
func plain(x float64) string {
	short, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 4, 64), 64)
	return strconv.FormatFloat(short, 'f', -1, 64)
}

// bare warns of channels on which no bag lies.
func (b *builder) bare() {
	used := map[string]bool{}
	for _, bag := range b.site.Bags {
		used[bag.Channel] = true
	}
	for _, id := range inOrder(b.raw.Channels) {
		if raw := b.raw.Channels[id]; raw.given() && !used[id] {
			b.warn(raw.place, "no bag lies on it", "what it holds counts as a buffer all the same")
		}
	}
}
