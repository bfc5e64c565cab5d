// Package hydraulics is the water physics of a wicking bag: how tightly a
// medium holds water, how fast it lets water pass, what a wick can lift, and
// how a bag's water moves when plants drink.
//
// Units throughout: lengths in cm, time in h, conductivity and flux in cm/h,
// water in cm³ (mL), water content in cm³/cm³. A pressure head h is negative
// in unsaturated medium; suction is s = −h. 1 kPa is 10.197 cm.
//
// # What is in it
//
//   - Media: [VanGenuchten], [Mix] of parts with interstitial filling,
//     [Typical] figures with their origin and packing, the division of pore
//     space after De Boodt & Verdonck at a point ([AerationOf]) and over the bag
//     as it lies ([Store.Aeration]).
//   - Geometry: [Tube] and the [Section] it lies as.
//   - [Supply], the steady flux of a wick against the suction at the bag base,
//     from Gardner's height integral.
//   - [Store], water against suction for the hydrostatic bag.
//   - [Bag], the quick model: one storage, stepped in closed form.
//   - [Column], a solver of Richards' equation: the judge of the quick model.
//
// # The quick model
//
// dS/dt = health·area·q(s) − demand·stress, with S the storage and s the suction
// at the bag base. Three choices make it good enough to replace the reference:
//
// Wick and medium act in series. While water rises through the bag to its
// roots, suction above the base exceeds the hydrostatic one; at a given
// storage the base is therefore wetter and the wick lifts less. [NewBag]
// tabulates that once over storage and health from steady profiles; it cuts
// the error of the water content by ten, from up to 0.02 to about 0.001. In a
// medium so dry that water does not move from layer to layer within a day the
// profile cannot form, and the correction fades.
//
// Uptake is stressed layer by layer on that same profile. There is no wet
// limit: a bag over a water table is wet at its base by design.
//
// The step is exponential: exact for the balance linearised at its start, and
// halved until the linearisation holds. It does not ring at any step length,
// and storage is changed by exactly what was wicked less what was taken up.
//
// # What is not in it
//
// Hysteresis: one curve serves wetting and drying, so a bag refilled from dry
// holds a little less than stated. Swelling, shrinking and water repellence of
// dried peat. Flow along the bag: wicks are taken to feed its length evenly,
// and the spreading of the flow around each wick is left to the wick's
// measured health. Evaporation through the film, which is none, and through
// the planting holes, which belongs to the demand. Temperature: viscosity falls
// by 2 % per kelvin and conductivities are those at about 20 °C.
//
// # Rules
//
// Nothing here reads a clock, logs or does input or output. Tables are built by
// constructors, which return errors with a hint; what they return is immutable
// and safe for concurrent use. A Column alone carries state.
package hydraulics
