package alerts

import (
	"fmt"
	"slices"

	"wickd/model"
)

// The conditions that are decided here.
const (
	JournalFailing     model.Condition = "journal-failing"
	DiskFilling        model.Condition = "disk-filling"
	ClockWrong         model.Condition = "clock-wrong"
	BrokerLost         model.Condition = "broker-lost"
	ForwardingBehind   model.Condition = "forwarding-behind"
	SensorsLost        model.Condition = "sensors-lost"
	SensorSilent       model.Condition = "sensor-silent"
	SensorStuck        model.Condition = "sensor-stuck"
	SensorImplausible  model.Condition = "sensor-implausible"
	ReservoirExhausted model.Condition = "reservoir-exhausted"
	ReservoirRunout    model.Condition = "reservoir-runout"
	ReservoirLow       model.Condition = "reservoir-low"
	Leak               model.Condition = "leak"
	ECOffTarget        model.Condition = "ec-off-target"
	PHOffTarget        model.Condition = "ph-off-target"
	SolutionWarm       model.Condition = "solution-warm"
	ECDrift            model.Condition = "ec-drift"
	SaltBuilding       model.Condition = "salt-building"
	RootsHot           model.Condition = "roots-hot"
	ChannelDry         model.Condition = "channel-dry"
	WickFailing        model.Condition = "wick-failing"
	BagNotDrinking     model.Condition = "bag-not-drinking"
	BagDry             model.Condition = "bag-dry"
	BagDrying          model.Condition = "bag-drying"
	BagWaterlogged     model.Condition = "bag-waterlogged"
)

// Conditions lists every condition with its default settings, causes before
// their effects.
func Conditions() []Definition {
	return slices.Concat(
		daemonConditions(),
		sensorConditions(),
		reservoirConditions(),
		solutionConditions(),
		courseConditions(),
		channelConditions(),
		wickConditions(),
		rootConditions(),
		moistureConditions(),
		drinkingConditions(),
	)
}

// Plural says a condition of several subjects: "40 sensors are silent". An
// unknown condition is named as it stands.
func Plural(c model.Condition, n int) string {
	for _, d := range Conditions() {
		if d.Condition == c {
			return fmt.Sprintf("%d %s %s", n, plurals(d.Kind), d.plural)
		}
	}
	return fmt.Sprintf("%d alerts of kind %s", n, c)
}

func plurals(kind string) string {
	switch kind {
	case model.KindBag:
		return "bags"
	case model.KindChannel:
		return "channels"
	case model.KindReservoir:
		return "reservoirs"
	case kindSensor:
		return "sensors"
	}
	return "parts of wickd"
}
