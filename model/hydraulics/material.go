package hydraulics

// Pressure in kilopascals as a height of water in centimetres: 1 kPa =
// 1000 Pa / (999.97 kg/m³ · 9.80665 m/s²), water at 4 °C, rounded as the
// trade's tables do.
const CentimetresPerKilopascal = 10.197

// DriestSuction is the suction, cm, at which tables end: pF 7, the oven-dry
// point of the pF scale (Schofield 1935). Beyond it values are held.
const DriestSuction = 1e7

// Material is a porous medium as Richards' equation sees it. Heads are in cm,
// negative when unsaturated. Every method must be defined for every finite
// head; at h ≥ 0 the medium is saturated: Theta is Saturated, Capacity is 0,
// Conductivity its greatest value. Implementations are safe for concurrent
// use.
type Material interface {
	// Theta is the volumetric water content, cm³/cm³.
	Theta(h float64) float64
	// Capacity is dθ/dh, 1/cm, never negative.
	Capacity(h float64) float64
	// Conductivity is K, cm/h, never increasing with suction.
	Conductivity(h float64) float64
	// Saturated and Residual bound Theta.
	Saturated() float64
	Residual() float64
}

// stateful materials give θ, C and K in one go, for less than three calls
// cost.
type stateful interface {
	state(h float64) (theta, capacity, conductivity float64)
}

// stateOf evaluates a material at a head by the cheapest way it has.
func stateOf(m Material, h float64) (theta, capacity, conductivity float64) {
	if s, ok := m.(stateful); ok {
		return s.state(h)
	}
	return m.Theta(h), m.Capacity(h), m.Conductivity(h)
}
