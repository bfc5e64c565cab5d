package solution

import (
	"fmt"
	"math"

	"wickd/model"
)

// Water is what a reservoir is filled with.
type Water = model.Water

// Stock is a concentrate, known by what 1 mL of it does in a litre.
type Stock struct {
	Name      string
	Strength  float64 // mS/cm that 1 mL in a litre adds
	Phosphate float64 // mmol/L that 1 mL in a litre adds, as H₂PO₄⁻
}

// Tank is a volume of solution with what is dissolved in it. Its fields are
// amounts, not concentrations, so that mixing is addition and conserves them.
type Tank struct {
	Volume      float64 // L
	Salt        float64 // mS/cm·L
	Alkali      float64 // meq
	Totals      Totals  // mmol
	Temperature float64 // °C
}

// FillWith is a tank of plain water.
func FillWith(w Water, litres, celsius float64) (Tank, error) {
	carbon, err := carbonOf(w, celsius)
	if err != nil {
		return Tank{}, err
	}
	return Tank{
		Volume: litres, Salt: w.EC * litres, Alkali: w.Alkalinity * litres, Temperature: celsius,
		Totals: Totals{Carbon: carbon * litres},
	}, nil
}

// UsualWaterPH is that of water whose pH nobody stated: mains water is kept
// between 6.5 and 9.5, mostly near 7.5 (common practice).
const UsualWaterPH = 7.5

// carbonOf is the total carbon of a water, mmol/L.
func carbonOf(w Water, celsius float64) (float64, error) {
	e, err := NewEquilibrium(celsius, IonicStrength(w.EC))
	if err != nil {
		return 0, err
	}
	pH := w.PH
	if pH == 0 {
		pH = UsualWaterPH
	}
	return e.CarbonOf(pH, w.Alkalinity), nil
}

// Standing is a tank of nutrient solution as a grower finds it: EC and pH are
// measured, the weak acids in it, mmol/L, are known or guessed. The alkali follows
// from those.
func Standing(litres, ec, pH float64, t Totals, celsius float64) (Tank, error) {
	e, err := NewEquilibrium(celsius, IonicStrength(ec))
	if err != nil {
		return Tank{}, err
	}
	return Tank{
		Volume: litres, Salt: ec * litres, Alkali: e.Alkali(pH, t) * litres, Temperature: celsius,
		Totals: t.times(litres),
	}, nil
}

// What bounds the carbonate that a standing solution is guessed to hold, meq/L:
// its EC, as each meq/L of bicarbonate with its cation conducts 0.1 mS/cm (λ° of
// HCO₃⁻ 44.5 and of a common cation 50–60 S·cm²/eq, CRC Handbook), and what
// tap waters hold at the most, 350 mg/L as CaCO₃ (common practice).
const (
	alkaliPerEC  = 10.0
	mostTapWater = 7.0
)

// restingCarbon is the carbon, mmol/L, of a solution that has come to rest with
// air of co2 µatm, as far as that can be believed: high pH is read as much
// bicarbonate, and above pH 8.3 it is mostly something else: alkali that was
// given, or algae that took the carbon dioxide.
func restingCarbon(ec, pH, co2, celsius float64) (float64, error) {
	e, err := NewEquilibrium(celsius, IonicStrength(ec))
	if err != nil {
		return 0, err
	}
	most := math.Min(mostTapWater, alkaliPerEC*ec) / charge(math.Pow(10, -pH), e.carbon[:])
	return math.Min(most, e.OpenCarbon(pH, co2)), nil
}

func (t Totals) times(x float64) Totals {
	return Totals{Carbon: t.Carbon * x, Phosphate: t.Phosphate * x, Citrate: t.Citrate * x}
}

func (t Totals) plus(o Totals) Totals {
	return Totals{Carbon: t.Carbon + o.Carbon, Phosphate: t.Phosphate + o.Phosphate, Citrate: t.Citrate + o.Citrate}
}

// Join pours two tanks together; the temperature is the mean by volume.
func (t Tank) Join(o Tank) Tank {
	v := t.Volume + o.Volume
	warmth := t.Temperature
	if v > 0 {
		warmth = (t.Temperature*t.Volume + o.Temperature*o.Volume) / v
	}
	return Tank{Volume: v, Salt: t.Salt + o.Salt, Alkali: t.Alkali + o.Alkali, Totals: t.Totals.plus(o.Totals), Temperature: warmth}
}

// Draw takes litres out, at most all, and gives what is left and what was taken.
func (t Tank) Draw(litres float64) (left, taken Tank) {
	share := 0.0
	if t.Volume > 0 {
		share = math.Min(1, math.Max(0, litres/t.Volume))
	}
	return t.share(1 - share), t.share(share)
}

func (t Tank) share(x float64) Tank {
	return Tank{Volume: t.Volume * x, Salt: t.Salt * x, Alkali: t.Alkali * x, Totals: t.Totals.times(x), Temperature: t.Temperature}
}

// Dose adds mL of a concentrate.
func (t Tank) Dose(s Stock, ml float64) Tank {
	t.Volume += ml / 1000
	t.Salt += s.Strength * ml
	t.Alkali += s.Phosphate * ml
	t.Totals.Phosphate += s.Phosphate * ml
	return t
}

// React adds an amount of an acid or base, mL or g.
func (t Tank) React(r Reagent, amount float64) Tank {
	mmol := r.Molarity * amount
	if r.Unit() == "mL" {
		t.Volume += amount / 1000
	}
	t.Salt += r.Conducts * mmol
	t.Alkali += r.Charge * mmol
	t.Totals = t.Totals.plus(Totals{Carbon: r.Carbon, Phosphate: r.Phosphate, Citrate: r.Citrate}.times(mmol))
	return t
}

// EC is that of the solution, mS/cm; 0 when the tank is empty.
func (t Tank) EC() float64 {
	if t.Volume <= 0 {
		return 0
	}
	return t.Salt / t.Volume
}

// PH is that of the solution as it is, with all its carbon dioxide still in it.
func (t Tank) PH() (float64, error) {
	e, err := t.equilibrium()
	if err != nil {
		return 0, err
	}
	return e.PH(t.Alkali/t.Volume, t.Totals.times(1/t.Volume)), nil
}

// AiredPH is the pH after carbon dioxide has come to rest with air of co2 µatm:
// after a day, or some hours with an air stone.
func (t Tank) AiredPH(co2 float64) (float64, error) {
	e, err := t.equilibrium()
	if err != nil {
		return 0, err
	}
	return e.OpenPH(t.Alkali/t.Volume, t.Totals.times(1/t.Volume), co2), nil
}

func (t Tank) equilibrium() (Equilibrium, error) {
	if !(t.Volume > 0) {
		return Equilibrium{}, fmt.Errorf("the tank is empty")
	}
	return NewEquilibrium(t.Temperature, IonicStrength(t.EC()))
}
