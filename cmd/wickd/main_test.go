package main

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestMain lets the tests start wickd as a process of its own: the test binary
// stands on the path under that name.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"wickd": main})
}

func TestScripts(t *testing.T) {
	bench, err := filepath.Abs("testdata/bench")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		Setup: func(e *testscript.Env) error {
			site, err := os.ReadFile(filepath.Join(bench, "site.yaml"))
			if err != nil {
				return err
			}
			return os.WriteFile(filepath.Join(e.WorkDir, "bench.yaml"), site, 0o600)
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){"usage": usage},
	})
}

// usage runs wickd with a mistake on the command line: that ends with 2, prints
// nothing to standard output but help, and says where help is.
func usage(ts *testscript.TestScript, neg bool, args []string) {
	if neg {
		ts.Fatalf("usage cannot be negated")
	}
	err := ts.Exec("wickd", args...)
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != exitUsage {
		ts.Fatalf("exit code is not %d: %v", exitUsage, err)
	}
	if said := ts.ReadFile("stderr"); !strings.HasPrefix(said, "wickd: ") || !strings.Contains(said, "Try: wickd --help") {
		ts.Fatalf("no complaint and no hint:\n%s", said)
	}
}
