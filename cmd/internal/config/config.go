package config

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"time"

	"wickd/model"
)

// Config is what a site file says. It is read-only once made.
type Config struct {
	Site   *model.Site
	MQTT   MQTT
	Notify Notify
	Influx *Influx // nil: nothing is forwarded
	Alerts Alerts

	// Warnings are things in the file that work but are rarely meant.
	Warnings Problems

	days    []stated
	secrets []Reference
}

// stated is a day that the file gives, of something that was done.
type stated struct {
	place Problem
	day   time.Time
}

// Ahead lists the days of planting and flushing that lie after now: they may be
// a plan, and may be a wrong year. A day counts as come where it is that day
// anywhere.
func (c *Config) Ahead(now time.Time) Problems {
	const earliestZone = 14 * time.Hour
	var all Problems
	for _, d := range c.days {
		if d.day.After(now.Add(earliestZone)) {
			p := d.place
			p.Message = d.day.Format(time.DateOnly) + " lies ahead"
			all = append(all, p)
		}
	}
	return all.sorted()
}

// Load reads a site file. When the file cannot be read the error is the
// system's; when its content is wrong the error is Problems, all of them.
func Load(path string) (*Config, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read site file: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxSize+1))
	if err != nil {
		return nil, fmt.Errorf("read site file: %w", err)
	}
	return Parse(path, data)
}

// Parse reads a site file's content. The name stands before every problem, and
// its directory is where relative paths of secrets start. On error the Config
// is nil and the error is Problems.
func Parse(name string, data []byte) (*Config, error) {
	root, problems := parseTree(name, data)
	if root == nil {
		return nil, problems.sorted()
	}
	d := newDecoder(name, problems)
	var raw file
	d.value(reflect.ValueOf(&raw).Elem(), root, at(root, ""), field{})
	if d.visits > maxVisits {
		return nil, d.problems.sorted()
	}
	b := &builder{decoder: d, raw: &raw, dir: filepath.Dir(name), sources: map[source]place{}}
	cfg := b.build()
	if len(d.problems) > 0 {
		return nil, d.problems.sorted()
	}
	cfg.Warnings = b.warnings.sorted()
	return cfg, nil
}

// Topics lists the MQTT topics of all sensors, sorted, each once.
func (c *Config) Topics() []string {
	var all []string
	for _, s := range c.Site.AllSensors() {
		all = append(all, s.Topic)
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// builder turns the raw file into a Config, checking what a single value
// cannot show.
type builder struct {
	*decoder
	raw      *file
	dir      string
	site     *model.Site
	sources  map[source]place // what each number is read from
	warnings Problems
	days     []stated
	secrets  []Reference
}

func (b *builder) warn(p place, message, hint string) {
	b.warnings = append(b.warnings, Problem{File: b.file, Line: p.line, Column: p.column, Path: p.path, Message: message, Hint: hint})
}

// done remembers a day on which something was done, and what it means while it
// lies ahead.
func (b *builder) done(d date, ahead string) {
	if d.given() {
		b.days = append(b.days, stated{Problem{File: b.file, Line: d.line, Column: d.column, Path: d.path, Hint: ahead}, d.value})
	}
}

func (b *builder) build() *Config {
	b.site = &model.Site{TimeZone: time.UTC, CoverTransmission: 1}
	b.place()
	b.air()
	b.lamps()
	b.media()
	b.wicks()
	b.crops()
	b.reservoirs()
	b.channels()
	b.filling()
	b.bags()
	b.bare()
	c := &Config{
		days:   b.days,
		Site:   b.site,
		MQTT:   b.mqtt(),
		Notify: b.notify(),
		Influx: b.influx(),
		Alerts: b.alerts(),
	}
	c.secrets = b.secrets
	return c
}
