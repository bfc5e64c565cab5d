package expose

import (
	"github.com/prometheus/client_golang/prometheus"

	"wickd/model"
)

const (
	millimetresPerMetre             = 1000
	millisiemensPerCmPerSiemensPerM = 10 // 1 S/m is 10 mS/cm
)

type reservoirDescs struct {
	level, volume, draw, unexplained, ec, ph, temperature figure

	emptyAt, refilled, cause, solution *prometheus.Desc
}

func newReservoirDescs() reservoirDescs {
	const l = "reservoir"
	return reservoirDescs{
		level:       newFigure("reservoir_level", "meters", "Height of the solution above the reservoir's floor", millimetresPerMetre, l),
		volume:      newFigure("reservoir_volume", "liters", "Solution in the reservoir", 1, l),
		draw:        newFigure("reservoir_draw", "liters_per_second", "Everything that leaves the reservoir", secondsPerDay, l),
		unexplained: newFigure("reservoir_unexplained_draw", "liters_per_second", "What leaves beyond the bags' uptake and evaporation", secondsPerDay, l),
		ec:          newFigure("reservoir_electrical_conductivity", "siemens_per_meter", "Electrical conductivity of the solution at 25 °C (0.1 is 1 mS/cm)", millisiemensPerCmPerSiemensPerM, l),
		ph:          newFigure("reservoir_ph", "", "pH of the solution", 1, l),
		temperature: newFigure("reservoir_temperature", "celsius", "Temperature of the solution", 1, l),
		emptyAt: desc("reservoir_empty_timestamp_seconds",
			"When the reservoir is forecast to be empty, by the probability that it is by then. Absent beyond the horizon.",
			l, "probability"),
		refilled: desc("reservoir_refill_timestamp_seconds", "When the reservoir was last seen to be filled.", l),
		cause:    desc("reservoir_diagnosis", "The explanation that the readings favour when something is wrong (1).", l, "cause"),
		solution: desc("reservoir_solution_diagnosis",
			"The likely reason why a figure of the solution moves (ec, ph), or what was wrong with what was last poured in (refill) (1).",
			l, "figure", "cause"),
	}
}

func (d reservoirDescs) figures() []figure {
	return []figure{d.level, d.volume, d.draw, d.unexplained, d.ec, d.ph, d.temperature}
}

func (d reservoirDescs) describe(ch chan<- *prometheus.Desc) {
	for _, f := range d.figures() {
		f.describe(ch)
	}
	ch <- d.emptyAt
	ch <- d.refilled
	ch <- d.cause
	ch <- d.solution
}

func (d reservoirDescs) collect(s sink, q qualityDescs, r model.ReservoirEstimate) {
	measured := []model.Measured{r.Level, r.Volume, r.DrawPerDay, r.Unexplained, r.EC, r.PH, r.Temperature}
	for i, f := range d.figures() {
		f.collect(s, measured[i], r.Reservoir)
		q.collect(s, model.ReservoirSubject(r.Reservoir), f, measured[i])
	}
	if r.EmptyAt != nil {
		s.quantiles(d.emptyAt, *r.EmptyAt, r.Reservoir)
	}
	s.instant(d.refilled, r.LastRefill, r.Reservoir)
	if r.Cause != "" {
		s.gauge(d.cause, 1, r.Reservoir, string(r.Cause))
	}
	d.reasons(s, r)
}

func (d reservoirDescs) reasons(s sink, r model.ReservoirEstimate) {
	say := func(figure string, c model.Cause) {
		if c != "" {
			s.gauge(d.solution, 1, r.Reservoir, figure, string(c))
		}
	}
	say("ec", r.ECCourse.Cause)
	say("ph", r.PHCourse.Cause)
	if r.Poured != nil {
		say("refill", r.Poured.Cause)
	}
}

type channelDescs struct {
	dry *prometheus.Desc
}

func newChannelDescs() channelDescs {
	return channelDescs{
		dry: desc("channel_dry", "Whether the channel feeds none of its bags (1).", "channel", "reservoir"),
	}
}

func (d channelDescs) describe(ch chan<- *prometheus.Desc) { ch <- d.dry }

func (d channelDescs) collect(s sink, c model.ChannelEstimate) {
	if c.Quality != model.Unknown {
		s.flag(d.dry, c.Dry, c.Channel, c.Reservoir)
	}
}
