package daemon_test

import (
	"bytes"
	"errors"
	"image/png"
	"net"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
	"wickd/cmd/internal/daemon"
	"wickd/cmd/internal/web"
)

// brokers are the two ways in which readings come.
var brokers = map[string]func(t *testing.T) (section, address string){
	"embedded": func(*testing.T) (string, string) { return embedded, "" },
	"mosquitto": func(t *testing.T) (string, string) {
		m := startMosquitto(t)
		return through(m), m.Address
	},
}

// A dry bag reaches the phone, the metrics and the status within seconds, in
// real time, whichever broker it comes by.
func TestADryBagReachesThePhone(t *testing.T) {
	t.Parallel()
	for name, broker := range brokers {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			section, address := broker(t)
			p := newPhone(t)
			d := run(t, daemon.Options{Config: bench(t, section, p.section())})
			d.eventually(func() bool { return get(t, d.Addr(), "/readyz") == 200 }, "not ready")
			if address == "" {
				address = d.BrokerAddr()
			}
			began := time.Now()
			connect(t, address).publish("bench/p1/moisture", "9.5")
			d.eventually(func() bool { return len(p.notes()) > 0 }, "the phone is not told")
			t.Logf("told after %s", time.Since(began).Round(10*time.Millisecond))
			first := p.notes()[0]
			assert.Contains(t, first.Title, "Bag p1 is dry")
			assert.Contains(t, first.Message, "Water it by hand now")

			_, metrics := fetch(t, d.Addr(), "/metrics")
			has(t, metrics, `wickd_alert_active{condition="bag-dry",priority="urgent",state="unacknowledged",subject="bag/p1"} 1`)
			matches(t, metrics, `wickd_bag_water_content_ratio\{bag="p1",channel="peppers"\} 0\.[01]`)

			client := web.Client{Base: "http://" + d.Addr()}
			doc, err := client.Snapshot(t.Context())
			require.NoError(t, err)
			require.NotEmpty(t, doc.Alerts)
			require.NoError(t, client.Acknowledge(t.Context(), doc.Alerts[0].Occurrence, "caretaker"))
			_, metrics = fetch(t, d.Addr(), "/metrics")
			has(t, metrics, `state="acknowledged",subject="bag/p1"} 1`)
			assert.Error(t, client.Acknowledge(t.Context(), "bag-dry|bag/p9|never", "caretaker"))
			assert.NotContains(t, d.log.String(), p.server.URL, "the phone's address is a secret")
		})
	}
}

// The same by mail, to a real mail server, with the hours before as a picture.
func TestADryBagReachesTheMailbox(t *testing.T) {
	t.Parallel()
	b := startMailbox(t)
	url := secret(t, "smtp://"+b.smtp+"/?from=wickd@example.com&to=grower@example.com")
	clock := &wall{now: start.Add(12 * time.Hour)}
	d := run(t, daemon.Options{Config: bench(t, embedded, `notify: {recipients: {keeper: {url_file: `+url+`}}}`), Clock: clock.read})
	s := connect(t, d.BrokerAddr())
	for range 6 * 5 {
		clock.move(10 * time.Minute)
		s.publish("bench/p1/moisture", "45")
	}
	s.publish("bench/p1/moisture", "9.5")
	d.eventually(func() bool {
		clock.move(time.Second)
		return slices.ContainsFunc(b.subjects(t), func(s string) bool { return strings.Contains(s, "Bag p1 is dry") })
	}, "no mail")
	picture := b.picture(t, "Bag p1 is dry")
	img, err := png.Decode(bytes.NewReader(picture))
	require.NoError(t, err)
	assert.Greater(t, img.Bounds().Dx(), img.Bounds().Dy(), "one panel")
}

// A retained message is a reading of unknown age: the broker hands it to every
// new subscriber, whether the sensor lives or not.
func TestARetainedMessageIsNotFresh(t *testing.T) {
	t.Parallel()
	m := startMosquitto(t)
	s := connect(t, m.Address)
	s.retain("bench/p2/moisture", "9.5", true)
	p := newPhone(t)
	d := run(t, daemon.Options{Config: bench(t, through(m), p.section())})
	d.eventually(func() bool { return strings.Contains(scrape(t, d), `wickd_readings_total{verdict="retained"} 1`) }, "the retained message is not counted")
	s.publish("bench/p1/moisture", "9.5")
	d.eventually(func() bool { return len(p.notes()) > 0 }, "the phone is not told of p1")
	metrics := scrape(t, d)
	has(t, metrics, `wickd_sensor_last_reading_timestamp_seconds{sensor="bag/p1/moisture"}`)
	hasNot(t, metrics, `wickd_sensor_last_reading_timestamp_seconds{sensor="bag/p2/moisture"}`)
	matchesNot(t, metrics, `wickd_alert_active{[^}]*subject="bag/p2"`)
	assert.Empty(t, p.about("p2"))
}

// What is no reading is refused with its reason, and does no harm.
func TestRubbishIsCounted(t *testing.T) {
	t.Parallel()
	d := run(t, daemon.Options{Config: bench(t, embedded)})
	s := connect(t, d.BrokerAddr())
	for _, payload := range []string{"51,3", "nan", "null", "-127", "", "wet", strings.Repeat("9", 400)} {
		s.publish("bench/p1/moisture", payload)
	}
	s.publish("bench/air", `{"temperature": 21.5}`)
	s.publish("bench/air", `{"temperature"`)
	s.publish("bench/nobody/moisture", "51.3")
	s.publish("elsewhere", "1")
	s.publish("bench/p1/moisture", "51.3")
	d.eventually(func() bool { return strings.Contains(scrape(t, d), "wickd_messages_accepted_total 10\n") }, "ten messages are of this site")
	metrics := scrape(t, d)
	matches(t, metrics, `wickd_journal_commit_duration_seconds_count [1-9]`)
	has(t, metrics, `wickd_readings_total{verdict="good"} 2`)
	for _, reason := range []string{"comma-decimal", "nan", "null", "empty", "not-a-number", "overflow", "pointer-misses", "bad-json"} {
		matches(t, metrics, `wickd_messages_refused_total\{reason="`+reason+`",sensor="[a-z0-9/]+"\} [1-9]`)
	}
	assert.Equal(t, 200, get(t, d.Addr(), "/healthz"))
}

func TestOptionsAreChecked(t *testing.T) {
	t.Parallel()
	good := daemon.Options{Config: bench(t, embedded), Data: t.TempDir(), Listen: "127.0.0.1:0"}
	tests := map[string]struct {
		change func(o *daemon.Options)
		want   string
	}{
		"no site":   {func(o *daemon.Options) { o.Config = nil }, "no site"},
		"no data":   {func(o *daemon.Options) { o.Data = "" }, "no data directory"},
		"no listen": {func(o *daemon.Options) { o.Listen = "" }, "no address"},
		"no broker": {func(o *daemon.Options) {
			c := *o.Config
			c.MQTT = config.MQTT{}
			o.Config = &c
		}, "names no broker"},
		"no token": {func(o *daemon.Options) {
			c := *o.Config
			c.Influx = &config.Influx{URL: "http://127.0.0.1:1", Bucket: "yard", Token: config.Secret{File: "/nowhere/token"}}
			o.Config = &c
		}, "influx.token_file"},
		"no certificates": {func(o *daemon.Options) {
			c := *o.Config
			c.MQTT = config.MQTT{Broker: "ssl://127.0.0.1:1", CAFile: "/nowhere/ca.pem"}
			o.Config = &c
		}, "mqtt.ca_file: mqtt client: CA file: open /nowhere/ca.pem"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			o := good
			tt.change(&o)
			_, err := daemon.New(o)
			assert.ErrorContains(t, err, tt.want)
			var wrong daemon.ConfigError
			assert.True(t, errors.Is(err, daemon.ErrOptions) || errors.As(err, &wrong), "another start would not help")
		})
	}
	d, err := daemon.New(good)
	require.NoError(t, err, "nothing was left locked or listening")
	_, err = daemon.New(good)
	require.ErrorContains(t, err, "another wickd")
	d.Close()
	d, err = daemon.New(good)
	require.NoError(t, err)
	busy := good
	busy.Data, busy.Listen = t.TempDir(), d.Addr()
	_, err = daemon.New(busy)
	assert.ErrorContains(t, err, d.Addr())
	d.Close()
}

// A daemon that cannot start leaves no data directory that it made, and touches
// none that was there.
func TestAFailedStartLeavesNothing(t *testing.T) {
	t.Parallel()
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer taken.Close()
	o := daemon.Options{Config: bench(t, embedded), Data: filepath.Join(t.TempDir(), "data"), Listen: taken.Addr().String()}
	_, err = daemon.New(o)
	require.ErrorContains(t, err, "choose another address")
	assert.NoDirExists(t, o.Data)

	kept := o
	kept.Listen = "127.0.0.1:0"
	d, err := daemon.New(kept)
	require.NoError(t, err)
	d.Close()
	_, err = daemon.New(o)
	require.Error(t, err)
	assert.DirExists(t, o.Data, "it may hold readings")
}
