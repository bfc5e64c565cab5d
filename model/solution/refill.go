package solution

import (
	"fmt"
	"math"
)

// Refill is what was measured around one: means over the hour before and over an
// hour once it had mixed.
type Refill struct {
	VolumeBefore, VolumeAfter, VolumeSD float64 // L
	ECBefore, ECAfter, ECSD             float64 // mS/cm
	WaterEC                             float64 // of plain water, mS/cm
	Target, Band                        float64 // EC of the reservoir and half of its band, mS/cm
}

// Poured is what a refill must have been.
type Poured struct {
	Litres    float64
	EC, ECSD  float64 // mS/cm
	Reason    Reason
	Evidence  string
	CorrectBy float64 // mS/cm that the reservoir lies off its target
}

// JudgeRefill works out what was poured in, from the balance of salt
// EC = (V₁·EC₁ − V₀·EC₀)/(V₁ − V₀), and names what it was: what the reservoir
// needed, plain water, a wrong mixture, or nothing that a probe can be believed
// on (less salt than plain water has, or a concentrate).
func JudgeRefill(r Refill) (Poured, error) {
	litres := r.VolumeAfter - r.VolumeBefore
	if !(litres > 0 && r.VolumeBefore >= 0 && r.ECAfter > 0 && r.ECBefore >= 0) {
		return Poured{}, fmt.Errorf("judge a refill: from %g L at %g mS/cm to %g L at %g mS/cm is none", r.VolumeBefore, r.ECBefore, r.VolumeAfter, r.ECAfter)
	}
	p := Poured{Litres: litres, CorrectBy: r.ECAfter - r.Target}
	p.EC = (r.VolumeAfter*r.ECAfter - r.VolumeBefore*r.ECBefore) / litres
	p.ECSD = math.Hypot(math.Hypot(r.VolumeAfter, r.VolumeBefore)*r.ECSD,
		r.VolumeSD*math.Hypot(r.ECAfter-p.EC, p.EC-r.ECBefore)) / litres
	p.Reason, p.Evidence = r.name(p)
	return p, nil
}

func (r Refill) name(p Poured) (Reason, string) {
	said := fmt.Sprintf("%.0f L were poured in; by the balance of salt they had %.2f ± %.2f mS/cm", p.Litres, p.EC, sure*p.ECSD)
	intended := 0.0 // what would have brought it to its target
	if r.Target > 0 {
		intended = (r.VolumeAfter*r.Target - r.VolumeBefore*r.ECBefore) / p.Litres
	}
	switch {
	case p.EC+3*p.ECSD < 0:
		return ProbeDrift, said + ", which nothing has: check the EC probe"
	case r.Target > 0 && math.Abs(p.CorrectBy) <= r.Band, r.Target == 0:
		return RightRefill, said
	case math.Abs(p.EC-r.WaterEC) <= math.Max(sure*p.ECSD, 0.15) && intended > r.WaterEC+0.3:
		return PlainRefill, said + ": that is plain water; add concentrate"
	case sure*p.ECSD > math.Abs(p.EC-intended):
		return Undecided, said + ", too unsure to judge"
	case p.EC > intended:
		return WrongRefill, said + fmt.Sprintf(": stronger than the %.2f that it needed; a double dose of concentrate does this", math.Max(0, intended))
	}
	return WrongRefill, said + fmt.Sprintf(": weaker than the %.2f that it needed; a forgotten stock does this", math.Max(0, intended))
}
