package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"pawl/wear"
)

// SetupPage is how a bike's chain guide is set up.
type SetupPage struct {
	Bike     string
	Known    bool              // anything was entered
	Guided   bool              // there is a guide to check
	State    wear.SetupState   // zero unless Known
	Records  []wear.GuideSetup // oldest first
	Torque   float64           // N·m, the maker's figure for its bolts; 0 = not known
	Cautions []string
}

// shownRecords is how many of the latest records are shown.
const shownRecords = 6

// Setup writes how a bike's chain guide is set up to a terminal.
func Setup(w io.Writer, d SetupPage, s Style) error {
	p := &page{Style: s}
	p.painted("", brief(d.Bike, longName)+": set-up of the chain guide", p.bold)
	p.setup(d)
	p.entered(d.Records)
	p.cautions(d.Cautions)
	return p.to(w)
}

// setup adds what holds, the check and what does not look right.
func (p *page) setup(d SetupPage) {
	if !d.Known {
		p.para("  ", fmt.Sprintf("Nothing is recorded of it. pawl setup %q --mount iscg-05 --chain-line 52 --check enters what was set and checked.", d.Bike))
		return
	}
	for _, f := range p.setupFacts(d) {
		if f[1] != "" {
			p.para("  "+f[0]+strings.Repeat(" ", 14-width(f[0])), f[1])
		}
	}
	p.setupCheck(d)
	if len(d.State.Warnings) > 0 {
		p.gap()
		p.line("Does not look right")
		for _, w := range d.State.Warnings {
			p.para("  ", sentence(clean(w)))
		}
	}
}

func (s Style) setupFacts(d SetupPage) [][2]string {
	g, drive := d.State.Setup, d.State.Setup.Drive
	return [][2]string{
		{"mount", mountText(g.Mount)},
		{"spacers", bolts(g.Spacers, "mm")},
		{"torque", torquesText(g.Torques, d.Torque)},
		{"chain line", millimetres(g.ChainLine) + lineText(drive)},
		{"guide angle", angleText(g.Angle)},
		{"lower guide", brief(g.Lower, longName)},
		{"set for", teethText("a ring of %d teeth", g.Ring)},
		{"guide takes", takes(drive)},
		{"rear spacing", millimetres(drive.Spacing)},
		{"chainstay", millimetres(drive.Chainstay)},
		{"ring mount", ringMountText(drive)},
		{"frame clears", teethText("a ring of %d teeth", drive.FrameMost)},
		{"chain", teethText("%d pitches", drive.Pitches)},
		{"cogs", cogsText(drive)},
		{"chain angle", anglesText(d.State.Angles)},
		{"last set", setDay(s, d.State.Set)},
	}
}

func setDay(s Style, at wear.Instant) string {
	if at == wear.Ever {
		return ""
	}
	return s.fullDay(at)
}

// setupCheck adds the parking-lot check.
func (p *page) setupCheck(d SetupPage) {
	switch {
	case !d.Guided:
		return
	case !d.State.CheckDue:
		p.para("  check         ", "passed on "+p.fullDay(d.State.Checked))
		return
	}
	p.gap()
	p.line(p.verdict(wear.Due), "  parking-lot check of the guide")
	p.para("  ", "Because "+strings.Join(d.State.Why, "; ")+".")
	p.para("  ", fmt.Sprintf("Shift through the whole range, look for rub at either end of the cassette and for clearance through the suspension's travel, then pawl setup %q --check.", d.Bike))
}

func mountText(m wear.GuideMount) string {
	if m.Circle() == 0 {
		return string(m)
	}
	return fmt.Sprintf("%s, %d bolts on a circle of %s mm", m, m.Bolts(), number(m.Circle(), 0))
}

// bolts is a figure for each bolt.
func bolts(list []float64, unit string) string {
	var out []string
	for _, v := range list {
		out = append(out, hundredths(v))
	}
	if len(out) == 0 {
		return ""
	}
	return strings.Join(out, ", ") + " " + unit
}

func torquesText(list []float64, maker float64) string {
	out := bolts(list, "N·m")
	if maker == 0 {
		return out
	}
	if out == "" {
		return "not recorded; the maker's figure is " + torque(maker)
	}
	return out + " (the maker's figure is " + torque(maker) + ")"
}

func millimetres(v float64) string {
	if v == 0 {
		return ""
	}
	return hundredths(v) + " mm"
}

// lineText is where the chain line should lie.
func lineText(d wear.Drive) string {
	if d.MakerLine != 0 {
		return " (the maker's: " + millimetres(d.MakerLine) + ")"
	}
	return strings.Replace(usualLines(wear.UsualChainLine(d.Spacing)), "should be", "usual:", 1)
}

func angleText(v *float64) string {
	switch {
	case v == nil:
		return ""
	case *v < 0:
		return hundredths(-*v) + "° backward"
	case *v > 0:
		return hundredths(*v) + "° forward"
	}
	return "0°"
}

func teethText(form string, n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(form, n)
}

func takes(d wear.Drive) string {
	if d.GuideMost == 0 {
		return ""
	}
	return fmt.Sprintf("rings of %d to %d teeth", d.GuideLeast, d.GuideMost)
}

func ringMountText(d wear.Drive) string {
	var out []string
	if d.RingMount != "" {
		out = append(out, clean(d.RingMount))
	}
	if d.Offset != nil {
		out = append(out, "offset "+hundredths(*d.Offset)+" mm")
	}
	return strings.Join(out, ", ")
}

func cogsText(d wear.Drive) string {
	var out []string
	if d.CogSpacing != 0 {
		out = append(out, millimetres(d.CogSpacing)+" apart")
	}
	if d.CassetteLine != 0 {
		out = append(out, "their middle at "+millimetres(d.CassetteLine))
	}
	return strings.Join(out, ", ")
}

// anglesText is how far the chain runs askew at both ends of the cassette.
func anglesText(list []wear.CogAngle) string {
	var out []string
	for _, a := range list {
		way := "out"
		if a.Degrees < 0 {
			way = "in"
		}
		out = append(out, fmt.Sprintf("%s° %s to the cog of %d teeth", number(math.Abs(a.Degrees), 1), way, a.Teeth))
	}
	return strings.Join(out, ", ")
}
