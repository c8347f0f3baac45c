package wear

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// GuideMount is what a chain guide is bolted to.
type GuideMount string

// The mounts.
const (
	ISCG            GuideMount = "iscg"           // three tabs on a circle of 59 mm
	ISCG05          GuideMount = "iscg-05"        // three tabs on a circle of 73 mm
	OnBottomBracket GuideMount = "bottom-bracket" // a plate clamped by the bottom bracket
	OnFrame         GuideMount = "direct"         // bolted to the frame where its maker chose
)

// GuideMounts lists them in the order of the help text.
var GuideMounts = []GuideMount{ISCG, ISCG05, OnBottomBracket, OnFrame}

// Circle is the diameter in mm of the circle that the mount's bolts lie on, 0
// where there is none (jitetan.com: 59.24 mm, often quoted as 59; 73 mm).
func (m GuideMount) Circle() float64 {
	switch m {
	case ISCG:
		return 59.24
	case ISCG05:
		return 73
	}
	return 0
}

// Bolts is how many bolts hold the guide, 0 where that differs.
func (m GuideMount) Bolts() int {
	if m.Circle() > 0 {
		return 3
	}
	return 0
}

// Answer is what a check on the bike said.
type Answer uint8

// The answers.
const (
	NotAnswered Answer = iota
	Passed
	Failed
)

// ParkingLot is the check of a guide that is done by riding round a parking lot.
type ParkingLot struct {
	Shifts Answer `cbor:"1,keyasint,omitempty"` // it shifts through the whole range
	NoRub  Answer `cbor:"2,keyasint,omitempty"` // no rub at either end of the cassette
	Clear  Answer `cbor:"3,keyasint,omitempty"` // nothing touches through the suspension's travel
}

// Drive is what frame, crank and guide give a choice of rings. Zero, or nil, is
// not given. Chain lines are from the middle of the frame to the middle of a
// tooth.
type Drive struct {
	Spacing      float64  `cbor:"1,keyasint,omitempty"`  // mm between the dropouts: 142, 148, …
	Chainstay    float64  `cbor:"2,keyasint,omitempty"`  // mm, bottom bracket to rear axle
	RingMount    string   `cbor:"3,keyasint,omitempty"`  // see ParseRingMount
	Offset       *float64 `cbor:"4,keyasint,omitempty"`  // mm by which the ring lies further in than its mount
	MakerLine    float64  `cbor:"5,keyasint,omitempty"`  // mm, the chain line that the maker gives
	GuideLeast   int      `cbor:"6,keyasint,omitempty"`  // teeth, the smallest ring that the guide takes
	GuideMost    int      `cbor:"7,keyasint,omitempty"`  // teeth, the largest
	FrameMost    int      `cbor:"8,keyasint,omitempty"`  // teeth, the largest ring that clears the frame
	Pitches      int      `cbor:"9,keyasint,omitempty"`  // of the chain
	CogSpacing   float64  `cbor:"10,keyasint,omitempty"` // mm from cog to cog
	CassetteLine float64  `cbor:"11,keyasint,omitempty"` // mm, chain line of the cassette's middle
}

// GuideSetup is what was set, measured or checked on a bike's chain guide on one
// day. What it does not say stays as it was before, see [SetupOf].
type GuideSetup struct {
	ID        uint64      `cbor:"1,keyasint"`
	Bike      ID          `cbor:"2,keyasint"`
	At        Instant     `cbor:"3,keyasint"`
	Mount     GuideMount  `cbor:"4,keyasint,omitempty"`
	Spacers   []float64   `cbor:"5,keyasint,omitempty"`  // mm on each bolt
	Torques   []float64   `cbor:"6,keyasint,omitempty"`  // N·m of each bolt, in the same order
	ChainLine float64     `cbor:"7,keyasint,omitempty"`  // mm
	Angle     *float64    `cbor:"8,keyasint,omitempty"`  // degrees by which the guide is turned on its mount, forward positive
	Lower     string      `cbor:"9,keyasint,omitempty"`  // where the lower guide sits: a mark, a hole, mm on its track
	Ring      int         `cbor:"10,keyasint,omitempty"` // teeth that it was set for
	Lot       *ParkingLot `cbor:"11,keyasint,omitempty"`
	Drive     Drive       `cbor:"12,keyasint"`
	By        string      `cbor:"13,keyasint,omitempty"`
	Note      string      `cbor:"14,keyasint,omitempty"`
	Void      bool        `cbor:"15,keyasint,omitempty"`
}

// sets reports whether the record moved anything, so that what was checked
// before it must be checked again.
func (g GuideSetup) sets() bool {
	return g.Mount != "" || g.Spacers != nil || g.ChainLine != 0 || g.Angle != nil || g.Lower != "" || g.Ring != 0
}

// over is the record with what it does not say taken from the one before.
func (g GuideSetup) over(before GuideSetup) GuideSetup {
	g.Mount = cmp.Or(g.Mount, before.Mount)
	if g.Spacers == nil {
		g.Spacers = before.Spacers
	}
	if g.Torques == nil {
		g.Torques = before.Torques
	}
	g.ChainLine = cmp.Or(g.ChainLine, before.ChainLine)
	g.Angle = cmp.Or(g.Angle, before.Angle)
	g.Lower = cmp.Or(g.Lower, before.Lower)
	g.Ring = cmp.Or(g.Ring, before.Ring)
	g.Lot = cmp.Or(g.Lot, before.Lot)
	g.Drive = g.Drive.over(before.Drive)
	return g
}

func (d Drive) over(before Drive) Drive {
	d.Spacing = cmp.Or(d.Spacing, before.Spacing)
	d.Chainstay = cmp.Or(d.Chainstay, before.Chainstay)
	d.RingMount = cmp.Or(d.RingMount, before.RingMount)
	d.Offset = cmp.Or(d.Offset, before.Offset)
	d.MakerLine = cmp.Or(d.MakerLine, before.MakerLine)
	if d.GuideLeast == 0 && d.GuideMost == 0 {
		d.GuideLeast, d.GuideMost = before.GuideLeast, before.GuideMost
	}
	d.FrameMost = cmp.Or(d.FrameMost, before.FrameMost)
	d.Pitches = cmp.Or(d.Pitches, before.Pitches)
	d.CogSpacing = cmp.Or(d.CogSpacing, before.CogSpacing)
	d.CassetteLine = cmp.Or(d.CassetteLine, before.CassetteLine)
	return d
}

// ParseGuideMount reads a mount as flags name it.
func ParseGuideMount(s string) (GuideMount, error) {
	m := GuideMount(strings.ToLower(strings.TrimSpace(s)))
	switch m {
	case "iscg05", "iscg 05":
		m = ISCG05
	case "bb":
		m = OnBottomBracket
	}
	if !slices.Contains(GuideMounts, m) {
		return "", fmt.Errorf("mount %q: not one of %v", s, GuideMounts)
	}
	return m, nil
}
