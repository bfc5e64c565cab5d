// Command scratch is temporary.
package main

import (
	"bufio"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"
	"time"

	"wickd/model"
	"wickd/model/design"
	"wickd/model/estimate"
)

func must(err error) {
	if err != nil {
		panic(err)
	}
}
func main() {
	dir := os.Args[1]
	y, err := os.ReadFile(dir + "/site.yaml")
	must(err)
	num := func(re string) []float64 {
		var out []float64
		for _, m := range regexp.MustCompile(re).FindAllStringSubmatch(string(y), -1) {
			v, _ := strconv.ParseFloat(m[1], 64)
			out = append(out, v)
		}
		return out
	}
	box := regexp.MustCompile(`box: \{length: ([\d.]+) cm, width: ([\d.]+) cm`).FindStringSubmatch(string(y))
	L, _ := strconv.ParseFloat(box[1], 64)
	W, _ := strconv.ParseFloat(box[2], 64)
	ret := regexp.MustCompile(`residual: ([\d.]+), saturated: ([\d.]+), alpha: ([\d.]+) /cm, n: ([\d.]+)`).FindAllStringSubmatch(string(y), -1)
	con := num(`conductivity: ([\d.]+)`)
	rt := func(m []string) *model.Retention {
		f := func(i int) float64 { v, _ := strconv.ParseFloat(m[i], 64); return v }
		return &model.Retention{Residual: f(1), Saturated: f(2), Alpha: f(3), N: f(4)}
	}
	site := &model.Site{Name: "x", Place: &model.Place{Latitude: 47, Longitude: 8.5, Elevation: 310}, TimeZone: time.UTC, CoverTransmission: .7,
		Media:      map[string]model.Medium{"m": {Name: "m", Retention: rt(ret[0]), Conductivity: con[0]}},
		Wicks:      map[string]model.WickKind{"w": {Name: "w", Section: num(`section: ([\d.]+)`)[0], Retention: rt(ret[1]), Conductivity: con[1]}},
		Crops:      map[string]model.Crop{"c": {Name: "c", Coefficient: num(`coefficient: ([\d.]+)`)[0]}},
		Reservoirs: []model.Reservoir{{ID: "tank", Shape: model.Shape{Kind: model.Box, Length: L * 10, Width: W * 10}, Full: num(`full: ([\d.]+)`)[0], Empty: num(`empty: ([\d.]+)`)[0]}},
	}
	for _, q := range []model.Quantity{model.Level, model.EC, model.PH, model.Temperature} {
		site.Reservoirs[0].Sensors = append(site.Reservoirs[0].Sensors, model.Sensor{ID: model.ReservoirSubject("tank").Sensor(q), Quantity: q})
	}
	for _, q := range []model.Quantity{model.Temperature, model.Humidity, model.Radiation} {
		site.Air = append(site.Air, model.Sensor{ID: model.AirSubject(q), Quantity: q})
	}
	lifts := regexp.MustCompile(`  (\w): \{reservoir: tank, lift: ([\d.]+)`).FindAllStringSubmatch(string(y), -1)
	for _, l := range lifts {
		v, _ := strconv.ParseFloat(l[2], 64)
		site.Channels = append(site.Channels, model.Channel{ID: l[1], Reservoir: "tank", Lift: v})
		for i := 1; i <= 6; i++ {
			id := fmt.Sprintf("%s%d", l[1], i)
			s := model.Sensor{ID: model.BagSubject(id).Sensor(model.Moisture), Quantity: model.Moisture}
			site.Bags = append(site.Bags, model.Bag{ID: id, Channel: l[1], Diameter: num(`diameter: ([\d.]+)`)[0], Length: 10 * num(`mm, length: ([\d.]+) cm`)[0], Fill: .97, Media: "m", Wick: "w", WickCount: int(num(`count: ([\d.]+)`)[0]), Plants: 3, Crop: "c", Canopy: num(`canopy: ([\d.]+)`)[0], Moisture: &s})
		}
	}
	d, err := design.Build(site)
	must(err)
	b0 := d.Bags[0]
	fmt.Fprintf(os.Stderr, "vol %.2f eq %.3f dry %.3f wet %.3f supply %.2f easily %.2f\n", b0.Volume(), b0.Equilibrium(), b0.DryLimit, b0.WetLimit, b0.SupplyAtLimit(), b0.EasilyAvailable())
	e, err := estimate.New(estimate.Options{Design: d})
	must(err)
	f, err := os.Open(dir + "/capture.ndjson.gz")
	must(err)
	z, err := gzip.NewReader(f)
	must(err)
	sc := bufio.NewScanner(z)
	var tick time.Time
	out, _ := os.Create(os.Args[2])
	w := bufio.NewWriter(out)
	enc := json.NewEncoder(w)
	causes := map[string]bool{}
	run := func(t time.Time) {
		if tick.IsZero() {
			tick = t.Truncate(time.Minute)
		}
		for !tick.After(t) {
			e.Advance(tick)
			if tick.Minute()%10 == 0 {
				s := e.Snapshot(tick, nil)
				for _, b := range s.Bags {
					if b.Cause != "" && !causes[b.Bag+string(b.Cause)] {
						causes[b.Bag+string(b.Cause)] = true
						fmt.Fprintln(os.Stderr, tick.Sub(time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)).Hours(), b.Bag, b.Cause, b.WickHealth.Value, b.WickHealth.SD)
					}
					if tick.Minute() == 0 {
						enc.Encode(map[string]any{"record": "bag", "time": tick, "bag": b.Bag, "water_content": b.WaterContent.Value, "water_content_sd": b.WaterContent.SD, "uptake_l": b.Uptake, "wick_health": b.WickHealth.Value, "hs": b.WickHealth.SD, "d": b.DemandFactor.Value, "ds": b.DemandFactor.SD, "off": b.ProbeOffset.Value, "dry_at": b.DryAt})
					}
				}
				if tick.Minute() == 0 {
					for _, r := range s.Reservoirs {
						enc.Encode(map[string]any{"record": "reservoir", "time": tick, "reservoir": "tank", "volume_l": r.Volume.Value, "vsd": r.Volume.SD, "draw_l_per_day": r.DrawPerDay.Value, "unexplained_l_per_day": r.Unexplained.Value, "unexplained_sd": r.Unexplained.SD, "empty_at": r.EmptyAt, "csd": r.DrawPerDay.SD})
					}
				}
			}
			tick = tick.Add(time.Minute)
		}
	}
	for sc.Scan() {
		var m struct{ Tst, Topic, Payload string }
		must(json.Unmarshal(sc.Bytes(), &m))
		t, err := time.Parse(time.RFC3339, m.Tst)
		must(err)
		run(t.Add(-time.Second))
		v, err := strconv.ParseFloat(m.Payload, 64)
		must(err)
		p := strings.Split(m.Topic, "/")
		var id model.Subject
		switch p[1] {
		case "air":
			id = model.AirSubject(model.Quantity(p[2]))
			if p[2] == "humidity" {
				v /= 100
			}
		case "tank":
			id = model.ReservoirSubject("tank").Sensor(model.Quantity(p[2]))
		default:
			id = model.BagSubject(p[1]).Sensor(model.Moisture)
			v /= 100
		}
		e.Observe(model.Reading{Sensor: id, Time: t, Value: v, Verdict: model.Good})
	}
	w.Flush()
	fmt.Fprintln(os.Stderr, "resets", e.Resets())
}
