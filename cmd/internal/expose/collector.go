package expose

import (
	"errors"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"wickd/model"
)

// Options is what a Collector reads from.
type Options struct {
	// Snapshot returns the newest estimates; a zero Time means that there are
	// none yet. Required.
	Snapshot func() model.Snapshot
	// Alerts returns the alerts that are not back to normal; nil: none.
	Alerts func() []AlertState
	// Undelivered are the recipients whom messages do not reach, each once; nil:
	// none.
	Undelivered func() []Undelivered
	// Now is the time that the age of an alert is counted to; nil: no alert is
	// counted as stale.
	Now func() time.Time
}

// Collector exposes snapshots.
type Collector struct {
	options Options

	bag       bagDescs
	reservoir reservoirDescs
	channel   channelDescs
	sensor    sensorDescs
	health    healthDescs
	alert     alertDescs
	load      loadDescs
	quality   qualityDescs

	undelivered undeliveredDescs
}

var _ prometheus.Collector = (*Collector)(nil)

// NewCollector makes a collector; the caller registers it.
func NewCollector(o Options) (*Collector, error) {
	if o.Snapshot == nil {
		return nil, errors.New("expose: Options.Snapshot is missing")
	}
	return &Collector{
		options:   o,
		bag:       newBagDescs(),
		reservoir: newReservoirDescs(),
		channel:   newChannelDescs(),
		sensor:    newSensorDescs(),
		health:    newHealthDescs(),
		alert:     newAlertDescs(),
		load:      newLoadDescs(),
		quality:   newQualityDescs(),

		undelivered: newUndeliveredDescs(),
	}, nil
}

// Describe sends every description that a scrape can bring.
func (c *Collector) Describe(ch chan<- *prometheus.Desc) {
	c.bag.describe(ch)
	c.reservoir.describe(ch)
	c.channel.describe(ch)
	c.sensor.describe(ch)
	c.health.describe(ch)
	c.alert.describe(ch)
	c.load.describe(ch)
	c.quality.describe(ch)
	ch <- c.undelivered.since
}

func (c *Collector) collectAlerts(s sink) {
	var now time.Time
	if c.options.Now != nil {
		now = c.options.Now()
	}
	alerts := c.options.Alerts()
	c.alert.collect(s, alerts)
	c.load.collect(s, alerts, now)
}

// Collect sends the series of the newest snapshot.
func (c *Collector) Collect(ch chan<- prometheus.Metric) {
	s := sink(ch)
	if c.options.Alerts != nil {
		c.collectAlerts(s)
	}
	if c.options.Undelivered != nil {
		c.undelivered.collect(s, c.options.Undelivered())
	}
	snap := c.options.Snapshot()
	c.health.collect(s, snap.Daemon) // also before anything is known of the site
	if snap.Time.IsZero() {
		return
	}
	c.health.extent(s, snap)
	for _, b := range snap.Bags {
		c.bag.collect(s, c.quality, b)
	}
	for _, e := range snap.Channels {
		c.channel.collect(s, e)
	}
	for _, r := range snap.Reservoirs {
		c.reservoir.collect(s, c.quality, r)
	}
	for _, h := range snap.Sensors {
		c.sensor.collect(s, h)
	}
}
