package wear

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// spacerSlack is by how many mm spacers may differ and count as equal.
const spacerSlack = 0.1

// warn says what does not look right: chain line, spacers, bolts, ring, angle.
func (st *SetupState) warn(a *assessor) {
	g := &st.Setup
	st.say(g.Drive.sayLine(g.ChainLine))
	st.say(g.saySpacers())
	st.say(g.sayTorques())
	st.say(g.sayRange(g.Ring))
	if on := a.ringTeeth(); on != 0 && on != g.Ring {
		st.say(g.sayRange(on))
		st.say(g.sayMove(on))
	}
	if a.cassette == nil {
		return
	}
	st.Angles = ChainAngles(g.Drive, g.ChainLine, a.cassette.pc.Part.Cogs)
	for _, c := range st.Angles {
		if math.Abs(c.Degrees) > mostAngle {
			st.say(fmt.Sprintf("the chain runs %.1f degrees %s to the %d-tooth cog: more than %g is too far askew (common practice)", math.Abs(c.Degrees), inOut(c.Degrees), c.Teeth, mostAngle))
		}
	}
}

func (st *SetupState) say(s string) {
	if s != "" {
		st.Warnings = append(st.Warnings, s)
	}
}

func (g GuideSetup) saySpacers() string {
	if len(g.Spacers) < 2 || slices.Max(g.Spacers)-slices.Min(g.Spacers) <= spacerSlack+1e-9 {
		return ""
	}
	return fmt.Sprintf("spacers of %s mm: unequal ones set the guide askew, unless the tabs of the frame are", enumerate(g.Spacers))
}

// enumerate is "1, 1, 1.5".
func enumerate[T any](list []T) string {
	words := make([]string, len(list))
	for i, v := range list {
		words[i] = fmt.Sprint(v)
	}
	return strings.Join(words, ", ")
}

func (g GuideSetup) sayTorques() string {
	if n := g.Mount.Bolts(); len(g.Torques) > 0 && len(g.Torques) < n {
		return fmt.Sprintf("torque of %d bolts given, the mount has %d: a guide short of a bolt is not ridden", len(g.Torques), n)
	}
	return ""
}

// sayRange remarks on a ring outside the guide's range.
func (g GuideSetup) sayRange(ring int) string {
	d := g.Drive
	if ring == 0 || d.GuideMost == 0 || ring >= d.GuideLeast && ring <= d.GuideMost {
		return ""
	}
	return fmt.Sprintf("ring of %d teeth: the guide takes %d to %d", ring, d.GuideLeast, d.GuideMost)
}

// sayMove says what to move where another ring is on than the guide was set for.
func (g GuideSetup) sayMove(on int) string {
	if g.Ring == 0 {
		return ""
	}
	move := GuideMove(g.Ring, on)
	return fmt.Sprintf("set for a ring of %d teeth, %d are on: move upper guide and idler %.1f mm %s", g.Ring, on, math.Abs(move), inOut(move))
}
