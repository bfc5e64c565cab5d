package house_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/house"
)

// example is one small file and what a rule must say of it: nothing, or a part
// of its one finding.
type example struct {
	file, content string
	want          string
}

func (e example) check(t *testing.T, rule func([]house.File) []house.Finding) {
	t.Helper()
	f, err := house.Parse(e.file, e.content)
	require.NoError(t, err)
	found := rule([]house.File{f})
	if e.want == "" {
		assert.Empty(t, found)
		return
	}
	require.Len(t, found, 1)
	assert.Contains(t, found[0].String(), e.want)
}

func TestSideways(t *testing.T) {
	tests := map[string]example{
		"alerts into the physics":       {"alerts/a.go", `package alerts; import "wickd/model/estimate"`, "alerts/a.go:1: alerts may not import wickd/model/estimate"},
		"ingest into the alerts":        {"ingest/journal/a.go", `package journal; import "wickd/alerts"`, "ingest may not import wickd/alerts"},
		"the physics into ingest":       {"model/sim/a.go", `package sim; import "wickd/ingest/mqtt"`, "model may not import"},
		"a test is bound too":           {"alerts/a_test.go", `package alerts; import "wickd/ingest"`, "alerts may not import"},
		"a test's server":               {"alerts/a_test.go", `package alerts; import "wickd/ingest/rig"`, ""},
		"a test's server in the house":  {"alerts/a.go", `package alerts; import "wickd/ingest/rig"`, "alerts may not import"},
		"up into the shell":             {"ingest/a.go", `package ingest; import "wickd/cmd/internal/config"`, "ingest may not import"},
		"deploy into the shell":         {"deploy/a.go", `package deploy; import "wickd/model"`, ""},
		"deploy into the alerts":        {"deploy/a.go", `package deploy; import "wickd/alerts"`, "deploy may not import"},
		"the nouns are shared":          {"alerts/a.go", `package alerts; import "wickd/model"`, ""},
		"the units are shared":          {"ingest/a.go", `package ingest; import "wickd/model/unit"`, ""},
		"a tree may import itself":      {"ingest/a.go", `package ingest; import "wickd/ingest/probe"`, ""},
		"a name that only begins alike": {"ingest/a.go", `package ingest; import "wickdata/alerts"`, ""},
		"the daemon imports everything": {"cmd/internal/daemon/a.go", `package daemon; import "wickd/alerts"`, ""},
	}
	for name, e := range tests {
		t.Run(name, func(t *testing.T) { e.check(t, house.Sideways) })
	}
}

func TestInputOutput(t *testing.T) {
	tests := map[string]example{
		"files":             {"model/a.go", `package model; import "os"`, "os can"},
		"HTTP":              {"model/climate/a.go", `package climate; import "net/http"`, "net/http can"},
		"a database":        {"model/a.go", `package model; import "database/sql"`, "database/sql can"},
		"a log":             {"model/a.go", `package model; import "log/slog"`, "log/slog can"},
		"a file system":     {"model/a.go", `package model; import "io/fs"`, "io/fs can"},
		"a renamed import":  {"model/a.go", `package model; import o "os"`, "os can"},
		"a broker's client": {"model/a.go", `package model; import "github.com/eclipse/paho.mqtt.golang"`, "paho"},
		"a test reads":      {"model/a_test.go", `package model; import "os"`, ""},
		"numerics":          {"model/a.go", `package model; import ("math"; "gonum.org/v1/gonum/mat"; "io")`, ""},
		"elsewhere":         {"ingest/a.go", `package ingest; import "os"`, ""},
	}
	for name, e := range tests {
		t.Run(name, func(t *testing.T) { e.check(t, house.InputOutput) })
	}
}

func TestOwned(t *testing.T) {
	tests := map[string]example{
		"paho elsewhere":          {"cmd/internal/daemon/a.go", `package daemon; import "github.com/eclipse/paho.mqtt.golang"`, "only ingest/mqtt"},
		"paho renamed":            {"ingest/a.go", `package ingest; import paho "github.com/eclipse/paho.mqtt.golang"`, "only ingest/mqtt"},
		"paho at home":            {"ingest/mqtt/a.go", `package mqtt; import "github.com/eclipse/paho.mqtt.golang"`, ""},
		"a test publishes":        {"cmd/internal/daemon/a_test.go", `package daemon; import "github.com/eclipse/paho.mqtt.golang"`, ""},
		"the broker elsewhere":    {"cmd/internal/daemon/a.go", `package daemon; import "github.com/mochi-mqtt/server/v2/listeners"`, "only ingest/mqtt"},
		"the broker beside paho":  {"ingest/mqtt/embedded/a.go", `package embedded; import "github.com/mochi-mqtt/server/v2"`, ""},
		"YAML elsewhere":          {"alerts/a.go", `package alerts; import "github.com/goccy/go-yaml"`, "only cmd/internal/config"},
		"YAML in a test":          {"alerts/a_test.go", `package alerts; import "github.com/goccy/go-yaml/ast"`, "only cmd/internal/config"},
		"YAML at home":            {"cmd/internal/config/a.go", `package config; import "github.com/goccy/go-yaml/parser"`, ""},
		"the database elsewhere":  {"ingest/a.go", `package ingest; import "github.com/influxdata/influxdb-client-go/v2"`, "only ingest/forward"},
		"imported but not used":   {"cmd/a.go", `package main; import _ "github.com/goccy/go-yaml"`, ""},
		"a library without owner": {"cmd/a.go", `package main; import "github.com/alecthomas/kong"`, ""},
	}
	for name, e := range tests {
		t.Run(name, func(t *testing.T) { e.check(t, house.Owned) })
	}
}

func TestClock(t *testing.T) {
	tests := map[string]example{
		"the clock":               {"model/estimate/a.go", "package estimate\nimport \"time\"\nvar now = time.Now()", "model/estimate/a.go:3: time.Now"},
		"as a value":              {"alerts/a.go", `package alerts; import "time"; var clock = time.Now`, "time.Now"},
		"renamed":                 {"alerts/a.go", `package alerts; import t "time"; func f(x t.Time) t.Duration { return t.Since(x) }`, "time.Since"},
		"a dot import":            {"alerts/a.go", `package alerts; import . "time"; var now = Now()`, "dot import"},
		"a wait":                  {"model/a.go", `package model; import "time"; func f() { time.Sleep(1) }`, "time.Sleep"},
		"a timer":                 {"alerts/a.go", `package alerts; import "time"; var x = time.NewTimer(1)`, "time.NewTimer"},
		"a deadline":              {"alerts/a.go", `package alerts; import "context"; func f() { context.WithTimeout(nil, 1) }`, "context.WithTimeout"},
		"chance":                  {"model/sim/a.go", `package sim; import "math/rand/v2"; var x = rand.Float64()`, "math/rand/v2.Float64"},
		"a seeded source":         {"model/sim/a.go", `package sim; import "math/rand/v2"; var x = rand.New(rand.NewPCG(1, 2)).Float64()`, ""},
		"a method of that name":   {"model/a.go", `package model; import "time"; func f(a, b time.Time) bool { return a.After(b) }`, ""},
		"a variable of that name": {"model/a.go", `package model; type c struct{}; func (c) Now() int { return 0 }; func f() { time := c{}; time.Now() }`, ""},
		"in a comment":            {"model/a.go", "package model\n// time.Now is not used here.\n", ""},
		"an excused wait":         {"alerts/notify/dispatcher.go", `package notify; import "time"; var x = time.NewTimer(1)`, ""},
		"excused for another":     {"alerts/notify/dispatcher.go", `package notify; import "time"; var x = time.Now()`, "time.Now"},
		"a test measures":         {"model/a_test.go", `package model; import "time"; var x = time.Now()`, ""},
		"the shell":               {"cmd/internal/daemon/a.go", `package daemon; import "time"; var x = time.Now()`, ""},
	}
	for name, e := range tests {
		t.Run(name, func(t *testing.T) { e.check(t, house.Clock) })
	}
}

func TestExcuses(t *testing.T) {
	none, err := house.Parse("alerts/notify/dispatcher.go", `package notify`)
	require.NoError(t, err)
	all := house.Excuses([]house.File{none})
	require.NotEmpty(t, all)
	assert.Contains(t, all[0].String(), "excused but not used")

	one, err := house.Parse("alerts/notify/dispatcher.go", `package notify; import "time"; var x = time.NewTimer(1)`)
	require.NoError(t, err)
	assert.Len(t, house.Excuses([]house.File{one}), len(all)-1)
}

func TestExplained(t *testing.T) {
	tests := map[string]example{
		"nothing said":   {"model/a.go", `package model`, `"Package model "`},
		"something else": {"model/a.go", "// Nouns.\npackage model", `"Package model "`},
		"explained":      {"model/a.go", "// Package model holds the nouns.\npackage model", ""},
		"a program":      {"cmd/wickd/main.go", "// Command wickd watches bags.\npackage main", ""},
		"tests alone":    {"deploy/a_test.go", `package deploy_test`, ""},
	}
	for name, e := range tests {
		t.Run(name, func(t *testing.T) { e.check(t, house.Explained) })
	}
}

func TestTop(t *testing.T) {
	assert.Empty(t, house.Top([]string{"cmd", "README.md", ".ci", ".gitignore"}))
	assert.Equal(t, []house.Finding{{Where: "util", What: "does not belong at the top of the tree"}}, house.Top([]string{"util"}))
}

func TestLater(t *testing.T) {
	assert.Empty(t, house.Later("a.go", "what is to do, todo, hacksaw"))
	found := house.Later("a.go", "fine\n// TO"+"DO: later")
	require.Len(t, found, 1)
	assert.Equal(t, "a.go:2", found[0].Where)
}

func TestCommandLines(t *testing.T) {
	lines := house.CommandLines("wickd outside of a block\n```sh\n$ wickd run --site x\ngo run ./cmd/wickd demo --for 60s\nwickd --help\nsudo wickd status\necho wickd\nwickdata load\n```\nwickd again outside\n")
	assert.Equal(t, []house.Line{{3, "run"}, {4, "demo"}, {5, ""}, {6, "status"}}, lines)
	found := house.Unknown("README.md", lines, func(c string) bool { return c != "demo" })
	assert.Equal(t, []house.Finding{{Where: "README.md:4", What: `wickd has no command "demo"`}}, found)
}

func TestWhatDoesNotParseIsAnError(t *testing.T) {
	_, err := house.Parse("a.go", "package")
	assert.ErrorContains(t, err, "a.go")
}
