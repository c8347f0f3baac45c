package main

import (
	"cmp"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

// setupFlags are what is entered of a chain guide.
type setupFlags struct {
	drive                                      driveFlags
	mount, spacers, torque, line, angle, lower string
	ring                                       int
	check, void                                bool
	fails, unchecked                           []string
}

func (a *app) setupCmd() *cobra.Command {
	var f setupFlags
	var fact desk.Fact
	var out outputFlags
	cmd := &cobra.Command{
		Use:   "setup BIKE",
		Short: "How the chain guide is set up; with flags, enter it",
		Long: `Shows how a bike's chain guide is set up, what does not look right, and whether the
parking-lot check is to be done: shifting through the range, no rub at either end of
the cassette, clearance through the suspension's travel. With flags it enters what
was set, measured or checked; what is not said stays as it was. Work on ring, crank,
cassette, bottom bracket or guide makes the check due again.

Lengths are in mm. A torque is always written with its unit: the maker's figure for
both parts, the lower of the two; never re-torque a threadlocked bolt by routine.`,
		Example: `  pawl setup enduro --mount iscg05 --spacers 1,1,1.5 --lower "second hole"
  pawl setup enduro --chain-line 52 --rear-spacing 148 --guide-range 28-36
  pawl setup enduro --torque "8Nm,8Nm,8Nm" --angle -2.5 --check --by Kim
  pawl setup enduro --check --fails rub --note "on the largest cog"
  pawl setup enduro
  pawl setup enduro --void`,
		Args: args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			fact.Bike = words[0]
			enters, err := entering(cmd)
			if err != nil {
				return err
			}
			d, err := a.desk(cmd)
			switch {
			case err != nil:
				return err
			case f.void:
				return a.voidSetup(cmd, d, fact)
			case enters:
				return a.enterSetup(cmd, d, fact, f)
			}
			p, err := d.Setup(cmd.Context(), words[0], out.today)
			if err != nil {
				return err
			}
			style := a.style(cmd.Context(), d)
			if out.json {
				return report.SetupJSON(a.out, setupPage(p), style)
			}
			return report.Setup(a.out, setupPage(p), style)
		},
	}
	out.add(cmd, false)
	f.add(cmd)
	factFlags(cmd, &fact)
	cmd.Flags().StringVar(&fact.By, "by", "", "who did it")
	return cmd
}

func (f *setupFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.mount, "mount", "", "what the guide is bolted to: iscg, iscg-05, bb or direct")
	flags.StringVar(&f.spacers, "spacers", "", "mm on each bolt, as 1,1,1.5")
	flags.StringVar(&f.torque, "torque", "", "torque of each bolt with its unit, in the same order, as 8Nm,8Nm,8Nm")
	flags.StringVar(&f.line, "chain-line", "", "from the middle of the frame to the middle of the ring's teeth, as 52")
	flags.StringVar(&f.angle, "angle", "", "degrees by which the guide is turned on its mount, forward positive")
	flags.StringVar(&f.lower, "lower", "", "where the lower guide sits: a mark, a hole, mm on its track")
	flags.IntVar(&f.ring, "ring", 0, "teeth of the ring that it was set for (default: the one that is on)")
	flags.BoolVar(&f.check, "check", false, "the parking-lot check was done, and passed")
	flags.StringSliceVar(&f.fails, "fails", nil, "what failed in it: shifting, rub, clearance")
	flags.StringSliceVar(&f.unchecked, "unchecked", nil, "what was left out of it: shifting, rub, clearance")
	flags.BoolVar(&f.void, "void", false, "take back what was entered on that day")
	f.drive.add(cmd)
}

// entering reports whether flags say something of the guide, and refuses those
// that do not go together.
func entering(cmd *cobra.Command) (bool, error) {
	sorts := map[string]string{"json": "shows", "today": "shows", "on": "dates an entry", "by": "dates an entry", "book": "any", "units": "any", "void": "takes back"}
	first := map[string]string{} // flag of each sort
	cmd.Flags().Visit(func(f *pflag.Flag) {
		sort := cmp.Or(sorts[f.Name], "enters")
		first[sort] = cmp.Or(first[sort], "--"+f.Name)
	})
	for _, clash := range [][2]string{{"shows", "enters"}, {"shows", "takes back"}, {"shows", "dates an entry"}, {"takes back", "enters"}} {
		if a, b := first[clash[0]], first[clash[1]]; a != "" && b != "" {
			return false, &desk.MistakeError{
				Msg: fmt.Sprintf("%s %s, %s %s", a, clash[0], b, clash[1]), Tip: "one after the other: pawl setup BIKE --help tells which flags enter",
			}
		}
	}
	if first["dates an entry"] != "" && first["enters"] == "" && first["takes back"] == "" {
		return false, &desk.MistakeError{Msg: "nothing is said of the guide", Tip: "pawl setup BIKE --chain-line 52, --check, …; pawl setup BIKE alone shows it"}
	}
	return first["enters"] != "", nil
}

// record is the set-up that the flags say.
func (f *setupFlags) record(cmd *cobra.Command) (g wear.GuideSetup, err error) {
	given := cmd.Flags().Changed
	for _, x := range []struct {
		flag string
		read func() error
	}{
		{"mount", func() error { g.Mount, err = wear.ParseGuideMount(f.mount); return wrongMount(err) }},
		{"spacers", func() error { g.Spacers, err = desk.ParseMMs("spacers", f.spacers); return err }},
		{"torque", func() error { g.Torques, err = desk.ParseTorques(f.torque); return err }},
		{"chain-line", func() error { g.ChainLine, err = positiveMM("chain-line", f.line); return err }},
		{"angle", func() error { v, err := desk.ParseAngle(f.angle); g.Angle = &v; return err }},
		{"lower", func() error { g.Lower = f.lower; return nil }},
		{"ring", func() error {
			if g.Ring = f.ring; f.ring <= 0 {
				return noNought("ring")
			}
			return nil
		}},
		{"check", func() error { g.Lot, err = desk.ParseLot(f.fails, f.unchecked); return err }},
	} {
		if given(x.flag) {
			if err := x.read(); err != nil {
				return g, err
			}
		}
	}
	if !f.check && (given("fails") || given("unchecked")) {
		return g, &desk.MistakeError{Msg: "--fails and --unchecked are of the parking-lot check", Tip: "add --check: what is not named passed"}
	}
	return g, f.drive.set(cmd, &g.Drive)
}

func wrongMount(err error) error {
	if err == nil {
		return nil
	}
	return &desk.MistakeError{Msg: err.Error(), Tip: "--mount iscg (circle of 59 mm), iscg-05 (73 mm), bb or direct"}
}

func (a *app) enterSetup(cmd *cobra.Command, d *desk.Desk, fact desk.Fact, f setupFlags) error {
	g, err := f.record(cmd)
	if err != nil {
		return err
	}
	res, err := d.EnterSetup(cmd.Context(), fact, g)
	if err != nil {
		return err
	}
	for _, n := range res.Notes {
		fmt.Fprintln(a.err, "note: "+oneLine(n))
	}
	return a.tell(cmd, d, func(s report.Style) string {
		return fmt.Sprintf("%s on %s: %s", res.Page.Bike.Name, s.Date(res.Record.At), report.SetupText(res.Record))
	})
}

func (a *app) voidSetup(cmd *cobra.Command, d *desk.Desk, fact desk.Fact) error {
	b, g, err := d.VoidSetup(cmd.Context(), fact)
	if err != nil {
		return err
	}
	return a.tell(cmd, d, func(s report.Style) string {
		return fmt.Sprintf("%s: taken back: %s on %s", b.Name, report.SetupText(g), s.Date(g.At))
	})
}

func setupPage(p desk.SetupPage) report.SetupPage {
	return report.SetupPage{
		Bike: p.Bike.Name, Known: p.Known, Guided: p.Guided, State: p.State, Records: p.Records, Torque: p.Torque, Cautions: p.Cautions,
	}
}
