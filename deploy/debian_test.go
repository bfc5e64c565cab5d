package deploy_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
)

type debianPackage struct {
	Name     string
	Contents []struct{ Src, Dst, Type string }
}

func loadPackage(t *testing.T) debianPackage {
	t.Helper()
	var p debianPackage
	require.NoError(t, yaml.Unmarshal([]byte(read(t, "debian/nfpm.yaml")), &p))
	require.Equal(t, "wickd", p.Name)
	return p
}

// What the package takes from the tree is there, and what the service needs is
// in the package.
func TestThePackageHoldsWhatTheServiceNeeds(t *testing.T) {
	places := map[string]bool{}
	for _, c := range loadPackage(t).Contents {
		places[c.Dst] = true
		if c.Src != "" && !strings.HasPrefix(c.Src, "build/") {
			assert.FileExists(t, filepath.Join("..", c.Src))
		}
	}
	for _, needed := range []string{"/usr/bin/wickd", "/etc/wickd/secrets", "/usr/lib/systemd/system/wickd.service"} {
		assert.True(t, places[needed], needed)
	}
}

// The packager is no part of the tree; where it is installed, it must agree.
func TestThePackagerTakesThePackage(t *testing.T) {
	nfpm, err := exec.LookPath("nfpm")
	if err != nil {
		t.Skip("nfpm is not installed (go install github.com/goreleaser/nfpm/v2/cmd/nfpm@latest)")
	}
	tree := t.TempDir()
	for _, c := range loadPackage(t).Contents {
		if c.Src == "" {
			continue
		}
		copied := filepath.Join(tree, c.Src)
		require.NoError(t, os.MkdirAll(filepath.Dir(copied), 0o755))
		require.NoError(t, os.WriteFile(copied, []byte("content"), 0o644))
	}
	config, err := filepath.Abs("debian/nfpm.yaml")
	require.NoError(t, err)
	t.Setenv("VERSION", "1.2.3")
	t.Setenv("ARCH", "arm64")
	run(t, tree, nfpm, "package", "-f", config, "-p", "deb", "-t", tree)
	made, err := filepath.Glob(filepath.Join(tree, "wickd_1.2.3*_arm64.deb"))
	require.NoError(t, err)
	assert.Len(t, made, 1)
}
