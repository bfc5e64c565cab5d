package twin

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"wickd/alerts"
	"wickd/model"
	"wickd/model/sim"
)

// Trial is one thing that may happen on a bench, and what is asked of wickd.
type Trial struct {
	Name   string
	Days   int
	Refill sim.RefillPolicy
	Fill   float64
	// Faults are what goes wrong from t on; nil: nothing does. Everything that
	// is left to chance is drawn from rng.
	Faults func(site *model.Site, t time.Time, rng *rand.Rand) []sim.Fault
	// Mended is how long the faults last; 0: nobody mends them.
	Mended time.Duration
	// Wanted are the conditions of which any one names the fault, with one of
	// the Causes. Nil: nothing is wrong, nothing may be raised.
	Wanted []model.Condition
	Causes []model.Cause // nil: any
	Goal   time.Duration // the delay that is asked for
	// Excused are further conditions that the fault rightly raises.
	Excused []model.Condition
}

const (
	// start of every trial: early summer.
	startMonth = time.June
	// settled is how long nothing is judged while the filters learn the site.
	settled = 48 * time.Hour
	// faultDay is when faults begin, and within how many hours of it.
	faultDay, faultSpread = 5, 24
)

func start() time.Time { return time.Date(2026, startMonth, 1, 0, 0, 0, 0, time.UTC) }

// one is a fault of one subject.
func one(kind sim.FaultKind, subject func(*model.Site) model.Subject, size float64) func(*model.Site, time.Time, *rand.Rand) []sim.Fault {
	return func(s *model.Site, t time.Time, _ *rand.Rand) []sim.Fault {
		return []sim.Fault{{Kind: kind, Subject: subject(s), Start: t, Size: size}}
	}
}

// usualDraw of a bag, L/h, over day and night: what it is depends on the weather.
const usualDraw = 0.05

// leaks is a leak of a share of the usual draw.
func leaks(share float64) func(*model.Site, time.Time, *rand.Rand) []sim.Fault {
	return func(s *model.Site, t time.Time, rng *rand.Rand) []sim.Fault {
		return one(sim.Leak, theTank, share*usualDraw*float64(len(s.Bags)))(s, t, rng)
	}
}

func someBag(s *model.Site) model.Subject   { return model.BagSubject(s.Bags[len(s.Bags)/3].ID) }
func someProbe(s *model.Site) model.Subject { return someBag(s).Sensor(model.Moisture) }
func someChannel(s *model.Site) model.Subject {
	return model.ChannelSubject(s.Channels[len(s.Channels)-1].ID)
}
func theLevel(s *model.Site) model.Subject { return theTank(s).Sensor(model.Level) }
func theTank(s *model.Site) model.Subject  { return model.ReservoirSubject(s.Reservoirs[0].ID) }

// growing are plants whose demand grows by a share of itself every day: young ones
// double in three weeks (common practice).
func growing(share float64) func(*model.Site, time.Time, *rand.Rand) []sim.Fault {
	return func(_ *model.Site, t time.Time, _ *rand.Rand) []sim.Fault {
		var faults []sim.Fault
		for day := range 14 {
			from := t.AddDate(0, 0, day)
			faults = append(faults, sim.Fault{Kind: sim.DemandChange, Start: from, End: from.AddDate(0, 0, 1), Size: math.Pow(1+share, float64(day+1))})
		}
		return faults
	}
}

// Trials are what the study tries.
func Trials() []Trial {
	return slices.Concat(quiet(), wicks(), probes(), tanks(), mended())
}

func quiet() []Trial {
	return []Trial{
		{Name: "nothing wrong", Days: 14},
		{Name: "heat wave of 6 K", Days: 10, Faults: func(_ *model.Site, t time.Time, _ *rand.Rand) []sim.Fault {
			return []sim.Fault{{Kind: sim.HeatWave, Start: t, End: t.Add(72 * time.Hour), Size: 6}}
		}, Excused: []model.Condition{alerts.SolutionWarm, alerts.BagDry, alerts.BagDrying}},
		{Name: "plants growing by 4 % a day", Days: 14, Faults: growing(0.04)},
		{Name: "crop cut by a third", Days: 12, Faults: func(_ *model.Site, t time.Time, _ *rand.Rand) []sim.Fault {
			return []sim.Fault{{Kind: sim.DemandChange, Start: t, Size: 2.0 / 3}}
		}},
		{Name: "crop taken out", Days: 11, Faults: func(s *model.Site, t time.Time, _ *rand.Rand) []sim.Fault {
			var gone []sim.Fault
			for _, b := range s.Bags {
				gone = append(gone, sim.Fault{Kind: sim.PlantsGone, Subject: model.BagSubject(b.ID), Start: t})
			}
			return gone
		}, Excused: []model.Condition{alerts.BagNotDrinking}},
		{Name: "sun sensor half in the shade", Days: 10, Faults: func(s *model.Site, t time.Time, _ *rand.Rand) []sim.Fault {
			if len(s.Air) == 0 {
				return nil
			}
			return []sim.Fault{{Kind: sim.ProbeLostContact, Subject: model.AirSubject(model.Radiation), Start: t, Size: 0.5}}
		}},
		{Name: "bag watered from above", Days: 9, Faults: one(sim.WateredFromAbove, someBag, 1)},
	}
}

func wicks() []Trial {
	lost := []model.Cause{model.CauseWickLostContact}
	fails := []model.Condition{alerts.WickFailing}
	dries := []model.Condition{alerts.BagDry, alerts.BagDrying}
	return []Trial{
		{Name: "wick lost contact", Days: 8, Faults: one(sim.WickLostContact, someBag, 0.12), Wanted: fails, Causes: lost, Goal: 24 * time.Hour, Excused: dries},
		{Name: "wick clogging, 1 %/h", Days: 12, Faults: one(sim.WickClogging, someBag, 0.01), Wanted: fails, Causes: []model.Cause{model.CauseWickClogging}, Goal: 96 * time.Hour, Excused: dries},
		{Name: "wick clogging, 3 %/h", Days: 10, Faults: one(sim.WickClogging, someBag, 0.03), Wanted: fails, Causes: []model.Cause{model.CauseWickClogging}, Goal: 48 * time.Hour, Excused: dries},
		{Name: "channel dry", Days: 8, Faults: one(sim.ChannelDry, someChannel, 0), Wanted: []model.Condition{alerts.ChannelDry}, Goal: 3 * time.Hour, Excused: dries},
		{Name: "plants gone", Days: 11, Faults: one(sim.PlantsGone, someBag, 0), Wanted: []model.Condition{alerts.BagNotDrinking}, Causes: []model.Cause{model.CauseNotDrinking}, Goal: 96 * time.Hour},
	}
}

func probes() []Trial {
	odd := []model.Condition{alerts.SensorImplausible, alerts.SensorStuck}
	apart := []model.Cause{model.CauseProbeLostContact}
	return []Trial{
		{Name: "probe stuck", Days: 8, Faults: one(sim.ProbeStuck, someProbe, 0), Wanted: odd, Goal: 24 * time.Hour},
		{Name: "probe lost contact, gain 0.45", Days: 8, Faults: one(sim.ProbeLostContact, someProbe, 0.45), Wanted: odd, Causes: apart, Goal: 3 * time.Hour},
		{Name: "probe lost contact, gain 0.8", Days: 8, Faults: one(sim.ProbeLostContact, someProbe, 0.8), Wanted: odd, Causes: apart, Goal: 24 * time.Hour},
		{Name: "probe silent", Days: 7, Faults: one(sim.ProbeSilent, someProbe, 0), Wanted: []model.Condition{alerts.SensorSilent}, Goal: 2 * time.Hour},
		{Name: "float that jams", Days: 12, Faults: one(sim.ProbeJammed, theLevel, 0), Wanted: odd, Goal: 72 * time.Hour},
		{Name: "probe drifting, 0.01 a day", Days: 12, Faults: one(sim.ProbeDrift, someProbe, -0.01)},
	}
}

func tanks() []Trial {
	leak := []model.Condition{alerts.Leak}
	poured := []model.Cause{model.CauseWrongRefill, model.CauseWrongDose}
	strength := []model.Condition{alerts.ECOffTarget, alerts.ECDrift}
	return []Trial{
		{Name: "leak of a tenth of the draw", Days: 9, Faults: leaks(0.1), Wanted: leak, Goal: 24 * time.Hour},
		{Name: "leak of a quarter of the draw", Days: 8, Faults: leaks(0.25), Wanted: leak, Goal: 12 * time.Hour},
		{Name: "refill with the wrong solution", Days: 8, Faults: one(sim.WrongRefill, theTank, 3.2), Wanted: strength, Causes: poured, Goal: 3 * time.Hour},
		{Name: "EC rising 0.08 a day", Days: 11, Refill: sim.RefillNever, Faults: one(sim.ECDrift, theTank, 0.08), Wanted: strength, Causes: []model.Cause{model.CauseWaterOverFeed}, Goal: 96 * time.Hour},
		{Name: "EC falling 0.08 a day", Days: 11, Refill: sim.RefillNever, Faults: one(sim.ECDrift, theTank, -0.08), Wanted: strength, Causes: []model.Cause{model.CauseFeedOverWater}, Goal: 96 * time.Hour},
		{Name: "run out, no refill", Days: 14, Fill: 0.75, Refill: sim.RefillNever, Excused: []model.Condition{alerts.ChannelDry, alerts.BagDry, alerts.BagDrying, alerts.ECDrift, alerts.ECOffTarget}},
	}
}

// mended are faults that somebody sees to: then the alert has to end, and what
// dried drinks its fill, which is neither a leak nor another fault.
func mended() []Trial {
	const day = 24 * time.Hour
	of := func(t Trial, name string, mended time.Duration, days int) Trial {
		t.Name, t.Mended, t.Days = name, mended, days
		return t
	}
	all := map[string]Trial{}
	for _, t := range slices.Concat(wicks(), probes(), tanks()) {
		all[t.Name] = t
	}
	return []Trial{
		of(all["wick lost contact"], "wick lost contact, mended after 2 days", 2*day, 11),
		of(all["channel dry"], "channel dry for 8 h", 8*time.Hour, 9),
		of(all["channel dry"], "channel dry for a day", day, 10),
		of(all["probe lost contact, gain 0.45"], "probe lost contact for a day", day, 9),
		of(all["probe silent"], "probe silent for a day", day, 9),
		{Name: "hose off for 3 h, 10 L/h", Days: 8, Mended: 3 * time.Hour, Faults: one(sim.Leak, theTank, 10), Wanted: []model.Condition{alerts.Leak}, Goal: 2 * time.Hour},
		of(all["leak of a quarter of the draw"], "leak of a quarter, mended after 2 days", 2*day, 11),
	}
}
