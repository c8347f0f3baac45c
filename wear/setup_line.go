package wear

import (
	"fmt"
	"math"
	"strings"
)

// LineRange is where a chain line commonly lies, in mm from the middle of the
// frame.
type LineRange struct{ From, To float64 }

// usualLine is what a rear spacing commonly goes with.
type usualLine struct {
	front []LineRange
	rear  float64 // of the cassette's middle
}

// usualLines by rear spacing in mm. Front: 49–51 for 135 and 142 (printed in a
// guide maker's service notes), the others common practice; 141 and 150 have
// the hubs of 148 and 157. Rear: half the difference of the hubs' widths on top
// of the 46 mm of 135 (from memory, no published source).
var usualLines = map[float64]usualLine{
	135: {[]LineRange{{49, 51}}, 46},
	142: {[]LineRange{{49, 51}}, 46},
	141: {[]LineRange{{52, 52}, {55, 55}}, 49},
	148: {[]LineRange{{52, 52}, {55, 55}}, 49},
	150: {[]LineRange{{55, 57}}, 53.5},
	157: {[]LineRange{{55, 57}}, 53.5},
}

// UsualChainLine is where the chain line commonly lies with a rear spacing in
// mm; nil where it is not known. The maker's figure wins.
func UsualChainLine(spacing float64) []LineRange { return usualLines[spacing].front }

// lines are the chain lines that a bike should have: the maker's, else the usual ones.
func (d Drive) lines() []LineRange {
	if d.MakerLine != 0 {
		return []LineRange{{d.MakerLine, d.MakerLine}}
	}
	return UsualChainLine(d.Spacing)
}

// lineOff is how far a chain line lies from the nearest that the bike should
// have, further out positive; ok is false where that is not known.
func (d Drive) lineOff(line float64) (off float64, ok bool) {
	off = math.Inf(1)
	for _, r := range d.lines() {
		o := max(line-r.To, 0) + min(line-r.From, 0)
		if math.Abs(o) < math.Abs(off) {
			off = o
		}
	}
	return off, line != 0 && !math.IsInf(off, 0)
}

func (d Drive) sayLines() string {
	if d.MakerLine != 0 {
		return fmt.Sprintf("the maker's %g mm", d.MakerLine)
	}
	var words []string
	for _, r := range d.lines() {
		if r.From == r.To {
			words = append(words, fmt.Sprintf("%g", r.From))
		} else {
			words = append(words, fmt.Sprintf("%g to %g", r.From, r.To))
		}
	}
	return fmt.Sprintf("the usual %s mm of %g mm rear spacing", strings.Join(words, " or "), d.Spacing)
}

// lineSlack is by how many mm a chain line may be off before it is remarked.
const lineSlack = 2

// sayLine remarks on a chain line that is too far off; empty where it is not.
func (d Drive) sayLine(line float64) string {
	off, ok := d.lineOff(line)
	if !ok || math.Abs(off) <= lineSlack {
		return ""
	}
	return fmt.Sprintf("chain line %g mm: %.2g mm too far %s, against %s", line, math.Abs(off), inOut(off), d.sayLines())
}

func inOut(mm float64) string {
	if mm < 0 {
		return "in"
	}
	return "out"
}

// CogAngle is how far the chain runs askew to one cog.
type CogAngle struct {
	Teeth   int
	Degrees float64 // outwards positive
}

// cogSpacings is the distance from cog to cog in mm by the number of cogs. Ten:
// printed in a published table (quoted by ti10x.blogspot.com, 2012); the others
// from memory.
var cogSpacings = map[int]float64{7: 5, 8: 4.8, 9: 4.35, 10: 3.95, 11: 3.9, 12: 3.65, 13: 3.5}

// mostAngle is past which a chain is commonly taken to run too far askew, in
// degrees. A single ring on the usual line of its rear spacing before twelve
// cogs comes to 3 to 3.4 (common practice, no published source).
const mostAngle = 3.5

// ChainAngles is how far the chain runs askew to the smallest and the largest
// of the cogs, smallest first: arctan of the distance of ring and cog across
// the bike over the chainstay's length (plane trigonometry). nil where a figure
// is missing.
func ChainAngles(d Drive, line float64, cogs []int) []CogAngle {
	n := len(cogs)
	if d.CassetteLine == 0 {
		d.CassetteLine = usualLines[d.Spacing].rear
	}
	if d.CogSpacing == 0 {
		d.CogSpacing = cogSpacings[n]
	}
	if n < 2 || line == 0 || d.CassetteLine == 0 || d.CogSpacing == 0 || d.Chainstay == 0 {
		return nil
	}
	half := float64(n-1) / 2 * d.CogSpacing
	angle := func(cog float64) float64 { return math.Atan((cog-line)/d.Chainstay) * 180 / math.Pi }
	return []CogAngle{{cogs[0], angle(d.CassetteLine + half)}, {cogs[n-1], angle(d.CassetteLine - half)}}
}
