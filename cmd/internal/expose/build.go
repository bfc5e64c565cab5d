package expose

import (
	"runtime"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
)

// Build says which program is running.
type Build struct {
	Version  string
	Revision string
}

// RegisterProgram registers what every program exposes about itself: build,
// Go runtime, process (with its start time).
func RegisterProgram(r prometheus.Registerer, b Build) error {
	info := prometheus.NewGauge(prometheus.GaugeOpts{
		Namespace: namespace, Name: "build_info",
		Help: "Always 1; the labels say which build is running.",
		ConstLabels: prometheus.Labels{
			"version": b.Version, "revision": b.Revision, "goversion": runtime.Version(),
		},
	})
	info.Set(1)
	return register(r, info,
		collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
}
