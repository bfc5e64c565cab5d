package config_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
)

// Each secret that the site file names is looked at where it is: what is wrong
// with it is told with its place and what to do, and without what it holds.
func TestSecretsAreLookedAt(t *testing.T) {
	dir := t.TempDir()
	put := func(name, content string, mode os.FileMode) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(content), 0o600))
		require.NoError(t, os.Chmod(filepath.Join(dir, name), mode))
	}
	const hidden = "s3cret"
	put("good", hidden+"\n", 0o600)
	put("group", hidden, 0o640)
	put("open", hidden, 0o644)
	put("empty", " \n", 0o600)
	put("lines", hidden+"\nsecond", 0o600)
	put("large", strings.Repeat(hidden, 20_000), 0o600)
	require.NoError(t, os.Mkdir(filepath.Join(dir, "dir"), 0o700))
	t.Setenv("WICKD_SET", hidden)
	t.Setenv("WICKD_EMPTY", "")
	tests := map[string]struct{ key, want, fix string }{
		"good":               {"url_file: good", "", ""},
		"its group reads it": {"url_file: group", "", ""},
		"all read it":        {"url_file: open", "anybody on this machine can read " + dir + "/open", "chmod 600 " + dir + "/open"},
		"not there":          {"url_file: gone", "there is no file " + dir + "/gone", "chmod 600"},
		"empty":              {"url_file: empty", "/empty is empty", "write the secret into it"},
		"several lines":      {"url_file: lines", "more than one line", "alone"},
		"too large":          {"url_file: large", "larger than 64 KiB", "the right file"},
		"a directory":        {"url_file: dir", "/dir is a directory", "name the file in it"},
		"unreadable":         {"url_file: good/below", "/good/below cannot be read: not a directory", "chown"},
		"set":                {"url_env: WICKD_SET", "", ""},
		"not set":            {"url_env: WICKD_UNSET_HERE", "the environment variable WICKD_UNSET_HERE is not set", "set it where wickd is started"},
		"set to nothing":     {"url_env: WICKD_EMPTY", "WICKD_EMPTY is empty", "set it to the secret"},
	}
	bench, err := os.ReadFile("../../wickd/testdata/bench/site.yaml")
	require.NoError(t, err)
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			file := append([]byte("notify:\n  recipients:\n    keeper: {"+tt.key+"}\n"), bench...)
			c, err := config.Parse(filepath.Join(dir, "site.yaml"), file)
			require.NoError(t, err)
			require.Len(t, c.Secrets(), 1)
			got := c.Secrets()[0].Problems()
			if tt.want == "" {
				assert.Empty(t, got)
				return
			}
			require.Len(t, got, 1)
			key, _, _ := strings.Cut(tt.key, ":")
			assert.Contains(t, got[0].String(), "site.yaml:3:")
			assert.Contains(t, got[0].String(), "notify.recipients.keeper."+key+": ")
			assert.Contains(t, got[0].Message, tt.want)
			assert.Contains(t, got[0].Hint, tt.fix)
			assert.NotContains(t, got[0].String(), hidden)
		})
	}
}

// Every kind of secret is among them.
func TestAllSecretsAreKnown(t *testing.T) {
	var paths []string
	for _, file := range []string{"testdata/good-services.yaml", "../../../deploy/site.yaml"} {
		for _, r := range load(t, file).Secrets() {
			paths = append(paths, r.Path())
		}
	}
	for _, want := range []string{
		"mqtt.password_file", "mqtt.embedded.users.display.password_env", "mqtt.embedded.users.sensors.password_file",
		"notify.recipients.keeper.url_file", "notify.relay.url_env", "notify.heartbeat.url_env", "influx.token_file",
	} {
		assert.Contains(t, paths, want)
	}
}
