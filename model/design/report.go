package design

import (
	"slices"
	"time"

	"wickd/model"
	"wickd/model/climate"
	"wickd/model/hydraulics"
)

// BagReport is what physics makes of a bag before a single reading.
type BagReport struct {
	ID      string `json:"id"`
	Channel string `json:"channel"`
	Media   string `json:"media"`
	Plants  int    `json:"plants"`

	Volume      float64 `json:"volume_l"`
	Height      float64 `json:"height_mm"`
	Lift        float64 `json:"lift_mm"`
	Equilibrium float64 `json:"equilibrium_water_content"`
	AirSpace    float64 `json:"air_space_at_rest"`
	DryLimit    float64 `json:"dry_limit"`
	WetLimit    float64 `json:"wet_limit"`

	EasilyAvailable float64 `json:"easily_available_l"`      // from rest to the dry limit
	Supply          float64 `json:"wick_supply_l_per_day"`   // at the dry limit at the bag's base
	Conveyed        float64 `json:"medium_passes_l_per_day"` // wick and medium in series, see Bag.Conveyed
	PeakDemand      float64 `json:"peak_demand_l_per_day"`
	PeakHour        float64 `json:"peak_hour_l_per_h"`
	Margin          float64 `json:"margin"`       // supply over peak-day demand
	MarginHour      float64 `json:"margin_hour"`  // supply over peak-hour demand
	Buffer          float64 `json:"buffer_hours"` // easily available water at the mean demand of the peak day

	// How far the solution in the channel may fall before the wicks no longer
	// lift the peak day's demand, and how far it may rise before the bag at
	// rest has too little air, mm. Negative: it is past that already.
	MayFall float64 `json:"level_may_fall_mm"`
	MayRise float64 `json:"level_may_rise_mm"`

	// From the quick model with peak days one after the other.
	Lowest   float64 `json:"peak_lowest_water_content"`
	Met      float64 `json:"peak_demand_met"`            // share that the plants get
	DryAfter float64 `json:"peak_hours_to_dry_limit"`    // from rest; 0: never
	Settled  float64 `json:"peak_water_content_at_dawn"` // six hours after midnight

	Advice []Advice `json:"advice,omitempty"`
	Notes  []string `json:"notes,omitempty"`
}

// MediumReport is how a medium's pores divide (De Boodt & Verdonck 1972) in the
// laboratory's 10 cm sample.
type MediumReport struct {
	Name            string  `json:"name"`
	Typical         bool    `json:"typical"`
	Porosity        float64 `json:"porosity"`
	AirSpace        float64 `json:"air_space"`
	EasilyAvailable float64 `json:"easily_available"`
	Buffer          float64 `json:"buffer"`
}

// ReservoirReport is what physics makes of a reservoir.
type ReservoirReport struct {
	ID         string  `json:"id"`
	Full       float64 `json:"full_l"`
	Usable     float64 `json:"usable_l"`
	Channels   float64 `json:"channels_l"` // stands in its channels
	PeakDemand float64 `json:"peak_demand_l_per_day"`
	DaysAtPeak float64 `json:"days_at_peak"`
	Bags       int     `json:"bags"`
	Unwatched  bool    `json:"unwatched,omitempty"` // it has no level sensor
	// Unprobed are those of its bags that have no moisture probe.
	Unprobed []string `json:"unprobed,omitempty"`
	// Unmeasured are what its target states and no sensor of it measures.
	Unmeasured []model.Quantity `json:"unmeasured,omitempty"`
	// FloatValve says that the level tells no draw.
	FloatValve bool `json:"float_valve,omitempty"`
	// ChannelLasts is how soon the first of its channels, FirstDry, may be drunk empty on
	// peak days, days, where they are filled at times; 0: they are fed all along, or
	// nothing drinks. FirstHolds is what it holds, L.
	ChannelLasts float64 `json:"channel_lasts_days,omitempty"`
	FirstDry     string  `json:"first_dry_channel,omitempty"`
	FirstHolds   float64 `json:"first_dry_holds_l,omitempty"`
}

// Report is the whole check of a site.
type Report struct {
	Site       string            `json:"site"`
	Latitude   float64           `json:"latitude"`
	PlaceGiven bool              `json:"place_given"`
	Cover      float64           `json:"cover_transmission"`
	PeakDay    float64           `json:"peak_reference_mm"`
	PeakHour   float64           `json:"peak_hour_reference_mm"`
	PeakLit    float64           `json:"peak_lamps_mm,omitempty"` // of PeakDay, by lamps
	Media      []MediumReport    `json:"media"`
	Bags       []BagReport       `json:"bags"`
	Reservoirs []ReservoirReport `json:"reservoirs"`
}

// Check works out the report. The crop is taken as it stands at its most
// demanding, so that the answer does not depend on the day of asking.
func (s *Site) Check() (Report, error) {
	peak, err := s.Peak()
	if err != nil {
		return Report{}, err
	}
	r := Report{
		Site: s.Site.Name, Latitude: placeOr45(s.Place).Latitude, PlaceGiven: s.Place != nil, Cover: s.Site.CoverTransmission,
		PeakDay: peak.Day, PeakHour: peak.MaxHour(), PeakLit: peak.Lit, Media: s.mediaReports(),
	}
	total := map[string]float64{}
	drinks := map[string]float64{} // from each channel
	count := map[string]int{}
	unprobed := map[string][]string{}
	runs := map[runKey]PeakRun{}
	for _, b := range s.Bags {
		row := b.Report(peak, b.sharedRun(peak, runs))
		if v, ok := s.Site.ReservoirByID(b.Channel.Reservoir); ok {
			row.Advice = append(row.Advice, b.adviseFeed(v.Target.EC)...)
		}
		r.Bags = append(r.Bags, row)
		total[b.Channel.Reservoir] += row.PeakDemand
		drinks[b.Channel.ID] += row.PeakDemand
		count[b.Channel.Reservoir]++
		if b.Bag.Moisture == nil {
			unprobed[b.Channel.Reservoir] = append(unprobed[b.Channel.Reservoir], b.Bag.ID)
		}
	}
	for _, v := range s.Reservoirs {
		id := v.Reservoir.ID
		row := ReservoirReport{ID: id, Full: v.Full(), Usable: v.Usable(), Channels: v.Standing, PeakDemand: total[id], Bags: count[id], FloatValve: v.Reservoir.FloatValve, Unwatched: !measured(v.Reservoir, model.Level), Unmeasured: unmeasured(v.Reservoir), Unprobed: unprobed[id]}
		if row.PeakDemand > 0 {
			row.DaysAtPeak = row.Usable / row.PeakDemand
		}
		if v.Reservoir.FeedsAtTimes {
			s.firstDry(&row, peak, drinks)
		}
		r.Reservoirs = append(r.Reservoirs, row)
	}
	return r, nil
}

// firstDry finds the channel of a reservoir that is empty first on peak days, by what is
// drunk from each, L a day.
func (s *Site) firstDry(row *ReservoirReport, peak Peak, drinks map[string]float64) {
	for _, c := range s.Site.Channels {
		if c.Reservoir != row.ID || !(drinks[c.ID] > 0) {
			continue
		}
		if lasts := peak.Soonest(c.Holds / drinks[c.ID]); row.FirstDry == "" || lasts < row.ChannelLasts {
			row.ChannelLasts, row.FirstDry, row.FirstHolds = lasts, c.ID, c.Holds
		}
	}
}

func measured(r model.Reservoir, what model.Quantity) bool {
	return slices.ContainsFunc(r.Sensors, func(s model.Sensor) bool { return s.Quantity == what })
}

// unmeasured lists what the target of a reservoir states in vain.
func unmeasured(r model.Reservoir) (all []model.Quantity) {
	if r.Target.EC > 0 && !measured(r, model.EC) {
		all = append(all, model.EC)
	}
	if r.Target.PH > 0 && !measured(r, model.PH) {
		all = append(all, model.PH)
	}
	return all
}

// runKey tells bags apart whose peak days differ.
type runKey struct {
	model  *hydraulics.Bag
	demand float64
	dry    float64
}

func (b *Bag) sharedRun(peak Peak, runs map[runKey]PeakRun) PeakRun {
	key := runKey{b.Hydraulic, b.peakDemand(peak.Day), b.DryLimit}
	run, ok := runs[key]
	if !ok {
		run = b.RunPeak(peak)
		runs[key] = run
	}
	return run
}

// mediaReports are the media that bags are filled with, in the order of bags.
func (s *Site) mediaReports() []MediumReport {
	var out []MediumReport
	seen := map[string]bool{}
	for _, b := range s.Bags {
		if seen[b.Bag.Media] {
			continue
		}
		seen[b.Bag.Media] = true
		a := hydraulics.AerationOf(b.Hydraulic.Store.Material())
		out = append(out, MediumReport{
			Name: b.Bag.Media, Typical: b.Medium.Typical,
			Porosity: a.Porosity, AirSpace: a.AirSpace, EasilyAvailable: a.EasilyAvailable, Buffer: a.Buffer,
		})
	}
	return out
}

// Report works out one bag on a peak day and its run.
func (b *Bag) Report(peak Peak, run PeakRun) BagReport {
	day, hour := b.peakDemand(peak.Day), b.peakDemand(peak.MaxHour())
	r := BagReport{
		ID: b.Bag.ID, Channel: b.Channel.ID, Media: b.Bag.Media, Plants: b.Bag.Plants,
		Volume: b.Volume(), Height: 10 * b.Hydraulic.Store.Tube().Height(), Lift: 10 * b.Lift,
		Equilibrium: b.Equilibrium(), AirSpace: b.Saturated - b.Equilibrium(),
		DryLimit: b.DryLimit, WetLimit: b.WetLimit,
		EasilyAvailable: b.EasilyAvailable(), Supply: b.SupplyAtLimit(), Conveyed: b.Conveyed(),
		PeakDemand: day, PeakHour: hour, Notes: b.Notes,
		MayFall: 10 * (b.FarthestLift(day) - b.Lift), MayRise: 10 * (b.Lift - b.NearestLift()),
		Lowest: run.Lowest, Met: run.Met, DryAfter: run.DryAfter, Settled: run.WaterContent[6],
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
	return b.Demand(midSeason(b.Bag.Planted, b.Crop.Stages), mm) / 1000
}

func midSeason(planted time.Time, s climate.Stages) time.Time {
	return planted.Add(time.Duration(24 * (s.Initial + s.Development + s.Mid/2) * float64(time.Hour)))
}
