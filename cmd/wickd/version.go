package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
)

// release is set by the linker when a release is built.
var release = "dev"

// build says which source this program was made from.
func build() (version, revision string) {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return release, "unknown"
	}
	revision = "unknown"
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			revision = s.Value
		}
	}
	return release, revision
}

type versionCommand struct{}

func (versionCommand) Run(c console) error {
	version, revision := build()
	_, err := fmt.Fprintf(c.out, "wickd %s (revision %s, %s, %s/%s)\n", version, revision, runtime.Version(), runtime.GOOS, runtime.GOARCH)
	return err
}
