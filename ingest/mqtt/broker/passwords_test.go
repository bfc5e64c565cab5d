package broker_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/mqtt/broker"
)

func passwordFile(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "users")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

// fromMosquitto is what mosquitto_passwd 2.0.11 wrote for the password
// "sweet pepper", kept here so that the format is checked without the program. [P]
const fromMosquitto = "$7$101$b4LZCwyR2F/2DYxP$RaElWy0vWvR3AmLmr9Jx4Ucmd3h79UHovMWJbK4x7MN/dLcln1EAVkwfZrGNCtaxjpBSuC4HAMSJNVNu7a8PAA=="

func TestPasswords(t *testing.T) {
	p, err := broker.PasswordFile(passwordFile(t, "# sensors\r\n\nplain:a:b\r\nhashed:"+fromMosquitto+"\n"))
	require.NoError(t, err)
	tests := map[string]struct {
		user, password string
		ok             bool
	}{
		"plain, with a colon": {"plain", "a:b", true},
		"plain, wrong":        {"plain", "a", false},
		"hashed":              {"hashed", "sweet pepper", true},
		"hashed, wrong":       {"hashed", "sweet peppers", false},
		"the hash itself":     {"hashed", fromMosquitto, false},
		"unknown":             {"nobody", "a:b", false},
		"comment":             {"# sensors", "", false},
		"empty":               {"", "", false},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) { assert.Equal(t, tt.ok, p.Authenticate(tt.user, tt.password)) })
	}
}

func TestPasswordsOfMosquittoPasswd(t *testing.T) {
	passwd, err := exec.LookPath("mosquitto_passwd")
	if err != nil {
		t.Skip("mosquitto_passwd is not installed; TestPasswords holds one of its hashes")
	}
	path := passwordFile(t, "")
	out, err := exec.Command(passwd, "-b", path, "gateway", "p w:ä$7$").CombinedOutput()
	require.NoError(t, err, "%s", out)
	p, err := broker.PasswordFile(path)
	require.NoError(t, err)
	assert.True(t, p.Authenticate("gateway", "p w:ä$7$"))
	assert.False(t, p.Authenticate("gateway", "p w:ä$7"))
}

func TestPasswordFileMistakes(t *testing.T) {
	tests := map[string]struct{ text, says string }{
		"empty":         {"# nobody\n", ":1: holds no user"},
		"no colon":      {"a:hunter2\nhunter2\n", ":2: needs name:password"},
		"no name":       {":hunter2\n", ":1: needs name:password"},
		"no password":   {"a:\n", ":1: needs name:password"},
		"twice":         {"a:hunter2\na:hunter2\n", `:2: user "a" is there twice`},
		"other hash":    {"a:$6$hunter2$hunter2\n", "mosquitto_passwd"},
		"damaged":       {"a:$7$101$hunter2$hunter2\n", "damaged"},
		"no iterations": {"a:$7$0$AAAA$AAAA\n", "damaged"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := broker.PasswordFile(passwordFile(t, tt.text))
			require.ErrorContains(t, err, tt.says)
			assert.NotContains(t, err.Error(), "hunter2")
		})
	}
	_, err := broker.PasswordFile(filepath.Join(t.TempDir(), "missing"))
	require.ErrorIs(t, err, os.ErrNotExist)
}

func TestPasswordFileIsReadAgain(t *testing.T) {
	path := passwordFile(t, "a:old\n")
	p, err := broker.PasswordFile(path)
	require.NoError(t, err)
	change := func(text string, age time.Duration) {
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		at := time.Now().Add(-age)
		require.NoError(t, os.Chtimes(path, at, at))
	}
	change("a:new\n", time.Hour)
	assert.True(t, p.Authenticate("a", "new"))
	assert.False(t, p.Authenticate("a", "old"))
	require.NoError(t, p.Err())

	change("broken\n", 2*time.Hour)
	assert.True(t, p.Authenticate("a", "new"), "the users as they were stay valid")
	require.ErrorContains(t, p.Err(), "needs name:password")
	require.NoError(t, os.Remove(path))
	assert.True(t, p.Authenticate("a", "new"))
	require.ErrorIs(t, p.Err(), os.ErrNotExist)
}
