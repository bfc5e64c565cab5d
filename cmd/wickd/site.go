package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"wickd/cmd/internal/config"
)

// loadSite reads a site file. Its mistakes are printed as they stand, a line
// each; warnings go to the error output and stop nothing.
func loadSite(path string, c console) (*config.Config, error) {
	site, err := readSite(path)
	var problems config.Problems
	switch {
	case errors.As(err, &problems):
		fmt.Fprintln(c.err, problems.Error())
		return nil, errQuiet
	case err != nil:
		return nil, err
	}
	warn(c, site.Warnings)
	return site, nil
}

// readSite is config.Load for what a person names.
func readSite(path string) (*config.Config, error) {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return nil, fmt.Errorf("read site file: %s is a directory; give the file in it, for example %s", path, filepath.Join(path, "site.yaml"))
	}
	site, err := config.Load(path)
	if errors.Is(err, fs.ErrNotExist) {
		err = fmt.Errorf("%w; see whether the path is right, or begin with a copy of the example, deploy/site.yaml", err)
	}
	return site, err
}

func warn(c console, warnings config.Problems) {
	for _, w := range warnings {
		fmt.Fprintln(c.err, "warning:", w.String())
	}
}
