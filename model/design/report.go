package design

import (
	"fmt"
	"math"
	"time"
)

// BagReport is what physics makes of a bag before a single reading.
type BagReport struct {
	ID      string `json:"id"`
	Channel string `json:"channel"`

	Volume      float64 `json:"volume_l"`
	Height      float64 `json:"height_mm"`
	Lift        float64 `json:"lift_mm"`
	Equilibrium float64 `json:"equilibrium_water_content"`
	AirSpace    float64 `json:"air_space_at_rest"`
	DryLimit    float64 `json:"dry_limit"`
	WetLimit    float64 `json:"wet_limit"`

	EasilyAvailable float64 `json:"easily_available_l"`
	Supply          float64 `json:"wick_supply_l_per_day"` // at the dry limit at the bag's base
	PeakDemand      float64 `json:"peak_demand_l_per_day"`
	PeakHour        float64 `json:"peak_hour_l_per_h"`
	Margin          float64 `json:"margin"`       // supply over peak-day demand
	MarginHour      float64 `json:"margin_hour"`  // supply over peak-hour demand
	Buffer          float64 `json:"buffer_hours"` // easily available water at the mean demand of the peak day

	Advice []string `json:"advice,omitempty"`
	Notes  []string `json:"notes,omitempty"`
}

// ReservoirReport is what physics makes of a reservoir.
type ReservoirReport struct {
	ID         string  `json:"id"`
	Full       float64 `json:"full_l"`
	Usable     float64 `json:"usable_l"`
	PeakDemand float64 `json:"peak_demand_l_per_day"`
	DaysAtPeak float64 `json:"days_at_peak"`
	Bags       int     `json:"bags"`
}

// Report is the whole check of a site.
type Report struct {
	Site       string            `json:"site"`
	PeakDay    float64           `json:"peak_reference_mm"`
	Bags       []BagReport       `json:"bags"`
	Reservoirs []ReservoirReport `json:"reservoirs"`
}

// Check works out the report. The crop is taken as it stands at its most
// demanding, so that the answer does not depend on the day of asking.
func (s *Site) Check() (Report, error) {
	peak, err := PeakDay(s.Place, s.Site.CoverTransmission)
	if err != nil {
		return Report{}, err
	}
	r := Report{Site: s.Site.Name, PeakDay: peak.Day}
	total := map[string]float64{}
	count := map[string]int{}
	for _, b := range s.Bags {
		row := b.Report(peak)
		r.Bags = append(r.Bags, row)
		total[b.Channel.Reservoir] += row.PeakDemand
		count[b.Channel.Reservoir]++
	}
	for _, v := range s.Reservoirs {
		id := v.Reservoir.ID
		row := ReservoirReport{ID: id, Full: v.Full(), Usable: v.Usable(), PeakDemand: total[id], Bags: count[id]}
		if row.PeakDemand > 0 {
			row.DaysAtPeak = row.Usable / row.PeakDemand
		}
		r.Reservoirs = append(r.Reservoirs, row)
	}
	return r, nil
}

// Report works out one bag.
func (b *Bag) Report(peak Peak) BagReport {
	day, hour := b.peakDemand(peak.Day), b.peakDemand(peak.MaxHour())
	r := BagReport{
		ID: b.Bag.ID, Channel: b.Channel.ID,
		Volume: b.Volume(), Height: 10 * b.Hydraulic.Store.Tube().Height(), Lift: 10 * b.Lift,
		Equilibrium: b.Equilibrium(), AirSpace: b.Saturated - b.Equilibrium(),
		DryLimit: b.DryLimit, WetLimit: b.WetLimit,
		EasilyAvailable: b.EasilyAvailable(), Supply: b.SupplyAtLimit(),
		PeakDemand: day, PeakHour: hour, Notes: b.Notes,
	}
	if day > 0 {
		r.Margin, r.Buffer = r.Supply/day, 24*r.EasilyAvailable/day
	}
	if hour > 0 {
		r.MarginHour = r.Supply / 24 / hour
	}
	r.Advice = b.advise(r)
	return r
}

// peakDemand is the demand, L, of a reference depth, mm, at mid-season.
func (b *Bag) peakDemand(mm float64) float64 {
	grown := b.Bag.Planted.Add(time.Duration(24 * (b.Crop.Stages.Initial + b.Crop.Stages.Development + b.Crop.Stages.Mid/2) * float64(time.Hour)))
	return b.Demand(grown, mm) / 1000
}

// Wanted margins of supply over demand. Below 1 the bag dries day after day;
// wicks age, so half as much again is wanted (common practice).
const (
	enough = 1.0
	ample  = 1.5
)

// advise says in words what is wrong with a bag and what would mend it.
func (b *Bag) advise(r BagReport) []string {
	var out []string
	if r.Equilibrium > r.WetLimit {
		out = append(out, fmt.Sprintf("stands too wet at rest: %.0f %% air, at least %.0f %% is wanted; raise the bag above the water or use a coarser medium", 100*r.AirSpace, 100*(b.Saturated-r.WetLimit)))
	}
	if r.Equilibrium <= r.DryLimit {
		out = append(out, fmt.Sprintf("is dry even at rest: the lift of %.0f mm is more than the medium can hold; lower it", r.Lift))
	}
	if r.PeakDemand <= 0 {
		return out
	}
	switch {
	case r.Margin < enough:
		out = append(out, fmt.Sprintf("the wicks cannot keep up on a peak day: they lift %.1f L, the plants ask for %.1f L; %s", r.Supply, r.PeakDemand, b.remedy(r.PeakDemand*ample)))
	case r.Margin < ample:
		out = append(out, fmt.Sprintf("the wicks only just keep up on a peak day (%.1f L against %.1f L) and leave nothing for age; %s", r.Supply, r.PeakDemand, b.remedy(r.PeakDemand*ample)))
	}
	return out
}

// remedy finds what would lift wanted litres a day: more wicks of the same
// kind, or the same wicks over a smaller lift.
func (b *Bag) remedy(wanted float64) string {
	each := b.SupplyAtLimit() / float64(max(1, b.Bag.WickCount))
	text := "no number of these wicks is enough at this lift"
	if each > 0 {
		text = fmt.Sprintf("use %d wicks instead of %d", int(math.Ceil(wanted/each)), b.Bag.WickCount)
	}
	if lift, ok := b.LiftFor(wanted); ok {
		text += fmt.Sprintf(", or lower the lift from %.0f to %.0f mm", 10*b.Lift, 10*lift)
	}
	return text
}
