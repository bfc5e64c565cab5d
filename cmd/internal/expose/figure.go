package expose

import (
	"github.com/prometheus/client_golang/prometheus"

	"wickd/model"
)

// figure is the pair of series that an estimate is exposed as.
type figure struct {
	name      string // as in the label "figure" of the quality series
	value, sd *prometheus.Desc
	per       float64 // how many of wickd's unit make one base unit
}

// newFigure names the two series of an estimate: stem_unit and
// stem_standard_deviation_unit; unit may be empty.
func newFigure(stem, unit, help string, per float64, labels ...string) figure {
	suffix := ""
	if unit != "" {
		suffix = "_" + unit
	}
	return figure{
		name:  stem,
		value: desc(stem+suffix, help+".", labels...),
		sd:    desc(stem+"_standard_deviation"+suffix, "Standard deviation of: "+help+".", labels...),
		per:   per,
	}
}

func (f figure) describe(ch chan<- *prometheus.Desc) {
	ch <- f.value
	ch <- f.sd
}

func (f figure) collect(s sink, m model.Measured, labels ...string) {
	if !known(m) {
		return
	}
	s.gauge(f.value, m.Value/f.per, labels...)
	s.gauge(f.sd, m.SD/f.per, labels...)
}

// known says that a figure has ever rested on a good reading. A figure without
// any quality was never filled in.
func known(m model.Measured) bool {
	return m.Quality == model.Fresh || m.Quality == model.Stale
}

// qualityDescs describe what each estimate rests on.
type qualityDescs struct {
	quality, evidence *prometheus.Desc
}

func newQualityDescs() qualityDescs {
	return qualityDescs{
		quality: desc("estimate_quality",
			"What an estimate rests on: 1 for the quality that holds. fresh: readings in their expected time; stale: the model alone; unknown: never a good reading.",
			"subject", "figure", "quality"),
		evidence: desc("estimate_evidence_timestamp_seconds",
			"When the last good reading behind an estimate was taken.", "subject", "figure"),
	}
}

func (d qualityDescs) describe(ch chan<- *prometheus.Desc) {
	ch <- d.quality
	ch <- d.evidence
}

func (d qualityDescs) collect(s sink, subject model.Subject, f figure, m model.Measured) {
	if m.Quality == "" {
		return
	}
	for _, q := range []model.Quality{model.Fresh, model.Stale, model.Unknown} {
		s.flag(d.quality, m.Quality == q, string(subject), f.name, string(q))
	}
	if known(m) && !m.Time.IsZero() {
		s.instant(d.evidence, m.Time.Add(-m.Age), string(subject), f.name)
	}
}
