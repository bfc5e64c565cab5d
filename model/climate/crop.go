package climate

import (
	"math"
	"time"
)

// Crop holds a crop's figures. Every figure's origin is in Sources, keyed by
// the field's name; a grower's own figures replace any of them.
type Crop struct {
	Name       string
	Kc         Coefficients
	Stages     Stages
	Height     float64 // m, fully grown
	Dry        DryLimits
	Salinity   Salinity
	ECLimit    float64 // mS/cm at 25 °C in the water of the root zone, above which to act
	LitresADay float64 // L per plant on a bright summer day
	Sources    map[string]string
}

// Coefficients are the crop coefficients of FAO-56 table 12, for the standard
// climate: minimum humidity 45 %, wind 2 m/s.
type Coefficients struct {
	Initial, Mid, End float64
}

// Stages are the lengths of the four stages of growth in days (FAO-56
// table 11).
type Stages struct {
	Initial, Development, Mid, Late float64
}

// Total returns the days from planting to the end of the late stage.
func (s Stages) Total() float64 { return s.Initial + s.Development + s.Mid + s.Late }

// KcAt returns the crop coefficient at t: constant in the initial and mid
// stages, linear between (FAO-56 eq 66), Kc.Initial before planting and Kc.End
// after the last stage.
func (c Crop) KcAt(planted, t time.Time) float64 {
	day := t.Sub(planted).Hours() / 24
	day -= c.Stages.Initial
	if day <= 0 {
		return c.Kc.Initial
	}
	if day < c.Stages.Development {
		return between(c.Kc.Initial, c.Kc.Mid, day/c.Stages.Development)
	}
	day -= c.Stages.Development + c.Stages.Mid
	if day <= 0 {
		return c.Kc.Mid
	}
	if day < c.Stages.Late {
		return between(c.Kc.Mid, c.Kc.End, day/c.Stages.Late)
	}
	return c.Kc.End
}

func between(a, b, share float64) float64 { return a + (b-a)*share }

// AdjustKc returns a tabulated Kc,mid, or a Kc,end of 0.45 and more, for
// another climate than the standard one (FAO-56 eq 62 and 65). wind is u₂ in
// m/s, humidityMin the mean daily minimum humidity 0..1, height the crop's in
// m; they are cut to the equation's range 1..6 m/s, 0.2..0.8 and 0.1..10 m.
func AdjustKc(kc, wind, humidityMin, height float64) float64 {
	wind = min(6, max(1, wind))
	humidityMin = min(0.8, max(0.2, humidityMin))
	height = min(10, max(0.1, height))
	return kc + (0.04*(wind-2)-0.004*(100*humidityMin-45))*math.Pow(height/3, 0.3)
}
