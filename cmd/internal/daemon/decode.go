package daemon

import (
	"time"

	"wickd/cmd/internal/expose"
	"wickd/ingest"
	"wickd/ingest/probe"
	"wickd/model"
)

// decoder is the pipeline's view of package probe.
type decoder struct {
	probe    *probe.Decoder
	counters *expose.Counters // nil: nothing is counted
}

var _ ingest.Decoder = (*decoder)(nil)

// NewDecoder turns the messages of a site into readings.
func NewDecoder(site *model.Site) (ingest.Decoder, error) { return newDecoder(site) }

func newDecoder(site *model.Site) (*decoder, error) {
	d, err := probe.New(probe.Options{Sensors: site.AllSensors()})
	if err != nil {
		return nil, err
	}
	return &decoder{probe: d}, nil
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
	d.count(result.Readings, refusals)
	return result.Readings, refusals
}

func (d *decoder) count(readings []model.Reading, refusals []ingest.Refusal) {
	if d.counters == nil {
		return
	}
	for _, r := range readings {
		d.counters.Readings.WithLabelValues(string(r.Verdict)).Inc()
	}
	for _, r := range refusals {
		d.counters.MessagesRefused.WithLabelValues(string(r.Reason)).Inc()
	}
}

// OwnTime implements ingest.Decoder.
func (d *decoder) OwnTime(m ingest.Message) (time.Time, bool) {
	return d.probe.OwnTime(m)
}
