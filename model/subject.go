package model

import "strings"

// Subject names what a reading or an alert is about, as a path: "bag/a4",
// "channel/b", "reservoir/tank", the sensors "bag/a4/moisture",
// "reservoir/tank/ec" and "air/temperature", and "wickd/broker" and its like
// for the daemon itself.
type Subject string

// The kinds of thing that a subject can name; the first element of its path.
const (
	KindAir       = "air"
	KindBag       = "bag"
	KindChannel   = "channel"
	KindReservoir = "reservoir"
	KindDaemon    = "wickd"
)

// BagSubject names a bag.
func BagSubject(id string) Subject { return Subject(KindBag + "/" + id) }

// ChannelSubject names a channel.
func ChannelSubject(id string) Subject { return Subject(KindChannel + "/" + id) }

// ReservoirSubject names a reservoir.
func ReservoirSubject(id string) Subject { return Subject(KindReservoir + "/" + id) }

// AirSubject names a sensor of the air in the house.
func AirSubject(q Quantity) Subject { return Subject(KindAir + "/" + string(q)) }

// DaemonSubject names a part of the daemon: "wickd/broker".
func DaemonSubject(part string) Subject { return Subject(KindDaemon + "/" + part) }

// Sensor names the sensor of quantity q on subject s: "bag/a4" → "bag/a4/moisture".
func (s Subject) Sensor(q Quantity) Subject { return s + "/" + Subject(q) }

// Kind is the first element of the path: "bag" of "bag/a4/moisture".
func (s Subject) Kind() string {
	kind, _, _ := strings.Cut(string(s), "/")
	return kind
}

// ID is the second element of the path, or empty: "a4" of "bag/a4/moisture".
func (s Subject) ID() string {
	_, rest, _ := strings.Cut(string(s), "/")
	id, _, _ := strings.Cut(rest, "/")
	return id
}

// Owner is the thing that a sensor's subject belongs to: "bag/a4" of
// "bag/a4/moisture". A subject of one or two elements is its own owner.
func (s Subject) Owner() Subject {
	first, rest, ok := strings.Cut(string(s), "/")
	if !ok {
		return s
	}
	id, _, ok := strings.Cut(rest, "/")
	if !ok {
		return s
	}
	return Subject(first + "/" + id)
}

// Quantity is what a sensor's subject says that it measures: "moisture" of
// "bag/a4/moisture", "temperature" of "air/temperature". A thing that is no sensor
// measures nothing that is known.
func (s Subject) Quantity() Quantity {
	last := strings.LastIndexByte(string(s), '/')
	if last < 0 {
		return ""
	}
	return Quantity(s[last+1:])
}
