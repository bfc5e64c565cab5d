package design

import "math"

// PeakRun is a bag's day when every day is a peak day: the quick model run from
// rest until one day is like the next, with what flow does to the profile above
// the base.
type PeakRun struct {
	Demand [24]float64 // L in each hour after solar midnight
	Lifted [24]float64 // by the wicks, L; negative where the bag drains back
	Taken  [24]float64 // by the plants, L

	WaterContent [25]float64 // on each hour, m³/m³
	Lowest       float64     // m³/m³
	Met          float64     // share of the day's demand that the plants get
	DryAfter     float64     // hours of peak days from rest until below the dry limit; 0: never
}

const (
	runStep    = 1.0 / 6 // h
	runDays    = 40      // by then a bag that is still drying is dry for its plants
	runSettled = 1e-4    // change of water content from one midnight to the next
)

// RunPeak runs the bag through peak days.
func (b *Bag) RunPeak(p Peak) PeakRun {
	run := PeakRun{}
	for h := range run.Demand {
		run.Demand[h] = b.peakDemand(p.Hours[h])
	}
	s := b.Hydraulic.Store
	storage := s.Equilibrium(b.Lift)
	for day := range runDays {
		end := run.day(b, storage, 24*float64(day))
		settled := math.Abs(end-storage) < runSettled*s.Volume()
		storage = end
		if settled {
			break
		}
	}
	return run
}

// day runs one day from a storage, cm³, and leaves it in r. started is how many
// hours went before it.
func (r *PeakRun) day(b *Bag, storage, started float64) float64 {
	s := b.Hydraulic.Store
	r.Lifted, r.Taken, r.Lowest = [24]float64{}, [24]float64{}, math.Inf(1)
	asked, got := 0.0, 0.0
	const steps = 6
	for i := range 24 * steps {
		h := i / steps
		if i%steps == 0 {
			r.WaterContent[h] = s.WaterContent(storage)
		}
		step := b.Hydraulic.Step(storage, 1000*r.Demand[h], 1, runStep)
		storage = step.Storage
		r.Lifted[h] += step.Wicked / 1000
		r.Taken[h] += step.TakenUp / 1000
		asked += r.Demand[h] * runStep
		got += step.TakenUp / 1000
		content := s.WaterContent(storage)
		r.Lowest = math.Min(r.Lowest, content)
		if content < b.DryLimit && r.DryAfter == 0 {
			r.DryAfter = started + float64(i+1)*runStep
		}
	}
	r.WaterContent[24] = s.WaterContent(storage)
	r.Met = 1
	if asked > 0 {
		r.Met = got / asked
	}
	return storage
}
