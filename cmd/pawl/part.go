package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

// partFlags say what a part is.
type partFlags struct {
	model, material, treated, cogs string
	teeth, speeds                  int
	stamp                          float64
	narrow                         bool
}

func (f *partFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.model, "model", "", "what the maker calls it")
	cmd.Flags().IntVar(&f.teeth, "teeth", 0, "teeth of a ring, idler or pulley")
	cmd.Flags().StringVar(&f.cogs, "cogs", "", "cogs of a cassette, as 10-12-14-16-18-21-24-28-32-36-42-51")
	cmd.Flags().IntVar(&f.speeds, "speeds", 0, "the number of cogs that it is listed for")
	cmd.Flags().StringVar(&f.material, "material", "", "aluminium, steel, organic, sintered, …")
	cmd.Flags().StringVar(&f.treated, "treated", "", "how a chain is lubricated (oil or wax), or a brake's fluid (glycol or mineral)")
	cmd.Flags().Float64Var(&f.stamp, "stamp", 0, "least thickness stamped on a rotor, in mm")
	cmd.Flags().BoolVar(&f.narrow, "narrow-wide", false, "the ring is a narrow-wide")
}

func (f *partFlags) part() (wear.Part, error) {
	p := wear.Part{
		Model: f.model, Material: f.material, Treated: f.treated,
		Teeth: f.teeth, Speeds: f.speeds, Narrow: f.narrow, Stamp: f.stamp,
	}
	var err error
	p.Cogs, err = desk.ParseCogs(f.cogs)
	return p, err
}

func (a *app) fitCmd() *cobra.Command {
	var f partFlags
	var req desk.FitRequest
	var used string
	cmd := &cobra.Command{
		Use:   "fit BIKE KIND",
		Short: "Put a part on a bike, now or at a past date",
		Long: `Puts a new part of a kind on a bike, or one from the shelf (--part).

Where one is on the bike then, say with --old what became of it. A fit at a past
date (--on) recounts what both parts have done.`,
		Example: `  pawl fit enduro chain --model "12-speed" --old worn
  pawl fit enduro ring --teeth 30 --narrow-wide --old shelf --on 2026-05-17
  pawl fit enduro rear-tyre --used 400km --old worn`,
		Args: args(2, 2),
		RunE: func(cmd *cobra.Command, words []string) error {
			req.Bike, req.Kind = words[0], words[1]
			var err error
			name := req.New.Name
			if req.New, err = f.part(); err != nil {
				return err
			}
			req.New.Name = name
			if req.Used, err = desk.ParseUsed(used); err != nil {
				return err
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			res, err := d.Fit(cmd.Context(), req)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(s report.Style) string { return fitted(s, res) })
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&req.Shelf, "part", "", "a part from the shelf, by name")
	cmd.Flags().StringVar(&req.On, "on", "", "when (default: now)")
	cmd.Flags().StringVar(&req.Old, "old", "", "what became of the part before: worn, broke, crash, early, lost, sold, shelf")
	cmd.Flags().StringVar(&req.New.Name, "name", "", "what to call it (default: its kind and a number)")
	cmd.Flags().BoolVar(&req.Bare, "bare", false, "a new wheel carries nothing yet")
	cmd.Flags().StringVar(&used, "used", "", "what it had done before, as 1200km,60h,25000m")
	return cmd
}

func fitted(s report.Style, res desk.FitResult) string {
	text := fmt.Sprintf("%s is on %s from %s", res.Part.Name, res.Bike.Name, s.Date(res.At))
	if res.Old != nil {
		text += fmt.Sprintf("; %s came off: %s", res.Old.Name, fate(*res.Old))
	}
	if n := len(res.Dressed); n > 0 {
		text += fmt.Sprintf("; it carries %s, new", report.Count(n, "part"))
	}
	if res.ByNext != nil {
		text += fmt.Sprintf("; it stays until %s, when %s took its place", s.Date(res.Until), res.ByNext.Name)
	}
	return text
}

func fate(p wear.Part) string {
	if p.End == nil {
		return "to the shelf"
	}
	return string(p.End.Cause)
}

func (a *app) removeCmd() *cobra.Command {
	var f desk.Fact
	var cause string
	cmd := &cobra.Command{
		Use:   "remove BIKE PART",
		Short: "Take a part off a bike",
		Long: `Takes a part off a bike and says why. A part that may be used again goes to the
shelf (--cause shelf) and keeps its wear.`,
		Example: `  pawl remove enduro chain --cause worn
  pawl remove enduro guide --cause shelf --on 2026-05-17`,
		Args: args(2, 2),
		RunE: func(cmd *cobra.Command, words []string) error {
			f.Bike, f.Part = words[0], words[1]
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			p, at, err := d.Remove(cmd.Context(), f, cause)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(s report.Style) string {
				return fmt.Sprintf("%s came off on %s: %s", p.Name, s.Date(at), fate(p))
			})
		},
	}
	cmd.Flags().StringVar(&cause, "cause", "", "worn, broke, crash, early, lost, sold or shelf")
	cmd.Flags().StringVar(&f.On, "on", "", "when (default: now)")
	return cmd
}

func (a *app) partCmd() *cobra.Command {
	return noun("part", "The parts and what they have done", a.partListCmd(), a.partShowCmd(), a.partStockCmd())
}

func (a *app) partListCmd() *cobra.Command {
	var out outputFlags
	cmd := &cobra.Command{
		Use:     "list [BIKE]",
		Short:   "List the parts on a bike, or all with those on the shelf",
		Example: "  pawl part list enduro\n  pawl part list --csv > parts.csv",
		Args:    args(0, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			list, _, err := d.PartsOf(cmd.Context(), optional(words), out.rows(report.Pages.PartRows), out.today)
			if err != nil {
				return err
			}
			return a.parts(cmd, d, list, out)
		},
	}
	out.add(cmd, true)
	return cmd
}

func (a *app) partShowCmd() *cobra.Command {
	var out outputFlags
	cmd := &cobra.Command{
		Use:     "show PART",
		Short:   "Show one part: its stays, its sums, what was said of it",
		Example: "  pawl part show chain-1",
		Args:    args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			p, _, err := d.Part(cmd.Context(), words[0], out.today)
			if err != nil {
				return err
			}
			return a.part(cmd, d, p, out)
		},
	}
	out.add(cmd, false)
	return cmd
}
