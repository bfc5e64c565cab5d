package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/alerts"
	"wickd/cmd/internal/plot"
	"wickd/model"
)

// report is what a replay of the bench draws, by the name of the file, for a site
// file in which one text has taken the place of another.
func report(t *testing.T, from, to string, args ...string) (files func(name string) string, complaint string) {
	t.Helper()
	dir := t.TempDir()
	bench, err := os.ReadFile("testdata/bench/site.yaml")
	require.NoError(t, err)
	require.Contains(t, string(bench), from)
	site := filepath.Join(dir, "site.yaml")
	require.NoError(t, os.WriteFile(site, []byte(strings.Replace(string(bench), from, to, 1)), 0o600))
	args = append([]string{"replay", "-q", "--site", site, "--plot", dir, "--records", filepath.Join(dir, "out.ndjson")}, args...)
	code, _, complaint := command(t, append(args, "testdata/bench/capture.ndjson.gz")...)
	require.Equal(t, exitDone, code, complaint)
	return func(name string) string {
		text, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		return string(text)
	}, complaint
}

// Pictures and the report name the zone of their times, the limits that the site
// file states, and every alert in plain words.
func TestPicturesNameWhatTheyShow(t *testing.T) {
	t.Parallel()
	files, _ := report(t, "timezone: UTC", "timezone: Asia/Kolkata")
	tank := letters(files("reservoir-tank.svg"))
	for _, want := range []string{"2026; times: Asia/Kolkata", "full, 90 L", "low, 29 L", "empty, 12 L", "target, at most 2.1", "target, at least 1.5", "reservoir low", "nine times in ten"} {
		assert.Contains(t, tank, want)
	}
	bag := letters(files("bag-p2.svg"))
	for _, want := range []string{"wet limit, 64 %", "dry limit, 33 %", "wicks failing", "readings, one every 20 min"} {
		assert.Contains(t, bag, want)
	}
	for _, picture := range []string{tank, bag} {
		assert.Contains(t, picture, "Bars over a panel, and shades in it: alerts while they stood")
	}
	assert.NotContains(t, bag, "wick-failing")
	assert.NotContains(t, bag, "middle 90")
	assert.Contains(t, letters(files("bag-p3.svg")), "moisture probe silent")

	page := files(reportName)
	assert.Contains(t, page, "(times: Asia/Kolkata)")
	assert.NotContains(t, page, "<strong>", "nothing is doubted")
	assert.Contains(t, page, "8 June 2026 06:30", "the recording begins at 01:00 UTC")
	assert.Contains(t, page, `alt="Bag p2 over time; water content, % from `)
	assert.Contains(t, page, "Alerts: wicks failing.")
	assert.Contains(t, page, `<a href="bag-p2.svg"><img src="bag-p2.svg"`, "it can be opened alone")
	assert.Contains(t, page, "@media screen and (max-width:42rem)", "cells are stacked on a phone")
}

// Every condition has words of its own, and no code.
func TestConditionWords(t *testing.T) {
	t.Parallel()
	known := map[string]bool{}
	for _, d := range alerts.Conditions() {
		words := conditionWords(d.Condition)
		assert.NotContains(t, words, "-")
		assert.False(t, known[words], words)
		known[words] = true
	}
	assert.Equal(t, "pH probe stuck", alertWords(model.Transition{Subject: "reservoir/tank/ph", Condition: alerts.SensorStuck}))
	assert.Equal(t, "EC off its target", alertWords(model.Transition{Subject: "reservoir/tank", Condition: alerts.ECOffTarget}))
}

// galleryOf is of so many hours.
func galleryOf(hours int, story *chronicle) gallery {
	start := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	for i := range hours {
		story.hours = append(story.hours, model.Snapshot{Time: start.Add(time.Duration(i) * time.Hour)})
	}
	return newGallery(&model.Site{TimeZone: time.UTC, Bags: []model.Bag{{ID: "a1"}, {ID: "a2"}, {ID: "a3"}}}, story, nil)
}

// An alert that comes again stands in one lane; one that was kept back is hollow
// and shades nothing.
func TestAlertsHaveLanes(t *testing.T) {
	t.Parallel()
	story := newChronicle(true)
	g := galleryOf(97, story)
	dry := raisedAt("bag/a1", alerts.BagDry, g.from.Add(24*time.Hour))
	again := raisedAt("bag/a1", alerts.BagDry, g.from.Add(72*time.Hour))
	kept := raisedAt("bag/a1", alerts.BagDrying, g.from.Add(12*time.Hour))
	kept.Suppressed = true
	story.cleared[dry.Occurrence] = g.from.Add(48 * time.Hour)
	story.Changed([]model.Transition{dry, again, kept})
	var p plot.Panel
	g.alerts(&p, func(model.Transition) bool { return true })
	assert.Equal(t, []plot.Lane{
		{Name: "bag drying out, kept back", Spans: []plot.Span{{From: 0.5, To: 4, Hollow: true}}},
		{Name: "bag dry", Spans: []plot.Span{{From: 1, To: 2}, {From: 3, To: 4}}},
	}, p.Lanes)
	assert.Equal(t, []plot.Area{{From: 1, To: 2}, {From: 3, To: 4}}, p.Areas)
	assert.Empty(t, p.Rules)
}

// A line of seventy days has no more points than can be told apart, and a leap in
// it stays a leap.
func TestLongLinesAreThinned(t *testing.T) {
	t.Parallel()
	g := galleryOf(70*24, newChronicle(true))
	var p plot.Panel
	step := func(s model.Snapshot) float64 {
		if g.day(s.Time) < 35 {
			return 1.4
		}
		return 2.3
	}
	g.over(&p, "estimate", plot.Solid, step)
	require.Len(t, p.Lines, 1)
	assert.Equal(t, "estimate, median of 6 h", p.Lines[0].Name)
	assert.Len(t, p.Lines[0].X, 70*4)
	for _, v := range p.Lines[0].Y {
		assert.Contains(t, []float64{1.4, 2.3}, v)
	}
	readings := &series{}
	for i := range 70 * 144 {
		readings.at, readings.values = append(readings.at, g.from.Add(time.Duration(i)*10*time.Minute)), append(readings.values, 1.4)
	}
	g.story.readings["reservoir/tank/ec"] = readings
	g.heard(&p, "reservoir/tank/ec", 1)
	require.Len(t, p.Clouds, 1)
	assert.Equal(t, "readings, one every 6 h", p.Clouds[0].Name)
	assert.Len(t, p.Clouds[0].X, 70*4)
	assert.Equal(t, 48*time.Hour, stretch(500*24*time.Hour, 350))
}

// A truth that ends before the recording does says so.
func TestTruthThatEndsEarly(t *testing.T) {
	t.Parallel()
	g := galleryOf(97, newChronicle(true))
	so := &series{}
	for i := range 48 {
		so.at, so.values = append(so.at, g.from.Add(time.Duration(i)*time.Hour)), append(so.values, 0.5)
	}
	var p plot.Panel
	g.so(&p, so, inPercent)
	assert.Equal(t, "truth, to 2 Jun 23:00", p.Lines[0].Name)
}
