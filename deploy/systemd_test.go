package deploy_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const unit = "systemd/wickd.service"

// installed is the unit as if wickd were installed: the checker wants the
// program to be there.
func installed(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	program := filepath.Join(dir, "wickd")
	require.NoError(t, os.WriteFile(program, []byte("#!/bin/sh\n"), 0o755))
	file := filepath.Join(dir, "wickd.service")
	content := strings.ReplaceAll(read(t, unit), "/usr/bin/wickd", program)
	require.NoError(t, os.WriteFile(file, []byte(content), 0o644))
	return file
}

func TestSystemdTakesTheService(t *testing.T) {
	analyze := tool(t, "systemd-analyze", "systemd")
	out := run(t, "", analyze, "verify", "--man=no", installed(t))
	// An unknown key is only a warning to systemd, and would protect nothing.
	for line := range strings.Lines(out) {
		assert.NotContains(t, line, "wickd.service", "systemd warns")
	}
}

// systemd scores what a service may do from 0 (nothing) to 10 (everything) and
// calls up to 2 well confined. The threshold is in tenths.
func TestTheServiceIsConfined(t *testing.T) {
	analyze := tool(t, "systemd-analyze", "systemd")
	out := run(t, "", analyze, "security", "--offline=true", "--threshold=15", "--no-pager", installed(t))
	assert.Contains(t, out, "Overall exposure level")
}

func TestTheServiceIsWhatItPromises(t *testing.T) {
	lines := strings.Split(read(t, unit), "\n")
	for _, line := range []string{
		"Type=notify", "WatchdogSec=2min", "Restart=on-failure", "DynamicUser=yes", "StateDirectory=wickd",
		"ProtectSystem=strict", "NoNewPrivileges=yes", "MemoryDenyWriteExecute=yes", "CapabilityBoundingSet=",
		"LoadCredential=secrets:/etc/wickd/secrets", "SystemCallFilter=@system-service",
	} {
		assert.Contains(t, lines, line)
	}
}
