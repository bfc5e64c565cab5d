package daemon

import (
	"fmt"
	"log/slog"
	"time"

	"wickd/cmd/internal/expose"
	"wickd/ingest"
	"wickd/ingest/probe"
	"wickd/model"
	"wickd/model/unit"
)

// decoder is the pipeline's view of package probe.
type decoder struct {
	probe    *probe.Decoder
	counters *expose.Counters // nil: nothing is counted or logged
	log      *slog.Logger
	refused  *refusalLog                         // nil with counters
	doubted  map[model.Subject]probe.ClockReason // what was last logged of a sensor's clock
}

var _ ingest.Decoder = (*decoder)(nil)

// NewDecoder turns the messages of a site into readings.
func NewDecoder(site *model.Site) (ingest.Decoder, error) { return newDecoder(site) }

func newDecoder(site *model.Site) (*decoder, error) {
	d, err := probe.New(probe.Options{Sensors: site.AllSensors()})
	if err != nil {
		return nil, err
	}
	return &decoder{probe: d, doubted: map[model.Subject]probe.ClockReason{}}, nil
}

// Decode implements ingest.Decoder.
func (d *decoder) Decode(m ingest.Message) ([]model.Reading, []ingest.Refusal) {
	result := d.probe.Decode(m)
	var refusals []ingest.Refusal
	for _, r := range result.Refused {
		detail := ""
		if r.Err != nil {
			detail = r.Err.Error()
		}
		refusals = append(refusals, ingest.Refusal{Sensor: r.Sensor, Reason: ingest.Reason(r.Reason), Detail: detail})
	}
	d.count(m, result.Readings, refusals)
	d.doubt(result, m)
	return result.Readings, refusals
}

// report lets it count and log what it decodes.
func (d *decoder) report(counters *expose.Counters, log *slog.Logger) {
	d.counters, d.log, d.refused = counters, log, newRefusalLog(log)
}

func (d *decoder) count(m ingest.Message, readings []model.Reading, refusals []ingest.Refusal) {
	if d.counters == nil {
		return
	}
	for _, r := range readings {
		d.counters.Readings.WithLabelValues(string(r.Verdict)).Inc()
	}
	for _, r := range refusals {
		d.counters.MessagesRefused.WithLabelValues(string(r.Reason), string(r.Sensor)).Inc()
	}
	d.refused.note(m, append(unused(readings), refusals...))
}

// unused are the readings that no working sensor sends, as what was refused. A
// jump is none, which the next one may confirm, nor an EC that waits for the
// first temperature.
func unused(readings []model.Reading) []ingest.Refusal {
	var out []ingest.Refusal
	for _, r := range readings {
		if r.Verdict == model.OutOfRange || r.Verdict == model.ErrorValue {
			out = append(out, ingest.Refusal{Sensor: r.Sensor, Reason: ingest.Reason(r.Verdict), Detail: said(r) + " is not used"})
		}
	}
	return out
}

// said is a reading as the trade writes it.
func said(r model.Reading) string {
	d := unit.Of(r.Sensor.Quantity())
	if d == nil {
		return fmt.Sprintf("%.4g", r.Value)
	}
	u, err := d.Lookup(d.Usual())
	if err != nil {
		u = d.Canonical()
	}
	return fmt.Sprintf("%.4g %s", u.FromCanonical(r.Value), u.Symbol)
}

// clockHints say what may be wrong with a sensor's clock.
var clockHints = map[probe.ClockReason]string{
	probe.ClockAhead: "it is ahead: set it, or see to its time zone (times are UTC unless they say otherwise)",
	probe.ClockUnset: "it has never been set: give the sensor a time server, or leave time_pointer out",
	probe.ClockOld:   "it says that the reading is older than a month: set the sensor's clock",
}

// doubt counts times that were not believed, and logs it once for each sensor
// until its clock is right again.
func (d *decoder) doubt(result probe.Result, m ingest.Message) {
	if d.counters == nil {
		return
	}
	wrong := map[model.Subject]bool{}
	for _, c := range result.Clocks {
		wrong[c.Sensor] = true
		d.counters.ClocksDoubted.WithLabelValues(string(c.Reason)).Inc()
		if d.doubted[c.Sensor] == c.Reason {
			continue
		}
		d.doubted[c.Sensor] = c.Reason
		d.log.Warn("a sensor's clock is wrong; its readings are dated by their arrival", "sensor", c.Sensor,
			"its_time", c.Time.UTC(), "arrived", m.Arrived, "hint", clockHints[c.Reason])
	}
	for _, r := range result.Readings {
		if _, was := d.doubted[r.Sensor]; !was || wrong[r.Sensor] {
			continue
		}
		if _, own := d.OwnTime(m); own { // one without a time says nothing of the clock
			delete(d.doubted, r.Sensor)
			d.log.Info("a sensor's clock is right again", "sensor", r.Sensor)
		}
	}
}

// OwnTime implements ingest.Decoder.
func (d *decoder) OwnTime(m ingest.Message) (time.Time, bool) {
	return d.probe.OwnTime(m)
}
