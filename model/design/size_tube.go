package design

import (
	"math"
)

// disagree is by how much, as a share, figures that say the same thing twice
// may differ.
const disagree = 0.01

// about is how far below the common root room, as a share, a plant may be put:
// the practice itself says about 2 L, and five strawberries to a metre of tube
// that holds 9 L.
const about = 0.85

func circle(diameter float64) float64 { return math.Pi / 4 * diameter * diameter }

// tube works out what is missing of diameter, length, volume, plants, plants
// in a bag, bags and root room:
//
//	volume = fill·π/4·diameter²·length    volume = plants in a bag × root room
func (z *sizing) tube() error {
	r := &z.Requirement
	z.orElse("fill", &r.Fill, assumedFill, Assumed)
	z.plantsInBag()
	practice, known := RootRoom(z.crop)
	z.out.RootRoomPractice, z.out.RootRoomKnown = practice, known
	if err := z.geometry(practice); err != nil {
		return err
	}
	return z.crowd(practice)
}

// plantsInBag takes plants in a bag from the others where two are given.
func (z *sizing) plantsInBag() {
	r := &z.Requirement
	if r.PerBag == 0 && r.Plants > 0 && r.Bags > 0 {
		r.PerBag = ceilDiv(r.Plants, r.Bags)
		z.origin("plants per bag", WorkedOut)
	}
}

func ceilDiv(a, b int) int { return (a + b - 1) / b }

// The tubes that bags are made of, mm when round.
const (
	Narrowest = 30.0
	Widest    = 600.0
)

// geometry makes diameter, length and volume agree.
func (z *sizing) geometry(practice float64) error {
	r := &z.Requirement
	if r.Volume == 0 && r.PerBag > 0 && (r.Diameter == 0 || r.Length == 0) {
		room := r.RootRoom
		if room == 0 {
			room = practice
		}
		r.Volume = room * float64(r.PerBag)
		z.origin("volume", WorkedOut)
	}
	if r.Length == 0 && (r.Diameter == 0 || r.Volume == 0) {
		r.Length = assumedLength
		z.origin("length", Practice)
	}
	switch {
	case r.Diameter == 0 && r.Volume == 0:
		return refuse("tube", "for example --lay-flat 170mm, or how many plants share a bag: --per-bag 5", "nothing says how wide it is")
	case r.Diameter == 0:
		r.Diameter = math.Sqrt(4 * r.Volume * 1e6 / (math.Pi * r.Fill * r.Length))
		if r.Diameter > Widest {
			return refuse("plants per bag", "give a greater length, fewer plants in a bag or less root room", "a tube of %.0f mm would have to be %.0f mm wide when round; %.0f mm is the widest", r.Length, r.Diameter, Widest)
		}
		z.origin("diameter", WorkedOut)
	case r.Length == 0:
		r.Length = r.Volume * 1e6 / (r.Fill * circle(r.Diameter))
		z.origin("length", WorkedOut)
	}
	volume := r.Fill * circle(r.Diameter) * r.Length / 1e6
	if r.Volume > 0 && math.Abs(volume/r.Volume-1) > disagree {
		return refuse("volume", "leave out one of width, length and volume and it is worked out",
			"a tube %.0f mm wide when round and %.0f mm long holds %.2f L, not %.2f L", r.Diameter, r.Length, volume, r.Volume)
	}
	r.Volume = volume
	z.origin("volume", WorkedOut)
	return nil
}

// crowd makes plants, plants in a bag, bags and root room agree.
func (z *sizing) crowd(practice float64) error {
	r := &z.Requirement
	if r.PerBag == 0 {
		room := r.RootRoom * (1 - disagree)
		if room == 0 {
			room = practice * about
		}
		r.PerBag = max(1, int(r.Volume/room))
		if r.Plants > 0 {
			r.PerBag = min(r.PerBag, r.Plants)
		}
		z.origin("plants per bag", WorkedOut)
	}
	if given := r.RootRoom; given > 0 && math.Abs(r.Volume/float64(r.PerBag)/given-1) > disagree && z.given("plants per bag") {
		return refuse("root room", "leave out one of root room, plants per bag, width and length",
			"%d plants in %.2f L have %.2f L each, not %.2f L", r.PerBag, r.Volume, r.Volume/float64(r.PerBag), given)
	}
	r.RootRoom = r.Volume / float64(r.PerBag)
	z.origin("root room", WorkedOut)
	return z.count()
}

// count makes plants and bags agree. Without either, the reservoir and the
// days away say how many plants there can be; otherwise it is one bag.
func (z *sizing) count() error {
	r := &z.Requirement
	switch {
	case r.Plants > 0 && r.Bags > 0:
		if r.Bags*r.PerBag < r.Plants {
			return refuse("bags", "leave out bags, or put more plants in each", "%d bags of %d plants hold %d, not %d", r.Bags, r.PerBag, r.Bags*r.PerBag, r.Plants)
		}
	case r.Plants > 0:
		r.Bags = ceilDiv(r.Plants, r.PerBag)
		z.origin("bags", WorkedOut)
	case r.Bags > 0:
		r.Plants = r.Bags * r.PerBag
		z.origin("plants", WorkedOut)
	default:
		z.fromReservoir = r.Reservoir > 0 && r.Days > 0
		r.Bags, r.Plants = 1, r.PerBag
		z.origin("bags", Assumed)
		z.origin("plants", WorkedOut)
	}
	return nil
}
