package wear

import "math"

// State says whether a ride counts.
type State uint8

// The states of a ride.
const (
	Counted State = iota
	Twin          // the same outing as another ride; never counted
	Void          // taken back
)

var stateNames = [...]string{"counted", "twin", "void"}

// String names the state as JSON does.
func (s State) String() string { return stateNames[s] }

// Rule says how the bike of a ride was found.
type Rule uint8

// The rules.
const (
	NoRule    Rule = iota // no bike known yet
	Told                  // the user named it
	OnlyBike              // there was only one
	BySensor              // sensors bolted to it
	ByProfile             // the recording device's own name for it
	ByMatch               // a match that the user made
	AsTwin                // the bike of the same outing in another file
)

var ruleNames = [...]string{
	"not known yet", "named by the user", "the only bike", "its sensors", "the device's name for it", "a match", "its twin's",
}

// String says the rule in words.
func (r Rule) String() string { return ruleNames[r] }

var ruleWords = [...]string{"", "told", "only", "sensors", "name", "match", "outing"}

// Word is the rule in a word, for lists and other programs; empty where no bike
// is known.
func (r Rule) Word() string { return ruleWords[r] }

// Marked says how the ground of a ride was found.
type Marked uint8

// How a ground is found.
const (
	NotMarked Marked = iota
	ByUser           // marked, or given with the import
	ByDefault        // the bike's usual ground of that month
)

// Uplift says whether the lifts of a ride are cut out.
type Uplift uint8

// The choices.
const (
	FindUplift Uplift = iota // as the sums find them
	AllUplift                // every long climb was a lift or shuttle
	NoUplift                 // none was
)

// Format is what a ride was read from.
type Format uint8

// The formats.
const (
	Typed Format = iota
	FIT
	GPX
	TCX
	Table
)

var formatNames = [...]string{"typed", "fit", "gpx", "tcx", "table"}

// String names the format as JSON does.
func (f Format) String() string { return formatNames[f] }

// Sensor is a device that a ride file names. Key: (Type, Serial), or (Type,
// ANT) where Serial is 0.
type Sensor struct {
	Type    uint8  `cbor:"1,keyasint"` // ANT+ device type: 11 power, 34 shifting, 121–123 speed and cadence
	Maker   uint16 `cbor:"2,keyasint,omitempty"`
	Product uint16 `cbor:"3,keyasint,omitempty"`
	Serial  uint32 `cbor:"4,keyasint,omitempty"` // 0 = none
	ANT     uint16 `cbor:"5,keyasint,omitempty"` // ANT device number; 0 = none
	Name    string `cbor:"6,keyasint,omitempty"`
}

// Ride is one outing of one bike and the load that it put through it.
type Ride struct {
	ID        RideID
	Bike      ID      // 0 = not known yet
	Start     Instant // the ride belongs wholly to this instant
	Elapsed   int64   // ms from start to end
	Offset    int32   // s east of UTC where it was recorded; 0 = UTC or not known
	Ground    Ground
	State     State
	Rule      Rule
	Format    Format
	Version   uint8 // of the sums that gave the load, see ingest.SumsVersion
	Leg       uint8 // which ride of the file
	File      Hash  // zero for a typed ride
	Recorded  Load
	Estimated Load
	Lacking   Set      // quantities that could not even be estimated
	Notes     []string // what a reader of the ride must know: "no altitude", …
	Device    Sensor   // the recording device
	Sensors   []Sensor // bolted to the bike or worn
	Title     string   // file's name, or what was typed
	Marked    Marked   // how the ground was found
	Uplift    Uplift   // whether lifts are cut out
	Salvaged  bool     // from a damaged file: a whole one that comes later takes its place
	Profile   string   // the device's own name for the bike or sport profile
	Because   string   // what of the rule decided, or why none did: "shifter 4711"
	Of        RideID   // of a twin: the ride that counts in its place; zero = not known
	Unlike    []RideID // by the user's word outings of their own, not this one
	Entry     uint64   // the entry that brought it
}

// Total is the ride's load, recorded and estimated together.
func (r Ride) Total() Load { return r.Recorded.Add(r.Estimated) }

// Sum is what the ride adds to the sums of its bike: nothing unless it counts.
func (r Ride) Sum() Sum {
	var s Sum
	if r.State != Counted {
		return s
	}
	s.Rides = 1
	s.Recorded, s.Estimated = r.Recorded, r.Estimated
	if r.Total()[Moving] >= LongRide {
		s.Long = 1
	}
	for _, q := range r.Lacking.List() {
		s.Lacking[q] = 1
	}
	return s
}

// Gear is turns and work in one gear: a bin of development, or a gear number
// that the device recorded.
type Gear struct {
	Bin   int16 // development bin, see DevelopmentBin; or front*64+rear of recorded numbers
	Turns int64 // thousandths
	Work  int64 // J
}

// Gears is where in the gears a ride's turns and work went. The lists are
// sorted by Bin.
type Gears struct {
	ByDevelopment []Gear // from steady pedalling only
	ByNumber      []Gear // recorded gear changes
	Teeth         []Gear // of the recorded gears: what the device took them for, see TeethBin
}

// TeethBin is the bin of the teeth that a device recorded for a rear gear
// number; number 0 stands for the ring.
func TeethBin(number, teeth int) int16 { return int16(number<<8 | teeth) }

// BinTeeth is the inverse of [TeethBin].
func BinTeeth(bin int16) (number, teeth int) { return int(bin) >> 8, int(bin) & 0xff }

// binsPerE is the number of development bins in a factor of e: each is 1.98 % wide.
const binsPerE = 51

// DevelopmentBin is the bin of a development, in metres per turn of the crank.
func DevelopmentBin(metres float64) int16 { return int16(math.Round(binsPerE * math.Log(metres))) }

// BinDevelopment is the development in the middle of a bin, in metres.
func BinDevelopment(bin int16) float64 { return math.Exp(float64(bin) / binsPerE) }
