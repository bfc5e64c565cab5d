package web

import (
	"time"

	"wickd/model"
)

// Document is the answer of GET /api/v1/snapshot. Its keys are stable: keys may
// be added, none changes its name, unit or meaning. Units are those of the
// records that replay writes, named in the keys; a figure that is not known is
// null. Times are RFC 3339 in UTC.
type Document struct {
	Site       string         `json:"site"`
	Version    string         `json:"version"`
	TimeZone   string         `json:"time_zone"` // of the site, by its IANA name; the times here are in UTC
	Now        time.Time      `json:"now"`
	Time       *time.Time     `json:"time"` // of the estimates; null: none yet
	Ready      bool           `json:"ready"`
	NotReady   string         `json:"not_ready,omitempty"` // why
	Notes      []string       `json:"notes,omitempty"`     // what an operator should know besides
	Alerts     []AlertDoc     `json:"alerts"`
	Bags       []BagDoc       `json:"bags"`
	Channels   []ChannelDoc   `json:"channels"`
	Reservoirs []ReservoirDoc `json:"reservoirs"`
	Sensors    []SensorDoc    `json:"sensors"`
	Daemon     DaemonDoc      `json:"daemon"`
}

// Figure is an estimate with what a reader needs to trust it.
type Figure struct {
	Value      *float64      `json:"value"`
	SD         *float64      `json:"sd"`
	AgeSeconds *float64      `json:"age_s"` // since the last good reading behind it
	Quality    model.Quality `json:"quality"`
}

// AlertDoc is one alert that is not back to normal.
type AlertDoc struct {
	Occurrence string          `json:"occurrence"`
	Condition  model.Condition `json:"condition"`
	Subject    model.Subject   `json:"subject"`
	Priority   model.Priority  `json:"priority"`
	State      string          `json:"state"`
	Cause      model.Cause     `json:"cause,omitempty"`
	Since      *time.Time      `json:"since"`
	Due        *time.Time      `json:"due"`
	Until      *time.Time      `json:"until"` // end of shelving
	By         string          `json:"acknowledged_by,omitempty"`
	Chattering bool            `json:"chattering,omitempty"` // it comes and goes, and is held as one
	Message    model.Message   `json:"message"`
}

// BagDoc is one bag.
type BagDoc struct {
	Bag           string          `json:"bag"`
	Channel       string          `json:"channel"`
	WaterContent  Figure          `json:"water_content"`
	DryLimit      *float64        `json:"dry_limit"`
	WetLimit      *float64        `json:"wet_limit"`
	SuctionCM     *float64        `json:"suction_cm"`
	UptakeL       *float64        `json:"uptake_l"`
	UptakePerDay  Figure          `json:"uptake_l_per_day"`
	DemandPerDay  *float64        `json:"demand_l_per_day"`
	SupplyAtLimit *float64        `json:"wick_supply_l_per_day"` // at the dry limit
	WickHealth    Figure          `json:"wick_health"`
	DemandFactor  Figure          `json:"demand_factor"`
	ProbeOffset   Figure          `json:"probe_offset"`
	DryAt         *time.Time      `json:"dry_at"`
	Dry           model.Quantiles `json:"dry"`
	Salt          Figure          `json:"salt_ms_per_cm"` // EC of the water at the roots, at 25 °C
	SaltLimit     *float64        `json:"salt_limit_ms_per_cm"`
	SaltAbove     *float64        `json:"salt_above_limit_probability"`
	SaltLimitAt   *time.Time      `json:"salt_limit_at"` // at today's course; null: not within a year
	Temperature   Figure          `json:"root_temperature_c"`
	Cause         model.Cause     `json:"cause,omitempty"`
	Evidence      string          `json:"evidence,omitempty"`
}

// ChannelDoc is one channel.
type ChannelDoc struct {
	Channel   string        `json:"channel"`
	Reservoir string        `json:"reservoir"`
	Dry       *bool         `json:"dry"` // null: not known
	Since     *time.Time    `json:"since"`
	Evidence  string        `json:"evidence,omitempty"`
	Quality   model.Quality `json:"quality"`
}

// ReservoirDoc is one reservoir.
type ReservoirDoc struct {
	Reservoir   string           `json:"reservoir"`
	Level       Figure           `json:"level_mm"`
	Volume      Figure           `json:"volume_l"`
	DrawPerDay  Figure           `json:"draw_l_per_day"`
	Unexplained Figure           `json:"unexplained_l_per_day"`
	EmptyAt     *model.Quantiles `json:"empty_at"`
	EC          Figure           `json:"ec_ms_per_cm"`
	PH          Figure           `json:"ph"`
	Temperature Figure           `json:"temperature_c"`
	// TemperatureLimit is that of the site file; null: it gives none.
	TemperatureLimit *float64 `json:"temperature_limit_c"`

	LastRefill *time.Time  `json:"last_refill"`
	Water      *WaterDoc   `json:"water"` // what it is filled up with, by the site file; null: it does not say
	Cause      model.Cause `json:"cause,omitempty"`
	Evidence   string      `json:"evidence,omitempty"`
}

// WaterDoc is what a reservoir is filled up with, before any feed.
type WaterDoc struct {
	EC         float64  `json:"ec_ms_per_cm"`
	Alkalinity float64  `json:"alkalinity_meq_per_l"`
	PH         *float64 `json:"ph"` // null: not stated
}

// SensorDoc is one sensor.
type SensorDoc struct {
	Sensor          model.Subject            `json:"sensor"`
	Value           *float64                 `json:"value"` // the last good one, in the unit of its quantity
	LastMessage     *time.Time               `json:"last_message"`
	LastGood        *time.Time               `json:"last_good"`
	ExpectedSeconds *float64                 `json:"expected_s"`
	Silent          bool                     `json:"silent"`
	Stuck           bool                     `json:"stuck"`
	Implausible     bool                     `json:"implausible"`
	Evidence        string                   `json:"evidence,omitempty"`
	Refused         map[model.Verdict]uint64 `json:"refused,omitempty"`
}

// DaemonDoc is the daemon's own state.
type DaemonDoc struct {
	BrokerLostSince      *time.Time `json:"broker_lost_since"` // null: connected
	BrokerDropped        uint64     `json:"broker_dropped"`
	ForwardBehindSeconds float64    `json:"forward_behind_s"`
	ForwardPending       int64      `json:"forward_pending"`
	ClockWrong           bool       `json:"clock_wrong"`
	ClockEvidence        string     `json:"clock_evidence,omitempty"`
	JournalFailing       bool       `json:"journal_failing"`
	JournalEvidence      string     `json:"journal_evidence,omitempty"`

	DiskFreeBytes    *int64   `json:"disk_free_bytes"`         // null: not known
	DiskLossPerDay   *float64 `json:"disk_loss_bytes_per_day"` // null: not known
	DiskLastsSeconds *float64 `json:"disk_lasts_s"`            // at that loss; null: nothing is lost, or it is not known

	Undelivered []UndeliveredDoc `json:"undelivered"` // whom messages do not reach
}

// UndeliveredDoc is a recipient whom messages do not reach.
type UndeliveredDoc struct {
	Recipient string    `json:"recipient"`
	Since     time.Time `json:"since"`
	Waiting   int       `json:"waiting"` // messages
	Reason    string    `json:"reason"`  // a label of notifications_failed_total
	Why       string    `json:"why"`     // in words, with where to look
}
