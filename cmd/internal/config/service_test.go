package config_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
	"wickd/model"
)

func TestServices(t *testing.T) {
	cfg := load(t, "testdata/good-services.yaml")

	require.NotNil(t, cfg.MQTT.Embedded)
	assert.Equal(t, "0.0.0.0:1883", cfg.MQTT.Embedded.Listen)
	assert.Equal(t, []string{"display", "sensors"}, []string{cfg.MQTT.Embedded.Users[0].Name, cfg.MQTT.Embedded.Users[1].Name})
	assert.Equal(t, "DISPLAY_PASSWORD", cfg.MQTT.Embedded.Users[0].Password.Env)

	assert.Equal(t, &config.Ack{Topic: "yard/answers", Trusted: true}, cfg.MQTT.Ack)
	assert.Equal(t, "yard/answers/reply", cfg.MQTT.Ack.Reply())
	assert.Equal(t, "RELAY_URL", cfg.Notify.Relay.Env)
	assert.Nil(t, cfg.Notify.Alertmanager)

	keeper := cfg.Notify.Recipients[1]
	assert.Equal(t, "keeper", keeper.Name)
	assert.Equal(t, model.PriorityLow, keeper.MinPriority)
	assert.Equal(t, &config.Quiet{From: 22 * time.Hour, To: 6 * time.Hour}, keeper.Quiet)
	assert.Zero(t, keeper.EscalateAfter)
	assert.Equal(t, model.PriorityHigh, cfg.Notify.Recipients[0].MinPriority)
	assert.Equal(t, 20*time.Minute, cfg.Notify.Recipients[0].EscalateAfter)
	assert.Equal(t, "https://yard.example/wickd", cfg.Notify.PageURL)
	assert.Equal(t, &config.Weekly{Day: time.Sunday, At: 18*time.Hour + 30*time.Minute}, cfg.Notify.Weekly)
	assert.Equal(t, "HEARTBEAT_URL", cfg.Notify.Heartbeat.URL.Env)
	assert.Equal(t, 10*time.Minute, cfg.Notify.Heartbeat.Every)

	assert.Equal(t, "http://127.0.0.1:8086", cfg.Influx.URL)
	assert.Equal(t, 72*time.Hour, cfg.Alerts.Horizon)
	assert.Equal(t, 15*time.Minute, cfg.Alerts.Reminders[model.PriorityUrgent])
	assert.Equal(t, 24*time.Hour, cfg.Alerts.Reminders[model.PriorityMedium])

	dry := cfg.Alerts.Conditions["bag-dry"]
	assert.Equal(t, 20*time.Minute, *dry.OnDelay)
	assert.Equal(t, time.Hour, *dry.OffDelay)
	assert.Equal(t, 0.02, *dry.Deadband)
	assert.Equal(t, model.PriorityUrgent, *dry.Priority)
	assert.Nil(t, dry.Enabled)
	assert.Equal(t, 0.1, *cfg.Alerts.Conditions["ph-off-target"].Deadband)
	assert.Equal(t, 1.0, *cfg.Alerts.Conditions["solution-warm"].Deadband)
	assert.False(t, *cfg.Alerts.Conditions["leak"].Enabled)
}

// Alerts go to people or to a server that tells them.
func TestAlertmanager(t *testing.T) {
	data := strings.Replace(string(read(t, "testdata/good.yaml")), "bags:", `notify: {alertmanager: {url: "http://127.0.0.1:9093/", username: wickd, password_env: AM}}
bags:`, 1)
	cfg, err := config.Parse("site.yaml", []byte(data))
	require.NoError(t, err)
	require.NotNil(t, cfg.Notify.Alertmanager)
	assert.Equal(t, "http://127.0.0.1:9093", cfg.Notify.Alertmanager.URL)
	assert.Equal(t, "AM", cfg.Notify.Alertmanager.Password.Env)
	assert.Empty(t, cfg.Notify.Recipients)
	assert.False(t, cfg.Notify.Relay.Given())
}

func TestClientIDComesFromTheName(t *testing.T) {
	data := strings.Replace(string(read(t, "testdata/good.yaml")), ", client_id: wickd-yard", "", 1)
	cfg, err := config.Parse("site.yaml", []byte(data))
	require.NoError(t, err)
	assert.Equal(t, "wickd-kestrel-yard", cfg.MQTT.ClientID)
}

// An embedded broker that the network reaches and that knows no users works,
// but not without a word.
func TestOpenBrokerIsWarnedAbout(t *testing.T) {
	tests := map[string]struct {
		listen string
		want   int
	}{
		"loopback":  {"127.0.0.1:1883", 0},
		"localhost": {"localhost:1883", 0},
		"network":   {"0.0.0.0:1883", 1},
		"any":       {":1883", 1},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			data := strings.Replace(string(read(t, "testdata/good-aliases.yaml")), "127.0.0.1:1883", `"`+tt.listen+`"`, 1)
			cfg, err := config.Parse("site.yaml", []byte(data))
			require.NoError(t, err)
			assert.Len(t, cfg.Warnings, tt.want)
		})
	}
}

// What works but is rarely meant.
func TestRarelyMeant(t *testing.T) {
	const services = "https://yard.example/wickd/"
	tests := map[string]struct{ old, new, want string }{
		"nobody is first":        {`quiet: "22:00-06:00"`, `escalate_after: 5 min`, "nobody is told at once"},
		"links in the clear":     {services, "http://yard.example", "unencrypted"},
		"links on this machine":  {services, "http://127.0.0.1:9920", ""},
		"links behind a proxy":   {services, services, ""},
		"half an hour of a week": {"sun 18:30", "Wednesday  7:05", ""},
		"a house for a plant":    {"400 mL/d", "40 L/d", "more than a plant in a bag drinks"},
		"two figures of a drink": {"crop: strawberry", "crop: seedlings", "crop seedlings has litres_per_plant"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			data := strings.Replace(string(read(t, "testdata/good-services.yaml")), tt.old, tt.new, 1)
			cfg, err := config.Parse("site.yaml", []byte(data))
			require.NoError(t, err)
			if tt.want == "" {
				assert.Empty(t, cfg.Warnings)
				return
			}
			require.Len(t, cfg.Warnings, 1)
			assert.Contains(t, cfg.Warnings[0].Message, tt.want)
		})
	}
}

func TestConditionsAreTheDesigns(t *testing.T) {
	all := config.Conditions()
	assert.Len(t, all, 25)
	assert.Equal(t, model.Condition("bag-dry"), all[0])
}

// secretOf loads a site beside which the given files lie.
func secretOf(t *testing.T, files map[string]string, keys string) config.Secret {
	dir := t.TempDir()
	data := strings.Replace(string(read(t, "testdata/good.yaml")), "client_id: wickd-yard", "username: wickd, "+keys, 1)
	files["site.yaml"] = data
	for name, content := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(content), 0o600))
	}
	return load(t, filepath.Join(dir, "site.yaml")).MQTT.Password
}

func TestSecrets(t *testing.T) {
	const secret = "correct horse"
	credentials := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(credentials, "loaded"), []byte("from systemd\n"), 0o600))
	t.Setenv("WICKD_TEST_SECRET", secret)
	t.Setenv("WICKD_TEST_EMPTY", " \n")
	t.Setenv("CREDENTIALS_DIRECTORY", credentials)
	tests := map[string]struct {
		keys, want, err string
	}{
		"beside the site file":  {keys: "password_file: beside", want: secret},
		"credentials directory": {keys: "password_file: loaded", want: "from systemd"},
		"environment":           {keys: "password_env: WICKD_TEST_SECRET", want: secret},
		"no such file":          {keys: "password_file: nowhere", err: "no such file"},
		"empty file":            {keys: "password_file: empty", err: "is empty"},
		"too large":             {keys: "password_file: large", err: "larger than 64 KiB"},
		"unset variable":        {keys: "password_env: WICKD_TEST_EMPTY", err: "environment variable WICKD_TEST_EMPTY is empty"},
		"not named":             {keys: "ca_file: ca.pem", err: "no file or environment variable is named"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			s := secretOf(t, map[string]string{
				"beside": secret + "\n", "loaded": "beside the file", "empty": "\n", "large": strings.Repeat(secret, 10_000),
			}, tt.keys)
			got, err := s.Read()
			assert.Equal(t, tt.want, got)
			if tt.err == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorContains(t, err, tt.err)
			assert.NotContains(t, err.Error(), secret)
		})
	}
}
