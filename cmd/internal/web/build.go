package web

import (
	"math"
	"time"

	"wickd/cmd/internal/expose"
	"wickd/model"
)

func alertDoc(a expose.AlertState) AlertDoc {
	return AlertDoc{
		Occurrence: a.Occurrence, Condition: a.Condition, Subject: a.Subject, Priority: a.Priority,
		State: a.State, Cause: a.Cause, Since: instant(a.Since), Due: utc(a.Due), Until: utc(a.Until), Message: a.Message,
		By: a.By, Chattering: a.Chattering,
	}
}

// number is null in JSON for what is not a finite number, which JSON cannot say.
func number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

func instant(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return utc(&t)
}

func utc(t *time.Time) *time.Time {
	if t == nil {
		return nil
	}
	u := t.UTC()
	return &u
}

// known says that a figure has ever rested on a good reading.
func known(m model.Measured) bool {
	return m.Quality == model.Fresh || m.Quality == model.Stale
}

func figure(m model.Measured) Figure {
	if !known(m) {
		return Figure{Quality: model.Unknown}
	}
	return Figure{
		Value:      number(m.Value),
		SD:         number(m.SD),
		AgeSeconds: number(m.Age.Seconds()),
		Quality:    m.Quality,
	}
}

func quantiles(q model.Quantiles) model.Quantiles {
	return model.Quantiles{P05: utc(q.P05), P50: utc(q.P50), P95: utc(q.P95)}
}

func bagDoc(b model.BagEstimate) BagDoc {
	d := BagDoc{
		Bag: b.Bag, Channel: b.Channel,
		WaterContent: figure(b.WaterContent),
		DryLimit:     number(b.DryLimit), WetLimit: number(b.WetLimit),
		SupplyAtLimit: number(b.SupplyAtLimit), UptakeL: number(b.Uptake),
		UptakePerDay: figure(b.UptakePerDay),
		WickHealth:   figure(b.WickHealth),
		DemandFactor: figure(b.DemandFactor),
		ProbeOffset:  figure(b.ProbeOffset),
		DryAt:        utc(b.DryAt), Dry: quantiles(b.Dry),
		Cause: b.Cause, Evidence: b.Evidence,
	}
	d.Salt, d.Temperature = figure(b.Salt.EC), figure(b.Temperature)
	if known(b.Salt.EC) {
		d.SaltLimit, d.SaltAbove, d.SaltLimitAt = number(b.Salt.Limit), number(b.Salt.Above), utc(b.Salt.LimitAt)
	}
	if known(b.WaterContent) {
		d.SuctionCM = number(b.Suction)
	}
	if known(b.UptakePerDay) {
		d.DemandPerDay = number(b.DemandPerDay)
	}
	return d
}

func channelDoc(c model.ChannelEstimate) ChannelDoc {
	d := ChannelDoc{
		Channel: c.Channel, Reservoir: c.Reservoir,
		Since: instant(c.Since), Evidence: c.Evidence, Quality: c.Quality,
	}
	if c.Quality != model.Unknown {
		d.Dry = &c.Dry
	}
	return d
}

func reservoirDoc(r model.ReservoirEstimate) ReservoirDoc {
	d := ReservoirDoc{
		Reservoir: r.Reservoir,
		Level:     figure(r.Level), Volume: figure(r.Volume),
		DrawPerDay: figure(r.DrawPerDay), Unexplained: figure(r.Unexplained),
		EC: figure(r.EC), PH: figure(r.PH), Temperature: figure(r.Temperature),
		LastRefill: instant(r.LastRefill), Cause: r.Cause, Evidence: r.Evidence,
	}
	if r.EmptyAt != nil {
		q := quantiles(*r.EmptyAt)
		d.EmptyAt = &q
	}
	return d
}

// waterDoc is null where the site file does not say.
func waterDoc(w *model.Water) *WaterDoc {
	if w == nil {
		return nil
	}
	d := &WaterDoc{EC: w.EC, Alkalinity: w.Alkalinity}
	if w.PH > 0 {
		d.PH = &w.PH
	}
	return d
}

func sensorDoc(h model.SensorHealth) SensorDoc {
	d := SensorDoc{
		Sensor: h.Sensor, LastMessage: instant(h.LastMessage), LastGood: instant(h.LastGood),
		Silent: h.Silent, Stuck: h.Stuck, Implausible: h.Implausible, Evidence: h.Evidence, Refused: h.Refused,
	}
	if !h.LastGood.IsZero() {
		d.Value = number(h.Value)
	}
	if h.Expected > 0 {
		d.ExpectedSeconds = number(h.Expected.Seconds())
	}
	return d
}

func undeliveredDoc(u expose.Undelivered) UndeliveredDoc {
	return UndeliveredDoc{Recipient: u.Recipient, Since: u.Since.UTC(), Waiting: u.Waiting, Reason: u.Reason, Why: u.Why}
}

func daemonDoc(h model.DaemonHealth) DaemonDoc {
	d := DaemonDoc{
		BrokerLostSince: instant(h.BrokerLostSince), BrokerDropped: h.BrokerDropped,
		ForwardBehindSeconds: h.ForwardBehind.Seconds(), ForwardPending: h.ForwardPending,
		ClockWrong: h.ClockWrong, ClockEvidence: h.ClockEvidence,
		JournalFailing: h.JournalFailing, JournalEvidence: h.JournalEvidence,
	}
	if h.DiskKnown {
		d.DiskFreeBytes, d.DiskLossPerDay = &h.DiskFree, number(h.DiskLoss)
	}
	if lasts, ok := h.DiskLasts(); ok {
		d.DiskLastsSeconds = number(lasts.Seconds())
	}
	return d
}
