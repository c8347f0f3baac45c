package wear

import "math"

// RingQuery is what a choice of rings rests on. Zero is not known.
type RingQuery struct {
	Bike   string
	Ring   int     // teeth now on
	Cogs   []int   // smallest first
	Wheel  float64 // m rolled in one turn
	Speeds int
	Line   float64 // mm, the chain line now
	Drive  Drive
	Worn   []WornPart  // what is past its limit, chain first
	Offers []RingOffer // rings to choose among; none = any that could be bought
}

// RingOffer is a ring as its maker lists it.
type RingOffer struct {
	Model  string
	Teeth  int
	Mount  string   // see ParseRingMount; empty = not given
	Offset *float64 // mm; nil = not given
	Speeds []int    // that it is listed for; none = not given
}

// WornPart is a chain, cassette or ring past its limit.
type WornPart struct{ Name, Kind, Why string }

// RingAdvice is which narrow-wide rings fit, what each changes, and what must be
// asked first.
type RingAdvice struct {
	First     []string // what must be done before a new ring goes on, or it is ruined
	Together  []string // names of the parts past their limits that make one job
	Choices   []RingChoice
	Refused   []RingRefusal
	Lines     []LineRange // where the chain line should lie: the maker's, else the usual of the rear spacing
	Questions []Question
}

// RingChoice is one ring that fits.
type RingChoice struct {
	Model   string // of an offer
	Teeth   int
	Same    bool         // as many teeth as now
	Percent float64      // by which every gear changes, harder positive
	Gears   []GearShift  // per cog, smallest first; nil where the wheel is not known
	Speed   float64      // m/s at 60 turns a minute in the easiest gear; 0 = not known
	Chain   *ChainChange // nil where cassette or chainstay is not known
	Radius  float64      // mm, of the circle through the chain's pins
	Move    float64      // mm by which upper guide and idler move on their track, outwards positive
	Line    float64      // mm, the chain line with it; 0 = not known
	Notes   []string
}

// ChainChange is by how many pitches a chain must grow, or shrink where negative.
type ChainChange struct {
	Pitches int     // in whole pairs
	Exact   float64 // before that is rounded
}

// GearShift is what becomes of one gear: development in m per turn of the crank.
type GearShift struct {
	Cog      int
	Was, Now float64
}

// RingRefusal is a ring that does not fit.
type RingRefusal struct {
	Model string
	Teeth int
	Why   string
}

// Question is a figure that the choice lacks and only somebody at the bike can give.
type Question struct{ About, Ask string }

// Development is how far, in m, the bike rolls in one turn of the crank: wheel ×
// ring / cog.
func Development(ring, cog int, wheel float64) float64 {
	return wheel * float64(ring) / float64(cog)
}

// ChainPitches is how many pitches of chain two wheels of z1 and z2 teeth take
// at a centre distance in mm: 2C/p + (z1+z2)/2 + ((z2−z1)/2π)² p/C, the usual
// formula for the length of roller chain (so in chain makers' pages and, from
// memory, in ISO 10823 and Machinery's Handbook).
func ChainPitches(z1, z2 int, centre float64) float64 {
	c := centre / Pitch
	s := float64(z2-z1) / (2 * math.Pi)
	return 2*c + float64(z1+z2)/2 + s*s/c
}

// GuideMove is by how many mm upper guide and idler move on their track, outwards
// positive, when one ring takes another's place: the difference of their pitch
// radii.
func GuideMove(was, now int) float64 { return (PitchDiameter(now) - PitchDiameter(was)) / 2 }

// pairSlack is the part of a pitch, 3 mm, by which a chain may come out short of
// a pair without another being added: wear makes it longer by twice as much.
const pairSlack = 0.25

// Teeth between which a ring of a bike has them.
const leastRing, mostRing = 20, 60

// pairs rounds pitches to whole pairs of links, up, so that the chain is rather
// too long than too short.
func pairs(pitches float64) int { return 2 * int(math.Ceil((pitches-pairSlack)/2)) }

// Rings are the narrow-wide rings that fit, smallest first: an even number of
// teeth inside the guide's range, clear of the bolts of its mount and of the
// frame as far as that is known, listed for the bike's speeds.
func Rings(q RingQuery) RingAdvice {
	if q.Ring < leastRing || q.Ring > mostRing {
		q.Ring = 0 // asked for
	}
	r := &ringing{q: q}
	r.mount, r.mounted = q.mount()
	r.Lines = q.Drive.lines()
	r.worn()
	for _, o := range r.offers() {
		if why := r.refuse(o); why != "" {
			r.Refused = append(r.Refused, RingRefusal{o.Model, o.Teeth, why})
			continue
		}
		r.Choices = append(r.Choices, r.choice(o))
	}
	r.ask()
	return r.RingAdvice
}
