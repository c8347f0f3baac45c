package wear

import (
	"encoding/hex"
	"fmt"
)

// ID names a bike or a part: the book's number in the upper 32 bits, a serial
// number in the lower, so that two books can be merged. Zero is none.
type ID uint64

// RideID names a ride: the first 12 bytes of the SHA-256 of the file's
// decompressed bytes and the leg, or of bike, instant and figures of a typed one.
type RideID [12]byte

// String is the hexadecimal form that lists show.
func (r RideID) String() string { return hex.EncodeToString(r[:]) }

// ParseRideID is the inverse of [RideID.String].
func ParseRideID(s string) (RideID, error) {
	var id RideID
	b, err := hex.DecodeString(s)
	if err != nil || len(b) != len(id) {
		return id, fmt.Errorf("ride %q: not a ride's name", s)
	}
	return RideID(b), nil
}

// Hash is the first 12 bytes of the SHA-256 of a file's decompressed bytes.
type Hash [12]byte

// String is the hexadecimal form.
func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// Motor is where an e-bike's motor sits.
type Motor uint8

// The motors.
const (
	NoMotor Motor = iota
	MidMotor
	HubMotor
)

// Bike is one bike and the figures that estimates of its rides rest on.
type Bike struct {
	ID        ID      `cbor:"1,keyasint"`
	Name      string  `cbor:"2,keyasint"`
	Sheet     string  `cbor:"3,keyasint,omitempty"` // the build sheet it was made from
	RiderMass float64 `cbor:"4,keyasint,omitempty"` // kg, rider and kit; 0 = DefaultRiderMass
	Mass      float64 `cbor:"5,keyasint,omitempty"` // kg, the bike; 0 = DefaultBikeMass
	Wheel     float64 `cbor:"6,keyasint,omitempty"` // m, rolling circumference; 0 = not given
	Crr       float64 `cbor:"7,keyasint,omitempty"` // rolling resistance; 0 = default
	CdA       float64 `cbor:"8,keyasint,omitempty"` // m², air; 0 = default
	Motor     Motor   `cbor:"9,keyasint,omitempty"`
	Speeds    int     `cbor:"10,keyasint,omitempty"` // of the cassette; 0 = not given
	Fleet     bool    `cbor:"11,keyasint,omitempty"` // hired out: stricter stops
	Note      string  `cbor:"12,keyasint,omitempty"`
	Added     Instant `cbor:"13,keyasint,omitempty"`
	Guide     bool    `cbor:"14,keyasint,omitempty"` // has a chain guide
	Owner     ID      `cbor:"15,keyasint,omitempty"` // the person whose it is; 0, or one that is no more: nobody's

	Depot string   `cbor:"16,keyasint,omitempty"` // of a fleet: where it is hired out
	Tags  []string `cbor:"17,keyasint,omitempty"` // the user's own words to find it by, sorted
	Price int64    `cbor:"18,keyasint,omitempty"` // hundredths of the book's currency for a hire day; 0 = not given
}

// Defaults of the estimates (common practice, no published source).
const (
	DefaultRiderMass = 85.0  // kg, rider and kit
	DefaultBikeMass  = 15.0  // kg
	DefaultCrr       = 0.025 // on trail
	DefaultCdA       = 0.5   // m², upright
)

// Masses returns rider and bike in kg, with the defaults where none is given.
func (b Bike) Masses() (rider, bike float64) {
	rider, bike = b.RiderMass, b.Mass
	if rider == 0 {
		rider = DefaultRiderMass
	}
	if bike == 0 {
		bike = DefaultBikeMass
	}
	return rider, bike
}

// Cause is why a part's life ended.
type Cause string

// The causes. Only worn and broke count as failures in part life.
const (
	Worn  Cause = "worn"
	Broke Cause = "broke"
	Crash Cause = "crash"
	Early Cause = "early"
	Lost  Cause = "lost"
	Sold  Cause = "sold"
)

// Causes lists them in the order of the help text.
var Causes = []Cause{Worn, Broke, Crash, Early, Lost, Sold}

// End is the end of a part's life.
type End struct {
	At    Instant `cbor:"1,keyasint"`
	Cause Cause   `cbor:"2,keyasint"`
}

// Part is one physical thing of a kind. It keeps its wear wherever it goes.
type Part struct {
	ID       ID      `cbor:"1,keyasint"`
	Kind     string  `cbor:"2,keyasint"`
	Name     string  `cbor:"3,keyasint"`           // unique in the book: chain-1, chain-2, …
	Model    string  `cbor:"4,keyasint,omitempty"` // what the maker calls it
	Teeth    int     `cbor:"5,keyasint,omitempty"` // ring, idler, pulley
	Cogs     []int   `cbor:"6,keyasint,omitempty"` // cassette, smallest first
	Material string  `cbor:"7,keyasint,omitempty"` // aluminium, steel, organic, sintered, …
	Speeds   int     `cbor:"8,keyasint,omitempty"` // listed for; 0 = not given
	Narrow   bool    `cbor:"9,keyasint,omitempty"` // narrow-wide ring
	End      *End    `cbor:"10,keyasint,omitempty"`
	Note     string  `cbor:"11,keyasint,omitempty"`
	Treated  string  `cbor:"12,keyasint,omitempty"` // chain: "oil" (default) or "wax" (by immersion); brake fluid: "glycol" or "mineral"
	Stamp    float64 `cbor:"13,keyasint,omitempty"` // mm, the least thickness stamped on a rotor; 0 = not given
}

// Stay is the time that a part spends on one bike (or, later, on a wheel).
type Stay struct {
	Part    ID      `cbor:"1,keyasint"`
	Host    ID      `cbor:"2,keyasint"`           // the bike; a carrying part's ID where it sits on a wheel
	From    Instant `cbor:"3,keyasint"`           // Ever where it came with the bike
	To      Instant `cbor:"4,keyasint"`           // Never while it is there
	Opening Load    `cbor:"5,keyasint"`           // what it had done before, where it came used
	Came    bool    `cbor:"6,keyasint,omitempty"` // with the bike: nobody worked on it then
}

// Holds reports whether the stay covers the instant: from ≤ at < to.
func (s Stay) Holds(at Instant) bool { return s.From <= at && at < s.To }

// ReadingOf is what a reading measures.
type ReadingOf string

// What can be measured.
const (
	Elongation ReadingOf = "elongation" // % of the new length
	Lining     ReadingOf = "lining"     // mm of brake lining, without its plate
	Thickness  ReadingOf = "thickness"  // mm of rotor
	Knob       ReadingOf = "knob"       // mm of tread
)

// Reading is what a tool said of a part.
type Reading struct {
	ID      uint64    `cbor:"1,keyasint"`
	Part    ID        `cbor:"2,keyasint"`
	Bike    ID        `cbor:"3,keyasint"` // where it was then; 0 = on the shelf
	At      Instant   `cbor:"4,keyasint"`
	Of      ReadingOf `cbor:"5,keyasint"`
	Value   float64   `cbor:"6,keyasint"`           // % or mm, see ReadingOf
	Tool    string    `cbor:"7,keyasint"`           // ruler, caliper, …
	Length  float64   `cbor:"8,keyasint,omitempty"` // mm as measured; 0 = a percentage was given
	Pitches int       `cbor:"9,keyasint,omitempty"`
	Note    string    `cbor:"10,keyasint,omitempty"`
	Void    bool      `cbor:"11,keyasint,omitempty"`

	Gauge    *Gauge    `cbor:"12,keyasint,omitempty"` // where a gauge told an interval only; Value is then its middle
	Places   []float64 `cbor:"13,keyasint,omitempty"` // of several places at one sitting, as Value; Value is their mean
	Which    string    `cbor:"14,keyasint,omitempty"` // the one tool of several of its sort: its bias is its own
	Doubtful bool      `cbor:"15,keyasint,omitempty"` // kept out of the sums, by the user's word
	Plate    float64   `cbor:"16,keyasint,omitempty"` // mm of backing plate that was measured with the lining and taken off
}

// Gauge is what the ends of a go/no-go gauge said.
type Gauge struct {
	In     float64 `cbor:"1,keyasint,omitempty"` // %: the end that dropped in; 0 = none did
	Out    float64 `cbor:"2,keyasint,omitempty"` // %: the end that stayed out; 0 = none did
	Points int     `cbor:"3,keyasint,omitempty"` // 2 = reads roller play too; 3 = does not; 0 = not said
}

// Word is the verdict of an eye.
type Word string

// What an eye can say.
const (
	Good    Word = "good"
	Watch   Word = "watch"
	Replace Word = "replace"
	Unsafe  Word = "unsafe"
)

// Words lists them from best to worst.
var Words = []Word{Good, Watch, Replace, Unsafe}

// Look is what an eye said of a part.
type Look struct {
	ID   uint64  `cbor:"1,keyasint"`
	Part ID      `cbor:"2,keyasint"`
	Bike ID      `cbor:"3,keyasint"`
	At   Instant `cbor:"4,keyasint"`
	Word Word    `cbor:"5,keyasint"`
	Note string  `cbor:"6,keyasint,omitempty"`
	By   string  `cbor:"7,keyasint,omitempty"`
	Void bool    `cbor:"8,keyasint,omitempty"`
}

// SignOff records that a job was done.
type SignOff struct {
	ID       uint64  `cbor:"1,keyasint"`
	Part     ID      `cbor:"2,keyasint"` // the part that the job was done to (the old one where it was changed)
	Bike     ID      `cbor:"3,keyasint"`
	At       Instant `cbor:"4,keyasint"`
	Job      string  `cbor:"5,keyasint"`           // the job's name within the part's kind: clean, measure, change, …
	By       string  `cbor:"6,keyasint,omitempty"` // who did it
	Torque   float64 `cbor:"7,keyasint,omitempty"` // N·m
	Cost     int64   `cbor:"8,keyasint,omitempty"` // hundredths of the book's currency
	Minutes  int     `cbor:"9,keyasint,omitempty"`
	Note     string  `cbor:"10,keyasint,omitempty"`
	Fitted   ID      `cbor:"11,keyasint,omitempty"` // the new part, where one was fitted
	Declined bool    `cbor:"12,keyasint,omitempty"`
	Void     bool    `cbor:"13,keyasint,omitempty"`
	Witness  bool    `cbor:"14,keyasint,omitempty"` // of a check: its witness mark is intact, no torque was set
}

// Happening is what can happen to a bike.
type Happening string

// What can happen. A crash and an open recall stop the bike until it has been
// looked at; a dropped chain is evidence against ring, guide and clutch; a
// strike (rim, bash or rotor on a rock) asks for a look where it hit.
const (
	Crashed  Happening = "crash"
	Dropped  Happening = "drop"
	Struck   Happening = "strike"
	Recalled Happening = "recall"
)

// Happenings lists them in the order of the help text.
var Happenings = []Happening{Crashed, Dropped, Struck, Recalled}

// Incident is something that happened to a bike, or to one part of it.
type Incident struct {
	ID   uint64    `cbor:"1,keyasint"`
	Bike ID        `cbor:"2,keyasint"`
	Part ID        `cbor:"3,keyasint,omitempty"` // 0 = the whole bike
	At   Instant   `cbor:"4,keyasint"`
	What Happening `cbor:"5,keyasint"`
	Note string    `cbor:"6,keyasint,omitempty"`
	By   string    `cbor:"7,keyasint,omitempty"`
	Void bool      `cbor:"8,keyasint,omitempty"`
}

// Standing is whether a bike may go out.
type Standing string

// The standings. A bike starts in service.
const (
	InService Standing = "in service" // a release puts it back
	Held      Standing = "held"       // must not go out
	Retired   Standing = "retired"    // for good; nothing of it is due any more
)

// Status is a dated change of a bike's standing.
type Status struct {
	ID     uint64   `cbor:"1,keyasint"`
	Bike   ID       `cbor:"2,keyasint"`
	At     Instant  `cbor:"3,keyasint"`
	Is     Standing `cbor:"4,keyasint"`
	By     string   `cbor:"5,keyasint,omitempty"`
	Reason string   `cbor:"6,keyasint,omitempty"`
	Until  Instant  `cbor:"7,keyasint,omitempty"` // a release that lifts a stop ends here; 0 = no end
	Void   bool     `cbor:"8,keyasint,omitempty"`
}

// Scope is what a setting holds for. The narrower one wins: part, bike, model,
// kind, book.
type Scope string

// The scopes, widest first.
const (
	ForBook  Scope = "book"
	ForKind  Scope = "kind"
	ForModel Scope = "model"
	ForBike  Scope = "bike"
	ForPart  Scope = "part"
)

// Setting is a dated choice of the user that figures depend on: an override of
// the schedule, the ground that a bike is usually ridden on, a match, ….
type Setting struct {
	ID    uint64  `cbor:"1,keyasint"`
	Name  string  `cbor:"2,keyasint"` // SettingSchedule, SettingGround, SettingWheel or SettingMatch
	Scope Scope   `cbor:"3,keyasint"`
	Key   string  `cbor:"4,keyasint,omitempty"` // kind or model; empty for book, bike and part
	Of    ID      `cbor:"5,keyasint,omitempty"` // the bike or part
	At    Instant `cbor:"6,keyasint"`           // in force from here on; Ever = always
	Text  string  `cbor:"7,keyasint,omitempty"` // TOML; empty = back to what is in force without it
	File  string  `cbor:"8,keyasint,omitempty"` // where it was read from, for "whence each figure comes"
	Void  bool    `cbor:"9,keyasint,omitempty"`
}

// The names of settings.
const (
	SettingSchedule = "schedule"
	SettingGround   = "ground"
	SettingWheel    = "wheel" // of a bike: the rolling circumference in m
	SettingMatch    = "match" // of a bike: by what its rides are told, see ParseMatch
)

// Odometer is a reading of a bike's odometer, or of its hour meter.
type Odometer struct {
	ID       uint64  `cbor:"1,keyasint"`
	Bike     ID      `cbor:"2,keyasint"`
	At       Instant `cbor:"3,keyasint"`
	Metres   int64   `cbor:"4,keyasint"`           // that an odometer shows
	Climb    int64   `cbor:"5,keyasint,omitempty"` // m since the reading before; 0 = not given
	Minutes  int64   `cbor:"6,keyasint,omitempty"` // moving since the reading before; 0 = not given
	Ride     RideID  `cbor:"7,keyasint,omitempty"` // the ride that its rest became; zero = none
	Replaced bool    `cbor:"8,keyasint,omitempty"` // a new one, of which this is the first reading
	Void     bool    `cbor:"9,keyasint,omitempty"`
	Of       Meter   `cbor:"10,keyasint,omitempty"` // what was read
	Ran      int64   `cbor:"11,keyasint,omitempty"` // minutes that an hour meter shows
	Began    int64   `cbor:"12,keyasint,omitempty"` // what a new one showed when it was fitted, as [Odometer.Shows]
	Opening  bool    `cbor:"16,keyasint,omitempty"` // what the bike had done when it came into the book; its parts came with it
}
