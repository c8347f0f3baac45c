package report

import (
	"fmt"
	"strings"

	"pawl/wear"
)

// entered adds the latest records, the newest last.
func (p *page) entered(records []wear.GuideSetup) {
	if len(records) == 0 {
		return
	}
	p.gap()
	p.line("Entered")
	if n := len(records) - shownRecords; n > 0 {
		p.para("  ", plural(n, "earlier record", "earlier records")+" not shown; --json has all")
		records = records[n:]
	}
	for _, g := range records {
		p.para(fmt.Sprintf("  %-11s  ", p.fullDay(g.At)), setupText(g))
	}
}

// SetupText is what one record of a guide's set-up says.
func SetupText(g wear.GuideSetup) string { return setupText(g) }

func setupText(g wear.GuideSetup) string {
	d := g.Drive
	var out []string
	for _, f := range [][2]string{
		{"mount ", string(g.Mount)},
		{"spacers ", bolts(g.Spacers, "mm")},
		{"torque ", bolts(g.Torques, "N·m")},
		{"chain line ", millimetres(g.ChainLine)},
		{"angle ", angleText(g.Angle)},
		{"lower guide ", brief(g.Lower, longName)},
		{"set for ", teethText("%d teeth", g.Ring)},
		{"guide takes ", takes(d)},
		{"rear spacing ", millimetres(d.Spacing)},
		{"chainstay ", millimetres(d.Chainstay)},
		{"ring mount ", ringMountText(d)},
		{"maker's chain line ", millimetres(d.MakerLine)},
		{"frame clears ", teethText("%d teeth", d.FrameMost)},
		{"chain of ", teethText("%d pitches", d.Pitches)},
		{"cogs ", cogsText(d)},
		{"", lotText(g.Lot)},
	} {
		if f[1] != "" {
			out = append(out, f[0]+f[1])
		}
	}
	if len(out) == 0 {
		out = []string{"a note"}
	}
	return withNote(strings.Join(out, "; ")+by(g.By), g.Note)
}

// lotText is the parking-lot check in words.
func lotText(l *wear.ParkingLot) string {
	if l == nil {
		return ""
	}
	said := map[wear.Answer][]string{}
	for _, a := range []struct {
		of string
		is wear.Answer
	}{{"shifting", l.Shifts}, {"no rub", l.NoRub}, {"clearance", l.Clear}} {
		said[a.is] = append(said[a.is], a.of)
	}
	if len(said[wear.Passed]) == 3 {
		return "parking-lot check passed"
	}
	var out []string
	for _, s := range []struct {
		is    wear.Answer
		words string
	}{{wear.Passed, " passed"}, {wear.Failed, " failed"}, {wear.NotAnswered, " not checked"}} {
		if n := said[s.is]; len(n) > 0 {
			out = append(out, join(n)+s.words)
		}
	}
	return "parking-lot check: " + strings.Join(out, ", ")
}
