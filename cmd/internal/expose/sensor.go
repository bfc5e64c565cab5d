package expose

import (
	"github.com/prometheus/client_golang/prometheus"

	"wickd/model"
)

type sensorDescs struct {
	lastReading, lastMessage, expected *prometheus.Desc
	silent, stuck, implausible         *prometheus.Desc
	refused                            *prometheus.Desc
}

func newSensorDescs() sensorDescs {
	const l = "sensor"
	return sensorDescs{
		lastReading: desc("sensor_last_reading_timestamp_seconds", "When the last good reading was taken. Absent: never.", l),
		lastMessage: desc("sensor_last_message_timestamp_seconds", "When anything last came from the sensor, good or not. Absent: never.", l),
		expected:    desc("sensor_expected_interval_seconds", "The longest time between readings that is normal for the sensor.", l),
		silent:      desc("sensor_silent", "Whether the sensor has sent nothing in its expected time (1).", l),
		stuck:       desc("sensor_stuck", "Whether the sensor's value is frozen (1).", l),
		implausible: desc("sensor_implausible", "Whether the sensor is at odds with what is possible or with the model (1).", l),
		refused:     desc("sensor_refused_readings_total", "Readings that were not used as evidence, by reason.", l, "reason"),
	}
}

func (d sensorDescs) describe(ch chan<- *prometheus.Desc) {
	for _, one := range []*prometheus.Desc{d.lastReading, d.lastMessage, d.expected, d.silent, d.stuck, d.implausible, d.refused} {
		ch <- one
	}
}

func (d sensorDescs) collect(s sink, h model.SensorHealth) {
	id := string(h.Sensor)
	s.instant(d.lastReading, h.LastGood, id)
	s.instant(d.lastMessage, h.LastMessage, id)
	if h.Expected > 0 {
		s.gauge(d.expected, h.Expected.Seconds(), id)
	}
	s.flag(d.silent, h.Silent, id)
	s.flag(d.stuck, h.Stuck, id)
	s.flag(d.implausible, h.Implausible, id)
	for reason, n := range h.Refused {
		s.counter(d.refused, float64(n), id, string(reason))
	}
}
