// Package hydraulics is the water physics of a wicking bag: how tightly a
// medium holds water, how fast it lets water pass, what a wick can lift, and
// how a bag's water content moves when plants drink.
package hydraulics
