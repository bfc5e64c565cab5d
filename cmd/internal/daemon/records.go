package daemon

import (
	"encoding/json"
	"io"
	"time"

	"wickd/model"
)

// Recorder writes what the core finds as records, one JSON object a line:
// estimates on the hour, alerts at once. It is an Observer.
type Recorder struct {
	encoder *json.Encoder
	err     error
}

// NewRecorder writes to w.
func NewRecorder(w io.Writer) *Recorder {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	return &Recorder{encoder: e}
}

// Err is the first error of writing, after which nothing more is written.
func (r *Recorder) Err() error { return r.err }

func (r *Recorder) write(v any) {
	if r.err == nil {
		r.err = r.encoder.Encode(v)
	}
}

// BagRecord is a bag on the hour.
type BagRecord struct {
	Record         string        `json:"record"`
	Time           time.Time     `json:"time"`
	Bag            string        `json:"bag"`
	WaterContent   float64       `json:"water_content"`
	WaterContentSD float64       `json:"water_content_sd"`
	Uptake         float64       `json:"uptake_l"`
	UptakePerDay   float64       `json:"uptake_l_per_day"`
	WickHealth     float64       `json:"wick_health"`
	WickHealthSD   float64       `json:"wick_health_sd"`
	DryAt          *time.Time    `json:"dry_at"`
	DemandFactor   float64       `json:"demand_factor"`
	ProbeOffset    float64       `json:"probe_offset"`
	RootWarmth     *float64      `json:"root_temperature,omitempty"`
	Salt           *float64      `json:"salt_ec,omitempty"` // of the water at the roots, mS/cm at 25 °C
	Quality        model.Quality `json:"quality"`
	Cause          model.Cause   `json:"cause,omitempty"`
}

// ReservoirRecord is a reservoir on the hour. EmptyAt is nil when the level
// does not reach the empty mark within the forecast, and when it is there
// already: Empty then says so, for nothing is left to forecast.
type ReservoirRecord struct {
	Record        string           `json:"record"`
	Time          time.Time        `json:"time"`
	Reservoir     string           `json:"reservoir"`
	Volume        float64          `json:"volume_l"`
	VolumeSD      float64          `json:"volume_sd"`
	DrawPerDay    float64          `json:"draw_l_per_day"`
	Unexplained   float64          `json:"unexplained_l_per_day"`
	UnexplainedSD float64          `json:"unexplained_sd"`
	EmptyAt       *model.Quantiles `json:"empty_at"`
	Empty         bool             `json:"empty,omitempty"`
	EC            *float64         `json:"ec,omitempty"`
	PH            *float64         `json:"ph,omitempty"`
	Temperature   *float64         `json:"temperature,omitempty"`
	Quality       model.Quality    `json:"quality"`
}

// AlertRecord is one transition of one alert.
type AlertRecord struct {
	Record     string          `json:"record"`
	Time       time.Time       `json:"time"`
	Condition  model.Condition `json:"condition"`
	Subject    model.Subject   `json:"subject"`
	Transition model.Change    `json:"transition"`
	Priority   model.Priority  `json:"priority"`
	Cause      model.Cause     `json:"cause"`
	Suppressed bool            `json:"suppressed"`
	Message    string          `json:"message"`
	Occurrence string          `json:"occurrence"`
	Since      time.Time       `json:"since"`
	Due        *time.Time      `json:"due,omitempty"`
}

// Changed writes an alert record for every transition.
func (r *Recorder) Changed(transitions []model.Transition) {
	for _, t := range transitions {
		r.write(AlertRecord{
			Record: "alert", Time: t.Time.UTC(), Condition: t.Condition, Subject: t.Subject, Transition: t.Kind,
			Priority: t.Priority, Cause: t.Cause, Suppressed: t.Suppressed, Message: t.Message.Text(),
			Occurrence: t.Occurrence, Since: t.Since.UTC(), Due: t.Due,
		})
	}
}

// Reminded writes nothing: a reminder changes no alert.
func (r *Recorder) Reminded([]model.Transition) {}

// Hour writes a record for every bag and reservoir.
func (r *Recorder) Hour(s model.Snapshot) {
	for _, b := range s.Bags {
		r.write(bagRecord(b))
	}
	for _, v := range s.Reservoirs {
		r.write(reservoirRecord(v))
	}
}

func bagRecord(b model.BagEstimate) BagRecord {
	return BagRecord{
		Record: "bag", Time: b.Time.UTC(), Bag: b.Bag,
		WaterContent: b.WaterContent.Value, WaterContentSD: b.WaterContent.SD,
		Uptake: b.Uptake, UptakePerDay: b.UptakePerDay.Value,
		WickHealth: b.WickHealth.Value, WickHealthSD: b.WickHealth.SD,
		DryAt: second(b.DryAt), DemandFactor: b.DemandFactor.Value, ProbeOffset: b.ProbeOffset.Value,
		RootWarmth: known(b.Temperature), Salt: known(b.Salt.EC),
		Quality: b.WaterContent.Quality, Cause: b.Cause,
	}
}

func reservoirRecord(v model.ReservoirEstimate) ReservoirRecord {
	r := ReservoirRecord{
		Record: "reservoir", Time: v.Time.UTC(), Reservoir: v.Reservoir,
		Volume: v.Volume.Value, VolumeSD: v.Volume.SD, DrawPerDay: v.DrawPerDay.Value,
		Unexplained: v.Unexplained.Value, UnexplainedSD: v.Unexplained.SD, EmptyAt: emptyAt(v.EmptyAt),
		EC: known(v.EC), PH: known(v.PH), Temperature: known(v.Temperature), Quality: v.Volume.Quality,
	}
	if q := v.EmptyAt; q != nil && q.P50 != nil && !q.P50.After(v.Time) {
		r.EmptyAt, r.Empty = nil, true
	}
	return r
}

// second rounds a forecast to the second: what is behind it differs from one
// processor to the next.
func second(t *time.Time) *time.Time {
	if t == nil {
		return nil
	}
	rounded := t.UTC().Round(time.Second)
	return &rounded
}

func emptyAt(q *model.Quantiles) *model.Quantiles {
	if q == nil {
		return nil
	}
	return &model.Quantiles{P05: second(q.P05), P50: second(q.P50), P95: second(q.P95)}
}

// known is the value of a figure that was ever measured.
func known(m model.Measured) *float64 {
	if m.Quality == model.Unknown {
		return nil
	}
	v := m.Value
	return &v
}
