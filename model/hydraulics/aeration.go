package hydraulics

// The suctions, cm, between which De Boodt & Verdonck (1972, Acta Hort. 26:37)
// divide a medium's water: 1, 5 and 10 kPa.
const (
	ContainerSuction = 1 * CentimetresPerKilopascal
	EasySuction      = 5 * CentimetresPerKilopascal
	BufferSuction    = 10 * CentimetresPerKilopascal
)

// Aeration is the pore space of a medium after De Boodt & Verdonck, each as a
// share of the volume.
type Aeration struct {
	Porosity        float64 // all pores
	AirSpace        float64 // air when drained to the wet end
	EasilyAvailable float64 // water from the wet end to 5 kPa
	Buffer          float64 // water from 5 to 10 kPa
	Held            float64 // water left at 10 kPa
}

// AerationOf is the division at a point: wet end 1 kPa, the laboratory's
// standard. Their ideal: porosity 0.85, air 0.20 to 0.30, easily available
// 0.20 to 0.30, buffer 0.04 to 0.10.
func AerationOf(m Material) Aeration {
	return divide(m.Saturated(), m.Theta(-ContainerSuction), m.Theta(-EasySuction), m.Theta(-BufferSuction))
}

// Aeration is the division averaged over the bag as it lies, its base held at
// the suction lift, cm: over a water table the base of a bag is wetter than
// the laboratory's 1 kPa and its top drier. Easily available is what the bag
// gives up until the suction at its base is 5 kPa, buffer until it is 10 kPa.
// With the base already drier than that the share is zero.
func (s *Store) Aeration(lift float64) Aeration {
	at := func(suction float64) float64 { return s.WaterContent(s.Storage(suction)) }
	easy := max(lift, EasySuction)
	return divide(s.material.Saturated(), at(lift), at(easy), at(max(easy, BufferSuction)))
}

func divide(saturated, wet, easy, buffer float64) Aeration {
	return Aeration{
		Porosity:        saturated,
		AirSpace:        saturated - wet,
		EasilyAvailable: wet - easy,
		Buffer:          easy - buffer,
		Held:            buffer,
	}
}

// EasilyAvailable is the water, cm³, that the bag gives up from rest over a
// water table lift cm below its base until the suction at its base is 5 kPa.
func (s *Store) EasilyAvailable(lift float64) float64 {
	return s.Aeration(lift).EasilyAvailable * s.volume
}
