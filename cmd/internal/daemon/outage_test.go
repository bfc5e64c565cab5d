package daemon_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
	"wickd/model"
)

// prompt makes the alerts about broker and sensors prompt enough for a test.
const prompt = `alerts:
  conditions:
    broker-lost: {on_delay: 1 s, off_delay: 0 s}
    sensor-silent: {on_delay: 0 s, off_delay: 0 s}
    clock-wrong: {on_delay: 0 s, off_delay: 0 s}
`

// When the broker is gone, that is what is said, and not that every sensor is
// silent; when it is back, that too.
func TestALostBrokerIsOneAlert(t *testing.T) {
	t.Parallel()
	m := startMosquitto(t)
	p := newPhone(t)
	l := live(t, bench(t, through(m), p.section(), prompt))
	l.begin()
	l.sensors = connect(t, m.Address)
	l.until(3)
	m.Stop()
	l.daemon.eventually(func() bool { return !l.ready() }, "the daemon does not notice that the broker is gone")
	l.away(6)
	l.daemon.eventually(func() bool {
		l.clock.move(time.Second)
		return len(p.notes()) > 0
	}, "the phone is not told that the broker is lost")
	assert.Contains(t, p.notes()[0].Title, "lost the MQTT broker")
	metrics := scrape(t, l.daemon)
	has(t, metrics, `wickd_alert_active{condition="broker-lost"`)
	has(t, metrics, "wickd_broker_connected 0\n")
	hasNot(t, metrics, `condition="sensor-silent"`)

	m.Start()
	l.daemon.eventually(l.ready, "the daemon does not come back")
	l.until(6.5)
	l.daemon.eventually(func() bool {
		l.clock.move(time.Second)
		return len(p.about("the broker is back")) > 0
	}, "the phone is not told that the broker is back")
	metrics = scrape(t, l.daemon)
	hasNot(t, metrics, `wickd_alert_active{condition="broker-lost",priority="high",state="unacknowledged"`)
	hasNot(t, metrics, `condition="sensor-silent"`)
	assert.Empty(t, p.about("silent"))
}

// What the broker kept while the daemon was down is laid out in time, and what
// was dry in between and is wet again is history and no alert.
func TestABacklogIsHistoryAndNoAlert(t *testing.T) {
	t.Parallel()
	m := startMosquitto(t)
	p := newPhone(t)
	l := live(t, bench(t, through(m), p.section(), prompt))
	l.begin()
	l.sensors = connect(t, m.Address)
	l.until(3)
	l.end()

	const each, steps = 10 * time.Minute, 18
	for i := range steps {
		l.clock.move(each)
		payload := "52.0"
		if i >= 6 && i < 12 {
			payload = "9.5"
		}
		l.sensors.publish("bench/p1/moisture", payload)
	}
	l.begin()
	l.settle(steps)
	l.daemon.eventually(func() bool {
		l.clock.move(time.Second)
		return l.daemon.Snapshot().Time.After(start.Add(6*time.Hour + time.Minute))
	}, "nothing is evaluated after the backlog")
	// One more, if the last message before the stop was still on its way.
	assert.Regexp(t, fmt.Sprintf("a backlog has arrived.* laid_out=(%d|%d) ", steps, steps+1), l.daemon.log.String())
	l.end()
	assert.Empty(t, p.about("p1"))
	alerts, _ := found(t, l.data, start.Add(24*time.Hour))
	for _, a := range alerts {
		assert.NotContains(t, a, "bag/p1")
	}
	requireReplaysTheSame(t, l.config, l.data)
}

// A daemon that never hears anything says so: the site may have been wired to
// the wrong broker.
func TestSilenceFromTheBeginningIsSaid(t *testing.T) {
	t.Parallel()
	p := newPhone(t)
	l := live(t, bench(t, embedded, p.section(), prompt))
	l.begin()
	l.away(2)
	l.daemon.eventually(func() bool {
		l.clock.move(time.Second)
		return len(p.about("sensors have never sent anything")) > 0
	}, "the phone is not told of the silence")
	l.end()
	assert.Len(t, p.notes(), 1, "all sensors, one message")
}

// When the clock is set back, stamps go on rising, and somebody is told.
func TestAClockThatGoesBack(t *testing.T) {
	t.Parallel()
	p := newPhone(t)
	l := live(t, bench(t, embedded, p.section(), prompt))
	l.begin()
	l.until(1)
	l.clock.move(-2 * time.Hour)
	for i := range 20 {
		l.sensors.publish("bench/p1/moisture", fmt.Sprintf("52.%d", i))
	}
	l.daemon.eventually(func() bool { return len(p.about("clock is wrong")) > 0 }, "the phone is not told")
	has(t, scrape(t, l.daemon), "wickd_clock_wrong 1\n")
	l.clock.move(2 * time.Hour)
	l.sensors.publish("bench/p1/moisture", "52.9")
	l.daemon.eventually(func() bool { return strings.Contains(scrape(t, l.daemon), "wickd_clock_wrong 0\n") }, "the clock has caught up")
	l.until(2)
	l.end()
	requireReplaysTheSame(t, l.config, l.data)
}

// Of a site file that was changed what is the same goes on, and what is gone is
// watched no more.
func TestAChangedSiteGoesOn(t *testing.T) {
	t.Parallel()
	l := live(t, bench(t, embedded))
	l.begin()
	l.until(2)
	l.end()
	changed := bench(t, embedded)
	changed.Site.Bags = changed.Site.Bags[:2]
	d := run(t, daemon.Options{Config: changed, Data: l.data, Clock: l.clock.read})
	d.eventually(func() bool { return get(t, d.Addr(), "/readyz") == 200 }, "not ready")
	assert.NotContains(t, d.log.String(), "does not fit")
	l.clock.move(2 * time.Minute)
	d.eventually(func() bool { return len(d.Snapshot().Bags) == 2 }, "the site is not watched")
	assert.NotEqual(t, model.Unknown, d.Snapshot().Bags[0].WaterContent.Quality, "it is known from before")
	hasNot(t, scrape(t, d), `bag="p3"`)
}

// A sensor whose clock was never set, or that takes local time for UTC, is
// believed in its value and not in its time; it is said once, and counted.
func TestASensorWithAWrongClock(t *testing.T) {
	t.Parallel()
	c := bench(t, embedded)
	for i := range c.Site.Air {
		if c.Site.Air[i].ID == "air/temperature" {
			c.Site.Air[i].TimePointer = "/time"
		}
	}
	clock, data := &wall{now: start}, t.TempDir()
	d := run(t, daemon.Options{Config: c, Data: data, Clock: clock.read})
	d.eventually(func() bool { return get(t, d.Addr(), "/readyz") == 200 }, "not ready")
	s := connect(t, d.BrokerAddr())
	send := func(own time.Time) {
		clock.move(10 * time.Minute)
		s.publish("bench/air", fmt.Sprintf(`{"temperature": 21.5, "humidity": 60, "time": %q}`, own.Format(time.RFC3339)))
	}
	for range 3 {
		send(clock.read().Add(12 * time.Hour))
	}
	send(time.Unix(0, 0).UTC())
	s.publish("bench/air", `{"temperature": 21.5, "humidity": 60, "time": null}`) // says nothing of its clock
	for range 2 {
		send(clock.read().Add(10 * time.Minute))
	}
	metrics := scrape(t, d)
	has(t, metrics, `wickd_sensor_times_doubted_total{reason="clock-ahead"} 3`)
	has(t, metrics, `wickd_sensor_times_doubted_total{reason="clock-unset"} 1`)
	assert.Equal(t, 2, strings.Count(d.log.String(), "a sensor's clock is wrong"), "once for each reason")
	assert.Equal(t, 1, strings.Count(d.log.String(), "a sensor's clock is right again"))
	require.NoError(t, d.end())
	assert.Equal(t, 7, goodReadings(t, data, "air/temperature"))
}

// While a clock that was put back has not caught up, the bags are watched: a dry
// one is told of at once, and a replay tells the same.
func TestBagsAreWatchedWhileTheClockIsBehind(t *testing.T) {
	t.Parallel()
	p := newPhone(t)
	l := live(t, bench(t, embedded, p.section(), prompt))
	l.begin()
	l.until(1)
	l.clock.move(-2 * time.Hour)
	l.daemon.eventually(func() bool {
		l.clock.move(time.Minute)
		l.sensors.publish("bench/p2/moisture", "9.5")
		return len(p.about("Bag p2 is dry")) > 0
	}, "the phone is not told of a dry bag")
	has(t, scrape(t, l.daemon), "wickd_clock_wrong 1\n")
	l.end()
	requireReplaysTheSame(t, l.config, l.data)
}
