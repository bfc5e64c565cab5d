package plot

// Figure is one picture: panels one above the other that share nothing but
// their width.
type Figure struct {
	Title  string
	Note   string // under the title: what is shown, for whom, when
	Panels []Panel
	// Narrow makes it as wide as a phone held upright. Then there is no room
	// beside the panels: limits are named on their line, and lines that end at
	// the right stay without a name.
	Narrow bool
}

// Panel is one pair of axes. Limits are taken from what is drawn where both
// ends of an axis are 0.
type Panel struct {
	X, Y   Axis
	Areas  []Area
	Bands  []Band
	Clouds []Cloud
	Lines  []Line
	Rules  []Rule
	Marks  []Mark
	Lanes  []Lane
}

// Axis is named with its unit: "lift, mm".
type Axis struct {
	Name     string
	From, To float64
	Every    float64 // distance of the ticks; 0: chosen
	Ticks    []Tick  // these and no others; nil: chosen
}

// Tick is a place on an axis with its label.
type Tick struct {
	At    float64
	Label string
}

// Stroke tells lines apart: its pattern and its tone.
type Stroke int

// The strokes, in the order of weight.
const (
	Solid Stroke = iota
	Dashed
	Dotted
	DashDot
)

// Line is a curve, named at its right end, or where Beside says.
type Line struct {
	Name   string
	X, Y   []float64
	Stroke Stroke
	Beside Beside
}

// Beside puts the name of a line beside one of its points, for lines that do
// not end at the right.
type Beside struct {
	Share float64 // of the way along the line, 0–1
	Side  Side
}

// Side is where a name stands.
type Side int

// The sides. AtEnd is beyond the right end of the line.
const (
	AtEnd Side = iota
	Left
	Right
)

// Rule is a straight line across the panel: a limit. A level one is named at
// its right end, an upright one at its top.
type Rule struct {
	Name    string
	At      float64
	Upright bool
}

// Area shades a span of the X axis, or of the Y axis.
type Area struct {
	Name     string
	From, To float64
	OfY      bool
}

// Band is what lies between two curves, such as how sure a line is. It has no
// name of its own: the line in it has.
type Band struct {
	X, Low, High []float64
}

// Mark is a point with a name beside it.
type Mark struct {
	Name string
	X, Y float64
}

// Cloud is many points under the lines, such as single readings. It has one name,
// beside its last point.
type Cloud struct {
	Name string
	X, Y []float64
}

// Lane is a strip over a panel that shows when something was so, with its name
// at the right. The lanes of a panel lie in their order, the first at the top.
type Lane struct {
	Name  string
	Spans []Span
}

// Span is a part of a lane. A hollow one is an outline.
type Span struct {
	From, To float64
	Hollow   bool
}
