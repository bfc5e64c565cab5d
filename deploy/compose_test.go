package deploy_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
)

type compose struct {
	Services map[string]struct {
		Image, Restart string
		Build          struct{ Context, Dockerfile string }
		Command        []string
		DependsOn      []string `yaml:"depends_on"`
		NetworkMode    string   `yaml:"network_mode"`
		Ports          []string
		Volumes        []string
	}
	Volumes map[string]any
}

func loadCompose(t *testing.T) compose {
	t.Helper()
	var c compose
	require.NoError(t, yaml.Unmarshal([]byte(read(t, "compose/compose.yaml")), &c))
	require.Len(t, c.Services, 5)
	return c
}

// Containers cannot be run everywhere, so what the file refers to is checked:
// volumes that are declared, services that exist, files that are in this tree.
func TestComposeRefersToWhatIsThere(t *testing.T) {
	c := loadCompose(t)
	for name, s := range c.Services {
		assert.Equal(t, "unless-stopped", s.Restart, name)
		for _, other := range s.DependsOn {
			assert.Contains(t, c.Services, other, name)
		}
		if other, ok := strings.CutPrefix(s.NetworkMode, "service:"); ok {
			assert.Contains(t, c.Services, other, name)
		}
		for _, v := range s.Volumes {
			from, _, _ := strings.Cut(v, ":")
			switch {
			case strings.HasPrefix(from, "./site"): // the grower's own
			case strings.HasPrefix(from, "."):
				assert.FileExists(t, existing(filepath.Join("compose", from)), name)
			default:
				assert.Contains(t, c.Volumes, from, name)
			}
		}
	}
	assert.FileExists(t, filepath.Join("..", c.Services["wickd"].Build.Dockerfile))
}

// existing stands in for a directory by the first file in it, because an empty
// directory that is mounted helps nobody.
func existing(path string) string {
	found := path
	_ = filepath.WalkDir(path, func(p string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			found = p
			return filepath.SkipAll
		}
		return err
	})
	return found
}

// Images are pinned, and only the broker is open beyond the machine.
func TestComposeIsPinnedAndClosed(t *testing.T) {
	for name, s := range loadCompose(t).Services {
		if name != "wickd" {
			assert.Regexp(t, `:v?\d`, s.Image, name)
		}
		for _, p := range s.Ports {
			if name != "mosquitto" {
				assert.True(t, strings.HasPrefix(p, "127.0.0.1:"), "%s opens %s", name, p)
			}
		}
	}
}

// directives of a mosquitto configuration, without what differs by intent:
// who may connect and where files lie.
func directives(t *testing.T, file string) []string {
	t.Helper()
	own := regexp.MustCompile(`^(listener|allow_anonymous|password_file|acl_file|persistence_location|log_dest|user) `)
	var found []string
	for line := range strings.Lines(read(t, file)) {
		line = strings.TrimSpace(line)
		if line != "" && !strings.HasPrefix(line, "#") && !own.MatchString(line) {
			found = append(found, line)
		}
	}
	require.NotEmpty(t, found)
	return found
}

func TestTheContainersBrokerKeepsMessagesToo(t *testing.T) {
	assert.ElementsMatch(t, directives(t, "mosquitto/wickd.conf"), directives(t, "compose/mosquitto.conf"))
}
