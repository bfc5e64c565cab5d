package model

import "time"

// Quality says how far an estimate can be trusted.
type Quality string

// The qualities of an estimate or of what it rests on.
const (
	Fresh   Quality = "fresh"   // rests on readings in their expected time
	Stale   Quality = "stale"   // no good reading in the expected time: the model alone speaks
	Unknown Quality = "unknown" // never a good reading
)

// Measured is a figure with everything that a reader needs to trust it.
type Measured struct {
	Value   float64       `json:"value"`
	SD      float64       `json:"sd"` // standard deviation, same unit
	Time    time.Time     `json:"time"`
	Age     time.Duration `json:"age"` // since the last good reading behind it
	Quality Quality       `json:"quality"`
}

// Quantiles of a time that is not known exactly. A nil pointer lies beyond the
// horizon of the forecast.
type Quantiles struct {
	P05 *time.Time `json:"p05"`
	P50 *time.Time `json:"p50"`
	P95 *time.Time `json:"p95"`
}

// BagEstimate is what is known of one bag at one time.
type BagEstimate struct {
	Bag     string
	Channel string
	Time    time.Time

	WaterContent   Measured // mean of the bag, m³/m³
	Suction        float64  // at the bag's base, cm
	Uptake         float64  // by the plants since the start, L
	UptakePerDay   Measured // over the last 24 h, L/d
	DemandPerDay   float64  // what the plants would take if nothing held them, last 24 h, L/d
	SupplyAtLimit  float64  // what the wicks can lift at the dry limit, L/d
	WickHealth     Measured // 1: as built; 0: no supply
	WickShare      Measured // wick health as a share of what the house's sound bags have, or of 1 where that is more: what a batch of wicks, a mix or the model takes from all alike is not in it
	WickHealthRate float64  // change of the logarithm of wick health over the last day, 1/d; 0 while the bag is new, or its supply back for less than two days
	DemandFactor   Measured // against what the climate and the crop make expect; 1: as expected
	ProbeOffset    Measured // m³/m³

	DryLimit float64    // water content
	WetLimit float64    // water content above which air space is below its limit
	DryAt    *time.Time // median forecast; nil: not within the horizon
	Dry      Quantiles

	Salt        Salt
	Temperature Measured // of the root zone, °C; Unknown without a probe
	Oxygen      float64  // that its water can hold at that temperature, mg/L; 0: not known

	Cause      Cause     // what the diagnosis favours when something is wrong; empty: nothing
	CauseSince time.Time // about when it began; zero: not known
	Evidence   string
}

// Salt is what is known of the salt in a bag's water. Quality Unknown: neither
// the EC of the reservoir nor its target is known.
type Salt struct {
	EC    Measured  // of the water in the root zone, mS/cm at 25 °C
	Limit float64   // that the crop bears there, mS/cm
	Above float64   // probability that the EC lies above the limit, 0–1
	Since time.Time // when the bag was last known to hold nothing but solution
	// LimitAt is when the EC reaches the limit at today's course; nil: not
	// within a year.
	LimitAt *time.Time
	Flush   float64 // L of solution, from the top, that would bring it half-way from the limit to the feed
	Feed    float64 // EC of a feed under which it would stand still, mS/cm
}

// Cause names an explanation that the diagnosis weighs against others.
type Cause string

// The causes.
const (
	CauseWickLostContact  Cause = "wick-lost-contact"
	CauseWickClogging     Cause = "wick-clogging"
	CauseChannelDry       Cause = "channel-dry"
	CauseLeak             Cause = "leak"
	CauseDemandHigh       Cause = "demand-above-supply"
	CauseNotDrinking      Cause = "plants-not-drinking"
	CauseProbeStuck       Cause = "probe-stuck"
	CauseProbeLostContact Cause = "probe-lost-contact"
	CauseProbeSilent      Cause = "probe-silent"
	CauseReservoirEmpty   Cause = "reservoir-empty"
	CauseUndecided        Cause = "undecided"

	CauseWaterOverFeed  Cause = "water-over-feed" // more water than salt leaves the reservoir
	CauseFeedOverWater  Cause = "feed-over-water"
	CauseWrongRefill    Cause = "wrong-refill"
	CausePlainRefill    Cause = "plain-refill" // plain water was poured in
	CauseWrongDose      Cause = "wrong-dose"
	CauseProbeDrift     Cause = "probe-drift"
	CauseHardWater      Cause = "hard-water"
	CauseNitrateUptake  Cause = "nitrate-uptake"
	CauseAmmoniumUptake Cause = "ammonium-uptake"
)

// ChannelEstimate is what is known of one channel.
type ChannelEstimate struct {
	Channel   string
	Reservoir string
	Time      time.Time
	Dry       bool      // it feeds none of its bags
	Since     time.Time // when supply was lost, if it is dry
	Evidence  string
	Quality   Quality
}

// ReservoirEstimate is what is known of one reservoir.
type ReservoirEstimate struct {
	Reservoir   string
	Time        time.Time
	Level       Measured // mm
	Volume      Measured // L
	Usable      float64  // of Volume, L: what lies above the level at which the outlet takes no more
	DrawPerDay  Measured // total, L/d
	Unexplained Measured // beyond what bags take and air evaporates, L/d
	EmptyAt     *Quantiles
	FilledEvery time.Duration // that its channels are filled from it at times, as a rule; zero: all along, or not known
	EC          Measured      // mS/cm at 25 °C
	PH          Measured
	Temperature Measured // °C
	Oxygen      float64  // that the solution can hold at that temperature, mg/L; 0: not known
	LastRefill  time.Time
	ECCourse    Course
	PHCourse    Course
	Poured      *Poured // what was last poured in, if it was judged
	Cause       Cause
	Evidence    string
}

// Course is how a figure of the solution moves, and the likely reason.
type Course struct {
	Rate, SD float64       // per day
	Over     time.Duration // that it was watched for; zero: nothing is known
	Leaving  float64       // EC of what leaves, mS/cm, when the cause is water against feed; 0: only water, or not known
	Cause    Cause         // empty: it is steady
	Evidence string
}

// Poured is what somebody poured into a reservoir, by the balance of salt.
type Poured struct {
	At       time.Time
	Litres   float64 // 0: a dose that the level does not show
	EC, SD   float64 // of what was poured, mS/cm; 0 for a dose
	By       float64 // that it changed the EC of the reservoir, mS/cm
	Cause    Cause   // empty: it was right
	Evidence string
}

// SensorHealth is what is known of one sensor.
type SensorHealth struct {
	Sensor      Subject
	LastMessage time.Time     // when anything came, good or not; zero: never
	LastGood    time.Time     // when a good reading was taken; zero: never
	Expected    time.Duration // the longest normal time between readings
	Silent      bool
	Together    int // the number of the outage in which it fell silent, or is about to be called so, with others; 0: none
	Stuck       bool
	StuckSince  time.Time
	Implausible bool
	// Since is when the sensor became implausible.
	Since    time.Time
	Cause    Cause
	Evidence string
	Value    float64            // the last good value
	Behind   time.Duration      // by how much its clock is known to be behind; 0: it is not
	Refused  map[Verdict]uint64 // readings not used, by reason
}

// Snapshot is everything that is known at one time: what alerts are decided
// on, what is exposed and what is recorded. It shares no memory with the
// estimator, so readers need no lock.
type Snapshot struct {
	Time       time.Time
	Bags       []BagEstimate
	Channels   []ChannelEstimate
	Reservoirs []ReservoirEstimate
	Sensors    []SensorHealth
	Daemon     DaemonHealth
}

// DaemonHealth is the daemon's own state, as far as alerts need it.
type DaemonHealth struct {
	BrokerLostSince time.Time // zero: connected
	ForwardBehind   time.Duration
	ForwardPending  int64
	ClockWrong      bool
	ClockEvidence   string
	JournalFailing  bool
	JournalEvidence string
	BrokerDropped   uint64 // messages that the broker says it dropped

	DiskKnown bool    // the two below are
	DiskFree  int64   // bytes that the journal may still grow by
	DiskLoss  float64 // bytes a day by which that shrinks, ≥ 0; 0 also where it is not known yet
}

// DiskLasts is how long the disk lasts at its present loss; false: it loses
// nothing, or that is not known.
func (h DaemonHealth) DiskLasts() (time.Duration, bool) {
	const most = 10 * 365 * 24 * time.Hour // beyond, nothing is foretold
	if !h.DiskKnown || !(h.DiskLoss > 0) {
		return 0, false
	}
	days := float64(h.DiskFree) / h.DiskLoss
	if days > most.Hours()/24 {
		return 0, false
	}
	return time.Duration(days * 24 * float64(time.Hour)), true
}
