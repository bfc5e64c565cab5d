// Package plot draws the pictures of wickd: a few lines over one or two panels,
// as SVG for the screen and PNG for everything else.
//
// A picture must be readable on paper without colour and by people who do not
// see all colours: every line has a stroke of its own besides its tone, every
// tone stands out from white by the contrast that WCAG asks of text, and every
// line is named beside its end, with a sample of its stroke, rather than in a
// key. Names move apart where their lines end close together.
//
// What lasts is a bar in a lane over the panel, with a name of its own; a hollow
// bar is told from a filled one without colour. Single readings are dots.
//
// It knows nothing of bags: callers give numbers and words. Drawing is a pure
// function of a Figure, so the same Figure gives the same bytes; only Write
// touches the disk. Functions are safe for concurrent use.
package plot
