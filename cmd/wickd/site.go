package main

import (
	"errors"
	"fmt"

	"wickd/cmd/internal/config"
)

// loadSite reads a site file. Its mistakes are printed as they stand, a line
// each; warnings go to the error output and stop nothing.
func loadSite(path string, c console) (*config.Config, error) {
	site, err := config.Load(path)
	var problems config.Problems
	switch {
	case errors.As(err, &problems):
		fmt.Fprintln(c.err, problems.Error())
		return nil, errQuiet
	case err != nil:
		return nil, err
	}
	for _, w := range site.Warnings {
		fmt.Fprintln(c.err, "warning:", w.String())
	}
	return site, nil
}
