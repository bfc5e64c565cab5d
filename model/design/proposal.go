package design

import "time"

// Proposal is a whole installation worked out from a Requirement.
type Proposal struct {
	Crop     string  `json:"crop"`
	Diameter float64 `json:"diameter_mm"`
	LayFlat  float64 `json:"lay_flat_mm"`
	Length   float64 `json:"length_mm"` // of the filled part of one bag
	Fill     float64 `json:"fill"`

	Plants           int     `json:"plants"`
	PerBag           int     `json:"plants_per_bag"`
	Bags             int     `json:"bags"`
	RootRoom         float64 `json:"root_room_l"`
	RootRoomPractice float64 `json:"root_room_practice_l"`
	RootRoomKnown    bool    `json:"-"`
	TubeLength       float64 `json:"tube_length_m"` // of all bags, filled

	Media Shopping `json:"media"`

	Wick    string  `json:"wick"`
	Wicks   int     `json:"wicks_per_bag"`
	Section float64 `json:"section_cm2"`
	Lift    float64 `json:"lift_mm"`
	Margin  float64 `json:"wanted_margin"`

	Peak     Peak       `json:"-"`
	Latitude float64    `json:"latitude"`
	Cover    float64    `json:"cover_transmission"`
	Month    time.Month `json:"month"` // 0: midsummer
	Canopy   float64    `json:"canopy_per_plant_m2"`
	// MeasuredDrink says that the demand is the grower's own litres a plant, so
	// that the canopy decides nothing.
	MeasuredDrink bool `json:"measured_drink"`

	Reference float64 `json:"reference_mm_per_day"`
	Lit       float64 `json:"lamps_mm_per_day,omitempty"` // of Reference, by lamps
	PerPlant  float64 `json:"demand_per_plant_l_per_day"`
	Demand    float64 `json:"demand_l_per_day"` // of all plants
	Days      float64 `json:"days_away"`
	Reservoir float64 `json:"reservoir_l"` // usable
	Lasts     float64 `json:"reservoir_lasts_days"`

	Thumb   Thumb             `json:"rule_of_thumb"`
	Lifts   []LiftRow         `json:"supply_against_lift"`
	Report  BagReport         `json:"bag"`
	Origins map[string]Origin `json:"origins"`

	// Bag is one of the bags with its physics, Run its peak day.
	Bag *Bag    `json:"-"`
	Run PeakRun `json:"-"`
}
