package expose_test

import (
	"time"

	"wickd/cmd/internal/expose"
	"wickd/model"
)

// noon is 1778587200 s after the epoch ([D] by date -d 2026-05-12T12:00:00Z +%s).
var noon = time.Date(2026, 5, 12, 12, 0, 0, 0, time.UTC)

func later(d time.Duration) *time.Time {
	t := noon.Add(d)
	return &t
}

func measured(value, sd float64) model.Measured {
	return model.Measured{Value: value, SD: sd, Time: noon, Age: 5 * time.Minute, Quality: model.Fresh}
}

func bag(id string) model.BagEstimate {
	return model.BagEstimate{
		Bag: id, Channel: "a", Time: noon,
		WaterContent: measured(0.51, 0.01),
		Suction:      25,
		Uptake:       12.5,
		UptakePerDay: measured(2.592, 0.0864),
		DemandPerDay: 3.456, SupplyAtLimit: 4.32,
		WickHealth: measured(0.93, 0.1), DemandFactor: measured(1.05, 0.2), ProbeOffset: measured(-0.02, 0.03),
		DryLimit: 0.25, WetLimit: 0.62,
		DryAt: later(20 * time.Hour),
		Dry:   model.Quantiles{P05: later(10 * time.Hour), P50: later(20 * time.Hour)},
	}
}

func reservoir() model.ReservoirEstimate {
	return model.ReservoirEstimate{
		Reservoir: "tank", Time: noon,
		Level: measured(250, 2), Volume: measured(121, 1.5),
		DrawPerDay: measured(14.688, 0.864), Unexplained: measured(0.0864, 0.2592),
		EmptyAt: &model.Quantiles{P05: later(48 * time.Hour), P50: later(72 * time.Hour), P95: later(96 * time.Hour)},
		EC:      measured(1.5, 0.05), PH: measured(5.8, 0.1), Temperature: measured(18.5, 0.2),
	}
}

func snapshot() model.Snapshot {
	return model.Snapshot{
		Time:       noon,
		Bags:       []model.BagEstimate{bag("a1"), bag("a2")},
		Channels:   []model.ChannelEstimate{{Channel: "a", Reservoir: "tank", Time: noon, Quality: model.Fresh}},
		Reservoirs: []model.ReservoirEstimate{reservoir()},
		Sensors: []model.SensorHealth{
			{
				Sensor: "bag/a1/moisture", LastMessage: noon.Add(-time.Minute), LastGood: noon.Add(-5 * time.Minute),
				Expected: 10 * time.Minute, Value: 0.5,
				Refused: map[model.Verdict]uint64{model.Jump: 3, model.OutOfRange: 1},
			},
			{Sensor: "bag/a2/moisture", Silent: true},
		},
		Daemon: model.DaemonHealth{ForwardBehind: 90 * time.Second, ForwardPending: 42, BrokerDropped: 7},
	}
}

func alerts() []expose.AlertState {
	return []expose.AlertState{{
		Occurrence: "bag-drying/bag/a1/1778583600", Condition: "bag-drying", Subject: "bag/a1",
		Priority: model.PriorityHigh, State: "unacknowledged", Cause: model.CauseWickClogging,
		Since: noon.Add(-time.Hour), Due: later(20 * time.Hour),
		Message: model.Message{Headline: "Bag a1 will be dry tomorrow at 08:00", Why: "Its wicks lift less than the plants drink.", Action: "Look at the wicks of a1."},
	}}
}
