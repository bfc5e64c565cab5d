package expose

import (
	"github.com/prometheus/client_golang/prometheus"

	"wickd/model"
)

const (
	secondsPerDay = 86400

	// pascalsPerCentimetre of water by the conventional centimetre of water:
	// 1 g/cm³ under standard gravity, 9.80665 m/s² (exact by definition).
	pascalsPerCentimetre = 98.0665
)

type bagDescs struct {
	waterContent, uptakeRate, wickHealth, demandFactor, probeOffset, salt, temperature figure

	uptake, demand, supply, suction, dryLimit, wetLimit, saltLimit, salty, saltAt, dryAt, cause *prometheus.Desc
}

func newBagDescs() bagDescs {
	l := []string{"bag", "channel"}
	return bagDescs{
		waterContent: newFigure("bag_water_content", "ratio", "Mean volumetric water content of the bag", 1, l...),
		uptakeRate:   newFigure("bag_uptake", "liters_per_second", "Water taken by the plants, mean of the last 24 h", secondsPerDay, l...),
		wickHealth:   newFigure("bag_wick_health", "ratio", "What the wicks still lift against as built: 1 as built, 0 nothing", 1, l...),
		demandFactor: newFigure("bag_demand_factor", "ratio", "Demand against what climate and crop make expect", 1, l...),
		probeOffset:  newFigure("bag_probe_offset", "ratio", "Estimated offset of the moisture probe, as water content", 1, l...),

		salt:        newFigure("bag_salt_electrical_conductivity", "siemens_per_meter", "Estimated electrical conductivity of the water in the root zone at 25 °C", millisiemensPerCmPerSiemensPerM, l...),
		temperature: newFigure("bag_root_temperature", "celsius", "Temperature of the root zone", 1, l...),

		uptake:    desc("bag_uptake_liters_total", "Water taken by the plants since the start.", l...),
		demand:    desc("bag_demand_liters_per_second", "What the plants would take if nothing held them, mean of the last 24 h.", l...),
		supply:    desc("bag_supply_limit_liters_per_second", "What the wicks can lift when the bag is at its dry limit.", l...),
		suction:   desc("bag_suction_pascals", "Suction at the bag's base; negative above atmospheric.", l...),
		dryLimit:  desc("bag_dry_limit_ratio", "Water content below which the bag is dry.", l...),
		wetLimit:  desc("bag_wet_limit_ratio", "Water content above which the bag has too little air.", l...),
		saltLimit: desc("bag_salt_limit_siemens_per_meter", "Electrical conductivity that the crop bears in the root zone.", l...),
		salty:     desc("bag_salt_above_limit_probability_ratio", "Probability that the root zone holds more salt than the crop bears.", l...),
		saltAt: desc("bag_salt_limit_timestamp_seconds",
			"When the salt in the root zone reaches what the crop bears, at the course of the last day. Absent when it does not within a year.", l...),
		dryAt: desc("bag_dry_timestamp_seconds",
			"When the bag is forecast to reach its dry limit, by the probability that it has by then. Absent beyond the horizon.",
			append(l, "probability")...),
		cause: desc("bag_diagnosis", "The explanation that the readings favour when something is wrong (1).", append(l, "cause")...),
	}
}

func (d bagDescs) figures() []figure {
	return []figure{d.waterContent, d.uptakeRate, d.wickHealth, d.demandFactor, d.probeOffset, d.salt, d.temperature}
}

func (d bagDescs) describe(ch chan<- *prometheus.Desc) {
	for _, f := range d.figures() {
		f.describe(ch)
	}
	for _, one := range []*prometheus.Desc{d.uptake, d.demand, d.supply, d.suction, d.dryLimit, d.wetLimit, d.saltLimit, d.salty, d.saltAt, d.dryAt, d.cause} {
		ch <- one
	}
}

func (d bagDescs) collect(s sink, q qualityDescs, b model.BagEstimate) {
	measured := []model.Measured{b.WaterContent, b.UptakePerDay, b.WickHealth, b.DemandFactor, b.ProbeOffset, b.Salt.EC, b.Temperature}
	for i, f := range d.figures() {
		if (f.value == d.salt.value || f.value == d.temperature.value) && !known(measured[i]) {
			continue // not every bag has them
		}
		f.collect(s, measured[i], b.Bag, b.Channel)
		q.collect(s, model.BagSubject(b.Bag), f, measured[i])
	}
	s.gauge(d.dryLimit, b.DryLimit, b.Bag, b.Channel)
	s.gauge(d.wetLimit, b.WetLimit, b.Bag, b.Channel)
	s.gauge(d.supply, b.SupplyAtLimit/secondsPerDay, b.Bag, b.Channel)
	s.counter(d.uptake, b.Uptake, b.Bag, b.Channel)
	if known(b.UptakePerDay) {
		s.gauge(d.demand, b.DemandPerDay/secondsPerDay, b.Bag, b.Channel)
	}
	if known(b.WaterContent) {
		s.gauge(d.suction, b.Suction*pascalsPerCentimetre, b.Bag, b.Channel)
	}
	if known(b.Salt.EC) {
		s.gauge(d.saltLimit, b.Salt.Limit/millisiemensPerCmPerSiemensPerM, b.Bag, b.Channel)
		s.gauge(d.salty, b.Salt.Above, b.Bag, b.Channel)
		if b.Salt.LimitAt != nil {
			s.instant(d.saltAt, *b.Salt.LimitAt, b.Bag, b.Channel)
		}
	}
	s.quantiles(d.dryAt, dryQuantiles(b), b.Bag, b.Channel)
	if b.Cause != "" {
		s.gauge(d.cause, 1, b.Bag, b.Channel, string(b.Cause))
	}
}

// dryQuantiles lets the median forecast stand in where the quantiles have none.
func dryQuantiles(b model.BagEstimate) model.Quantiles {
	q := b.Dry
	if q.P50 == nil {
		q.P50 = b.DryAt
	}
	return q
}
