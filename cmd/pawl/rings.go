package main

import (
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

// ringFlags are what the book may not know of a bike's drive, and of the rings
// on offer.
type ringFlags struct {
	drive                   driveFlags
	ring, speeds            int
	wheel                   float64
	cogs, line              string
	offer, listed           []int
	offerMount, offerOffset string
	gears                   bool
}

func (a *app) ringsCmd() *cobra.Command {
	var f ringFlags
	var out outputFlags
	cmd := &cobra.Command{
		Use:   "rings BIKE",
		Short: "Which narrow-wide rings fit, and what each changes",
		Long: `Names the narrow-wide rings that fit a bike: an even number of teeth inside the
guide's range, clear of frame and bolts, listed for the chain's speeds. For each:
the change of every gear, speed in the easiest gear, chain pitches to add or take,
how far upper guide and idler move, and the chain line. A chain or cassette that
would ruin the new ring is named first.

What pawl cannot know it asks for. Flags answer for this once; pawl setup BIKE keeps
what is of frame, crank and guide. Lengths are in mm.`,
		Example: `  pawl rings enduro
  pawl rings enduro --rear-spacing 148 --chainstay 435 --guide-range 28-36
  pawl rings enduro --offer 28,30,34 --speeds-listed 12 --gears
  pawl rings enduro --csv`,
		Args: args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			p, err := d.Rings(cmd.Context(), words[0], out.today, func(q *wear.RingQuery) error { return f.set(cmd, q) })
			if err != nil {
				return err
			}
			page := ringsPage(p)
			page.Gears = f.gears
			switch {
			case out.json:
				return report.RingsJSON(a.out, page)
			case out.csv:
				return report.RingsCSV(a.out, page)
			}
			return report.Rings(a.out, page, a.style(cmd.Context(), d))
		},
	}
	out.addTable(cmd)
	out.addDay(cmd)
	f.add(cmd)
	return cmd
}

func (f *ringFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.IntVar(&f.ring, "ring", 0, "teeth of the ring that is on")
	flags.StringVar(&f.cogs, "cogs", "", "every cog of the cassette, as 10-12-14-16-18-21-24-28-32-36-42-51")
	flags.Float64Var(&f.wheel, "wheel-mm", 0, "rolling circumference of the rear wheel in mm")
	flags.IntVar(&f.speeds, "speeds", 0, "how many cogs the chain is for")
	flags.StringVar(&f.line, "chain-line", "", "from the middle of the frame to the middle of the ring's teeth")
	flags.IntSliceVar(&f.offer, "offer", nil, "teeth of the rings on offer (default: all that could be bought)")
	flags.IntSliceVar(&f.listed, "speeds-listed", nil, "speeds that the rings on offer are listed for, as 11,12")
	flags.StringVar(&f.offerMount, "offer-mount", "", "their mount: direct, or bolts as 104/4")
	flags.StringVar(&f.offerOffset, "offer-offset", "", "their offset in mm, further in positive")
	flags.BoolVar(&f.gears, "gears", false, "show every gear of every ring")
	f.drive.add(cmd)
}

// set answers what the flags answer.
func (f *ringFlags) set(cmd *cobra.Command, q *wear.RingQuery) (err error) {
	given := cmd.Flags().Changed
	if given("cogs") {
		if q.Cogs, err = desk.ParseCogs(f.cogs); err != nil {
			return err
		}
		q.Speeds = len(q.Cogs)
	}
	for _, c := range []struct {
		flag        string
		n           int
		to          *int
		least, most int
	}{{"ring", f.ring, &q.Ring, 20, 60}, {"speeds", f.speeds, &q.Speeds, 1, 14}} {
		if !given(c.flag) {
			continue
		}
		if c.n < c.least || c.n > c.most {
			return outside(c.flag, c.n, c.least, c.most)
		}
		*c.to = c.n
	}
	if given("wheel-mm") {
		if !(f.wheel >= 1000 && f.wheel <= 2600) {
			return outside("wheel-mm", f.wheel, 1000, 2600)
		}
		q.Wheel = f.wheel / 1000
	}
	if given("chain-line") {
		if q.Line, err = positiveMM("chain-line", f.line); err != nil {
			return err
		}
	}
	if err := f.drive.set(cmd, &q.Drive); err != nil {
		return err
	}
	return f.offers(cmd, q)
}

func outside(flag string, v any, least, most int) error {
	return &desk.MistakeError{Msg: fmt.Sprintf("--%s %v: cannot be meant", flag, v), Tip: fmt.Sprintf("from %d to %d is usual", least, most)}
}

// offers are the rings that the flags tell of.
func (f *ringFlags) offers(cmd *cobra.Command, q *wear.RingQuery) error {
	o := wear.RingOffer{Mount: f.offerMount, Speeds: f.listed}
	for _, n := range f.listed {
		if n < 1 || n > 14 {
			return outside("speeds-listed", n, 1, 14)
		}
	}
	if cmd.Flags().Changed("offer-offset") {
		v, err := desk.ParseMM("offer-offset", f.offerOffset)
		if err != nil {
			return err
		}
		o.Offset = &v
	}
	offered := f.offer
	if len(offered) == 0 && slices.ContainsFunc([]string{"speeds-listed", "offer-mount", "offer-offset"}, cmd.Flags().Changed) {
		for _, s := range q.Sold() {
			offered = append(offered, s.Teeth)
		}
	}
	for _, teeth := range offered {
		o.Teeth = teeth
		q.Offers = append(q.Offers, o)
	}
	return nil
}

// answers are the flags that answer a question, by what it is about.
var answers = map[string]string{
	"ring": "--ring 32", "cassette": "--cogs 10-12-14-…", "wheel": "--wheel-mm 2290", "guide range": "--guide-range 28-36",
	"ring mount": "--ring-mount 104/4 or direct", "chainstay": "--chainstay 435", "chain line": "--chain-line 52",
	"rear spacing": "--rear-spacing 148", "frame clearance": "--frame-max 34", "speeds": "--speeds-listed 12",
}

func ringsPage(p desk.RingsPage) report.RingsPage {
	return report.RingsPage{Bike: p.Bike.Name, Query: p.Query, Advice: p.Advice, Do: answers, Cautions: p.Cautions}
}
