package deploy_test

import (
	"os"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// tool finds a program that checks a file. Without it the test is skipped, but
// not where everything must be there.
func tool(t *testing.T, name, pkg string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	if os.Getenv("CI") == "true" {
		t.Fatalf("%s is missing (Debian package %s), and CI=true allows no skip", name, pkg)
	}
	t.Skipf("%s is not installed (Debian package %s)", name, pkg)
	return ""
}

// run runs a checker and gives back what it said; a failure fails the test.
func run(t *testing.T, dir, program string, args ...string) string {
	t.Helper()
	command := exec.CommandContext(t.Context(), program, args...)
	command.Dir = dir
	out, err := command.CombinedOutput()
	assert.NoError(t, err, "%s %q:\n%s", program, args, out)
	return string(out)
}

func read(t *testing.T, file string) string {
	t.Helper()
	content, err := os.ReadFile(file)
	require.NoError(t, err)
	return string(content)
}
