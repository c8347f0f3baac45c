package wear

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// RingsOf gathers what is known of a bike for a choice of rings: its parts, the
// set-up of its guide, and findings that say what is past its limit.
func RingsOf(c Case, setup GuideSetup, fs []Finding) RingQuery {
	q := RingQuery{Bike: c.Bike.Name, Wheel: c.Bike.Wheel, Speeds: c.Bike.Speeds, Line: setup.ChainLine, Drive: setup.Drive, Worn: wornDrive(fs)}
	for i := range c.Parts {
		switch p := &c.Parts[i].Part; p.Kind {
		case "ring":
			q.Ring = p.Teeth
		case "cassette":
			q.Cogs = p.Cogs
			q.Speeds = cmp.Or(q.Speeds, p.Speeds, len(p.Cogs))
		}
	}
	q.Ring = cmp.Or(q.Ring, setup.Ring)
	return q
}

// driveKinds wear one another down, in the order in which they are named.
var driveKinds = []string{"chain", "cassette", "ring"}

// wornDrive are chain, cassette and ring that a finding says to change, or that
// stop the bike.
func wornDrive(fs []Finding) []WornPart {
	var list []WornPart
	for i := range fs {
		f := &fs[i]
		past := f.Act == ActChange && f.Verdict >= Due || f.Verdict == Stop
		if !past || !slices.Contains(driveKinds, f.Kind) || slices.ContainsFunc(list, func(w WornPart) bool { return w.Name == f.Part }) {
			continue
		}
		w := WornPart{Name: f.Part, Kind: f.Kind}
		if len(f.Reasons) > 0 {
			w.Why = f.Reasons[0].Text
		}
		list = append(list, w)
	}
	slices.SortStableFunc(list, func(x, y WornPart) int {
		return cmp.Compare(slices.Index(driveKinds, x.Kind), slices.Index(driveKinds, y.Kind))
	})
	return list
}

// ruin says what a worn part does to a new ring.
var ruin = map[string]string{
	"chain":    "it would wear the new ring to its own pitch: change it first, or with the ring",
	"cassette": "a new chain skips on it and a worn one ruins the new ring: change it with the chain",
}

func (w WornPart) say() string {
	if w.Why == "" {
		return w.Name + " is past its limit"
	}
	return fmt.Sprintf("%s is past its limit (%s)", w.Name, w.Why)
}

// worn names what must go first, and what makes one job.
func (r *ringing) worn() {
	for _, w := range r.q.Worn {
		if ruin[w.Kind] == "" {
			continue
		}
		r.First = append(r.First, w.say()+": "+ruin[w.Kind])
	}
	if len(r.q.Worn) > 1 {
		for _, w := range r.q.Worn {
			r.Together = append(r.Together, w.Name)
		}
	}
}

// ask lists what is lacking.
func (r *ringing) ask() {
	q, d := r.q, r.q.Drive
	for _, a := range []struct {
		lacks      bool
		about, ask string
	}{
		{q.Ring == 0, "ring", "how many teeth has the ring that is on?"},
		{len(q.Cogs) == 0, "cassette", "which cogs has the cassette?"},
		{q.Wheel == 0, "wheel", "how far does the bike roll in one turn of the wheel?"},
		{d.GuideMost == 0, "guide range", "which rings does the guide take, from how many teeth to how many?"},
		{!r.mounted, "ring mount", "does the ring sit straight on the crank, or on how many bolts on which circle? " + chords},
		{d.Chainstay == 0, "chainstay", "how long is the chainstay, from the bottom bracket to the rear axle?"},
		{q.Line == 0, "chain line", "how far is the middle of the ring's teeth from the middle of the frame?"},
		{d.Spacing == 0 && d.MakerLine == 0, "rear spacing", "how wide is the rear hub, 142, 148 or 157 mm?"},
		{d.FrameMost == 0 && r.larger(), "frame clearance", "which is the largest ring that the frame's maker allows? the chainstay needs 3 mm of air, through the whole travel"},
		{r.unlisted(), "speeds", r.speeds()},
	} {
		if a.lacks {
			r.Questions = append(r.Questions, Question{a.about, a.ask})
		}
	}
}

// chords tells circles apart by what a ruler reaches (see [RingMount.Chord]).
var chords = func() string {
	var words []string
	for _, m := range []RingMount{{104, 4}, {96, 4}, {76, 4}, {64, 4}} {
		words = append(words, fmt.Sprintf("%.1f mm on %g", m.Chord(), m.Circle))
	}
	return "neighbours of four are apart " + strings.Join(words, ", ")
}()

func (r *ringing) larger() bool {
	return slices.ContainsFunc(r.Choices, func(c RingChoice) bool { return c.Teeth > r.q.Ring })
}

// unlisted reports whether the speeds of any ring that fits are not known.
func (r *ringing) unlisted() bool {
	if r.q.Speeds == 0 || len(r.q.Offers) == 0 {
		return true
	}
	return slices.ContainsFunc(r.q.Offers, func(o RingOffer) bool { return len(o.Speeds) == 0 })
}

func (r *ringing) speeds() string {
	if r.q.Speeds == 0 {
		return "how many cogs is the chain for, and is the ring listed for that?"
	}
	return fmt.Sprintf("is the ring listed for a chain of %d speeds?", r.q.Speeds)
}
