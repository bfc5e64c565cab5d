package main

import "wickd/model/solution"

// mixDocument is what mix --json prints.
type mixDocument struct {
	Mode     solution.Mode `json:"mode"`
	Discard  float64       `json:"discard_l"`
	Water    float64       `json:"water_l"`
	Doses    []mixDose     `json:"doses"`
	Reagent  *mixReagent   `json:"reagent"`
	Demand   float64       `json:"acid_demand_meq"` // negative: base
	Expected mixExpected   `json:"expected"`
	Steps    []string      `json:"steps"`
	Then     string        `json:"then,omitempty"`
	Notes    []string      `json:"notes,omitempty"`
	Cautions []string      `json:"cautions,omitempty"`
}

type mixDose struct {
	Stock string  `json:"stock"`
	ML    float64 `json:"ml"`
}

type mixReagent struct {
	Name      string  `json:"name"`
	Unit      string  `json:"unit"`
	Amount    float64 `json:"amount"`
	First     float64 `json:"first"` // before measuring
	BeforeAll bool    `json:"before_concentrates"`
}

type mixExpected struct {
	Volume  float64  `json:"volume_l"`
	EC      float64  `json:"ec_ms_per_cm"`
	ECSD    float64  `json:"ec_sd"`
	PH      *float64 `json:"ph"`
	PHSD    *float64 `json:"ph_sd"`
	PHHalf  *float64 `json:"ph_after_first"`
	PHAired *float64 `json:"ph_after_a_day"`
}

func (m mixture) document() mixDocument {
	p, e := m.plan, m.plan.Expected
	d := mixDocument{
		Mode: m.request.Mode, Discard: p.Discard + m.letOut, Water: p.Water, Demand: p.Demand, Doses: []mixDose{},
		Expected: mixExpected{Volume: e.Volume, EC: e.EC, ECSD: e.ECSD},
		Steps:    m.steps(), Then: m.followUp(), Notes: m.notes(), Cautions: m.care(),
	}
	for _, dose := range p.Doses {
		d.Doses = append(d.Doses, mixDose{dose.Stock.Name, dose.ML})
	}
	if p.Reagent != nil {
		d.Reagent = &mixReagent{p.Reagent.Label(), p.Reagent.Unit(), p.Amount, p.First, p.AcidFirst}
	}
	if e.PH > 0 {
		d.Expected.PH, d.Expected.PHSD, d.Expected.PHHalf, d.Expected.PHAired = &e.PH, &e.PHSD, &e.FirstPH, &e.PHAired
	}
	return d
}
