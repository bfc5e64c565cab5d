package config

import (
	"time"

	"wickd/model"
)

// MQTT says where readings come from. Exactly one of Broker and Embedded is
// set, or neither when the site has no sensors.
type MQTT struct {
	Broker   string // URL without user and password
	ClientID string
	Username string
	Password Secret
	CAFile   string // empty: the system's certificates
	Embedded *Embedded
	Ack      *Ack // nil: no answers are taken by MQTT
}

// Ack takes answers to alerts by MQTT.
type Ack struct {
	Topic   string // that they are published to
	Trusted bool   // an answer needs no signature
}

// Reply is the topic on which it is said what came of an answer.
func (a Ack) Reply() string { return a.Topic + "/reply" }

// Embedded is a broker inside wickd.
type Embedded struct {
	Listen string // host:port
	Users  []User // sorted by name; empty: anybody may connect
}

// User may connect to the embedded broker.
type User struct {
	Name     string
	Password Secret
}

// Notify says who is told. Alerts go one way: to Recipients, or to an
// Alertmanager.
type Notify struct {
	Recipients   []Recipient   // sorted by name
	Alertmanager *Alertmanager // nil: none
	Relay        Secret        // URL that takes the answers of buttons; not given: none
	PageURL      string        // outside base URL of the page, without a slash at its end; empty: none
	Weekly       *Weekly       // nil: no digest
	Heartbeat    *Heartbeat    // nil: none
}

// Alertmanager is a server that tells people in wickd's place.
type Alertmanager struct {
	URL, Username string
	Password      Secret
}

// Weekly is a time of the week, in the site's time zone.
type Weekly struct {
	Day time.Weekday
	At  time.Duration // since midnight
}

// Heartbeat is a URL elsewhere that is called while all is well.
type Heartbeat struct {
	URL   Secret
	Every time.Duration
}

// Recipient is one person or channel.
type Recipient struct {
	Name        string
	URL         Secret
	MinPriority model.Priority
	Quiet       *Quiet // nil: none
	// EscalateAfter is how long an alert must stand unacknowledged before this
	// one is told; zero: at once.
	EscalateAfter time.Duration
}

// Quiet is a daily span in which only urgent alerts are sent, in the site's
// time zone. It runs past midnight when From is after To.
type Quiet struct {
	From, To time.Duration // since midnight
}

// Influx is where readings and estimates are forwarded to.
type Influx struct {
	URL, Org, Bucket string
	Token            Secret // not set: none is sent
}

// Alerts changes when alerts are raised.
type Alerts struct {
	Horizon    time.Duration
	Reminders  map[model.Priority]time.Duration // none: not repeated
	Conditions map[model.Condition]Condition
}

// Condition changes one condition; what is nil stays as it is.
type Condition struct {
	Enabled           *bool
	Priority          *model.Priority
	OnDelay, OffDelay *time.Duration
	// Deadband is in the unit of the condition's quantity: water content 0–1,
	// mm, mS/cm, pH, K.
	Deadband *float64
}

const (
	// defaultHorizon is a weekend away: from Friday's last look to Sunday's.
	defaultHorizon = 48 * time.Hour
	// An urgent alert has about an hour to act in, a high one a working day;
	// a reminder comes at half of that. Lower ones wait for the next visit.
	defaultUrgentReminder = 30 * time.Minute
	defaultHighReminder   = 4 * time.Hour
	// defaultHeartbeat is what services that watch for silence usually expect
	// (common practice); a missed one is noticed within a quarter of an hour.
	defaultHeartbeat = 5 * time.Minute
	// shortestReminder keeps a phone from being flooded: 10 min is what
	// alarm-management practice (EEMUA 191) takes for one alarm.
	shortestReminder = 10 * time.Minute
)
