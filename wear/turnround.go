package wear

// Point is one thing that is looked at between two hires.
type Point string

// The points of a turn-round check, which takes two minutes at the stand
// (common practice, no published source).
const (
	PointBrakes Point = "brakes" // firm lever, pads and rotors clean and not rubbing
	PointTyres  Point = "tyres"  // pressure, cuts, sidewalls
	PointAxles  Point = "axles"  // tight, levers closed
	PointBars   Point = "bars"   // straight, stem and bar do not turn, grips sit
	PointCrank  Point = "crank"  // no play sideways
	PointGuide  Point = "guide"  // sits, does not touch, no bolt missing
	PointMarks  Point = "marks"  // witness marks on the bolts line up
)

// Points lists them in the order in which they are looked at.
var Points = []Point{PointBrakes, PointTyres, PointAxles, PointBars, PointCrank, PointGuide, PointMarks}

// pointKinds are the kinds of parts that a point is about, the likeliest first.
var pointKinds = map[Point][]string{
	PointBrakes: {"front-pads", "rear-pads", "front-rotor", "rear-rotor", "brake-fluid", "cable"},
	PointTyres:  {"front-tyre", "rear-tyre"},
	PointAxles:  {"axles"},
	PointBars:   {"stem-bar-bolts", "headset"},
	PointCrank:  {"crank-bolt", "crank", "bottom-bracket"},
	PointGuide:  {"guide", "idler"},
	PointMarks:  {"guide-bolts", "stem-bar-bolts", "caliper-bolts", "crank-bolt", "ring-bolts", "pivot-bolts", "axles"},
}

// About tells what to look at, in a few words.
func (p Point) About() string {
	return map[Point]string{
		PointBrakes: "levers firm, pads and rotors clean, nothing rubs",
		PointTyres:  "pressure, cuts, sidewalls",
		PointAxles:  "tight, levers closed",
		PointBars:   "straight; stem and bar do not turn; grips sit",
		PointCrank:  "no play sideways",
		PointGuide:  "sits, touches nothing, no bolt missing",
		PointMarks:  "witness marks on the bolts line up",
	}[p]
}

// Ambiguous reports whether the point is about parts of which none is likelier
// than the others: front or rear, or all bolts.
func (p Point) Ambiguous() bool { return p == PointBrakes || p == PointTyres || p == PointMarks }

// Kinds are the kinds of parts that the point is about, the likeliest first.
func (p Point) Kinds() []string { return pointKinds[p] }

// TurnRound is the check of a bike between two hires: named and dated. A point
// that is not among Faults was found good; what was found otherwise is also a
// [Look] at its part.
type TurnRound struct {
	ID     uint64  `cbor:"1,keyasint"`
	Bike   ID      `cbor:"2,keyasint"`
	At     Instant `cbor:"3,keyasint"`
	By     string  `cbor:"4,keyasint,omitempty"`
	Note   string  `cbor:"5,keyasint,omitempty"`
	Faults []Fault `cbor:"6,keyasint,omitempty"`
	Void   bool    `cbor:"7,keyasint,omitempty"`
}

// Fault is a point that was not good.
type Fault struct {
	Point Point  `cbor:"1,keyasint"`
	Word  Word   `cbor:"2,keyasint"` // watch, replace or unsafe
	Part  ID     `cbor:"3,keyasint,omitempty"`
	Note  string `cbor:"4,keyasint,omitempty"`
}
