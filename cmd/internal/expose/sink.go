package expose

import (
	"math"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"wickd/model"
)

const namespace = "wickd"

func desc(name, help string, labels ...string) *prometheus.Desc {
	return prometheus.NewDesc(prometheus.BuildFQName(namespace, "", name), help, labels, nil)
}

// sink takes the samples of one scrape. What is not a finite number or not a
// known time is left out, because a series that is absent says "not known" and
// a zero would be taken for a measurement.
type sink chan<- prometheus.Metric

func (s sink) gauge(d *prometheus.Desc, v float64, labels ...string) {
	s.send(d, prometheus.GaugeValue, v, labels)
}

func (s sink) counter(d *prometheus.Desc, v float64, labels ...string) {
	s.send(d, prometheus.CounterValue, v, labels)
}

func (s sink) flag(d *prometheus.Desc, on bool, labels ...string) {
	v := 0.0
	if on {
		v = 1
	}
	s.gauge(d, v, labels...)
}

// instant exposes a point in time; the zero time is left out.
func (s sink) instant(d *prometheus.Desc, t time.Time, labels ...string) {
	if !t.IsZero() {
		s.gauge(d, seconds(t), labels...)
	}
}

// quantiles exposes the parts of q that lie within the forecast's horizon.
// The label is not called "quantile": that one is reserved for summaries.
func (s sink) quantiles(d *prometheus.Desc, q model.Quantiles, labels ...string) {
	parts := []struct {
		probability string
		at          *time.Time
	}{{"0.05", q.P05}, {"0.5", q.P50}, {"0.95", q.P95}}
	for _, p := range parts {
		if p.at != nil {
			s.instant(d, *p.at, append(append([]string(nil), labels...), p.probability)...)
		}
	}
}

func (s sink) send(d *prometheus.Desc, kind prometheus.ValueType, v float64, labels []string) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return
	}
	m, err := prometheus.NewConstMetric(d, kind, v, labels...)
	if err != nil {
		m = prometheus.NewInvalidMetric(d, err)
	}
	s <- m
}

// seconds since the epoch, to the millisecond that Prometheus itself resolves.
func seconds(t time.Time) float64 { return float64(t.UnixMilli()) / 1e3 }
