package alerts

// The usual cautions. They defer to local code and licensed practice.
const (
	cautionElectric = "Caution: water and mains do not mix. Switch off at the board before you reach for wet plugs or leads; leave repairs to an electrician."
	cautionMains    = "Caution: a hose from the mains must not hang in the solution; local code asks for a backflow preventer."
	cautionAcid     = "Caution: goggles and gloves. Add acid to water, never water to acid; never mix it with chlorine cleaner or with a concentrate."
	cautionAlkali   = "Caution: goggles and gloves. Alkali burns as acid does; add it to water, never mix it with acid or with a concentrate."
	cautionMixing   = "Caution: never pour concentrates together undiluted; stir in one, then the other. Goggles and gloves."
)
