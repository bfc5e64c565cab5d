// Package solution is the chemistry and the balance of a nutrient solution: its
// EC, its pH, the salt that it carries into bags, and how to correct it.
//
// # What is in it
//
//   - pH: [Equilibrium] (carbonate after Plummer & Busenberg 1982, phosphate,
//     citrate, Davies' activity coefficients) and [Reagent], acids and bases of
//     named strength.
//   - EC: [Composition] of ions, [Composition.Conductivity] after Onsager with
//     ion pairs, [Salt], [Recipe] of two stock tanks.
//   - Mixing: [Tank] is a volume with its salt, alkali, carbon and phosphate,
//     all conserved; [Request.Plan] says what to add to it, and [Plan.Carry]
//     plays a plan on another tank.
//   - Course: [FitCourse] and [JudgeRefill] name why EC drifts, [FitPH] why pH
//     does, and [TopUps] how much of that the water's alkalinity makes;
//     [RootZone] keeps the salt of a bag with its uncertainty.
//   - Calibration of its probes: [StandardKCl], [FitECProbe], [FitPHProbe].
//   - [OxygenSaturation] and [Evaporation].
//
// # Units
//
// Volume L, doses mL or g, EC mS/cm at 25 °C, concentrations mmol/L, alkalinity
// and acid meq/L, temperature °C, time in days for courses, pressure kPa. Salt is
// counted in mS/cm·L: EC times litres, which mixes additively to within a few
// per cent between 0.3 and 4 mS/cm.
//
// # pH
//
// The charge that strong ions leave open (strong cations less strong anions,
// "alkali", meq/L) is carried by bicarbonate, carbonate, phosphate, citrate,
// hydroxide and hydrogen ions. Strong acid lowers the alkali, strong base raises
// it, weak acids add to their totals; the pH follows from the balance, which is
// monotone. In a closed solution total carbon stays; in an open one carbon
// dioxide follows the air, so the pH creeps up for a day after acid was given to
// hard water. Ammonium (pK 9.2), silicate and borate carry next to nothing below
// pH 8 and are left out. Above pH 7.5 calcium falls out as phosphate or
// carbonate, which is left out too: plans end below it.
//
// # Rules
//
// Everything is a pure function of its arguments and safe for concurrent use.
// Nothing reads a clock or does input or output. Numbers that are not finite or
// lie outside the stated ranges are errors with a hint.
package solution
