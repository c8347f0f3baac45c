package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

// fleetFlags say which bikes of a fleet are asked about.
type fleetFlags struct {
	depots, tags, kinds, verdicts []string
	all                           bool
}

func (f *fleetFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringSliceVar(&f.depots, "depot", nil, "bikes of this depot only")
	cmd.Flags().StringSliceVar(&f.tags, "tag", nil, "bikes with this tag only")
	cmd.Flags().StringSliceVar(&f.kinds, "kind", nil, "jobs of this kind of part only")
	cmd.Flags().StringSliceVar(&f.verdicts, "verdict", nil, "bikes with this verdict only: stop, due, order or fine; a held bike is a stop")
	cmd.Flags().BoolVar(&f.all, "all", false, "bikes that are not hired out too")
}

func (f *fleetFlags) filter() (desk.FleetFilter, error) {
	verdicts, err := desk.ParseVerdicts(f.verdicts)
	return desk.FleetFilter{Depots: f.depots, Tags: f.tags, Kinds: f.kinds, Verdicts: verdicts, Everyone: f.all}, err
}

// words says what the list was narrowed to.
func (f *fleetFlags) words() string {
	var said []string
	for _, part := range []struct {
		before string
		list   []string
	}{{"depot ", f.depots}, {"tag ", f.tags}, {"", f.kinds}, {"", f.verdicts}} {
		if len(part.list) > 0 {
			said = append(said, part.before+strings.Join(part.list, " or "))
		}
	}
	return strings.Join(said, ", ")
}

func (a *app) fleetCmd() *cobra.Command {
	var out outputFlags
	var flags fleetFlags
	var by, hour string
	cmd := &cobra.Command{
		Use:   "fleet",
		Short: "Which bikes must not go out, what is due, what it costs",
		Long: `Says how the hired bikes stand, depot by depot: how many may go out and how many
stay in, what is due within a week and within four, on how much of the last four
weeks' days they could go out, and what 1,000 km and a hire day cost. Then the
bikes, the most urgent first.

A bike stays in where somebody holds it, or where a stop does. A release with a name,
a reason and an end lets it out until then; the stop stays (pawl bike release --help).`,
		Example: `  pawl fleet
  pawl fleet --depot Lakeside --verdict stop,due
  pawl fleet --kind chain --sort minutes --rows 50
  pawl fleet --csv`,
		Args: args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			filter, err := flags.filter()
			if err != nil {
				return err
			}
			if filter.Hour, err = desk.ParseMoney(hour); err != nil {
				return err
			}
			res, err := d.Fleet(cmd.Context(), filter, wear.FleetOrder(by), out.today)
			if err != nil {
				return err
			}
			page := report.Fleet{Today: res.Today, Since: res.Since, Hour: filter.Hour, Depots: res.Depots, All: res.All, Bikes: res.Bikes, Asked: flags.words()}
			style := out.style(cmd.Context(), a, d)
			switch {
			case out.json:
				return report.FleetJSON(a.out, page, style)
			case out.csv:
				return report.FleetCSV(a.out, page, style)
			}
			return report.FleetList(a.out, page, style)
		},
	}
	out.add(cmd, true)
	flags.add(cmd)
	cmd.Flags().StringVar(&by, "sort", string(wear.ByUrgency), "by "+orderWords())
	cmd.Flags().StringVar(&hour, "hour", "", "what an hour at the stand costs, as 45.00 (default: costs are of parts only)")
	cmd.AddCommand(a.fleetReadCmd(), a.fleetPlanCmd())
	return cmd
}

// orderWords are the words of --sort.
func orderWords() string {
	list := make([]string, len(wear.FleetOrders))
	for i, o := range wear.FleetOrders {
		list[i] = string(o)
	}
	return strings.Join(list[:len(list)-1], ", ") + " or " + list[len(list)-1]
}

func (a *app) fleetPlanCmd() *cobra.Command {
	var out outputFlags
	var flags fleetFlags
	cmd := &cobra.Command{
		Use:   "plan",
		Short: "The week's work: minutes, parts, one visit a bike",
		Long: `Says what is to be done within a week, depot by depot: hours, the jobs that take
most of them, parts to have ready; then the bikes, most urgent first. What will fall
due on such a bike within four weeks is offered along, so that it comes in once.`,
		Example: `  pawl fleet plan
  pawl fleet plan --depot Lakeside --csv`,
		Args: args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			filter, err := flags.filter()
			if err != nil {
				return err
			}
			res, err := d.FleetPlan(cmd.Context(), filter, out.today)
			if err != nil {
				return err
			}
			style := out.style(cmd.Context(), a, d)
			switch {
			case out.json:
				return report.PlanJSON(a.out, report.Plan(res), style)
			case out.csv:
				return report.PlanCSV(a.out, report.Plan(res), style)
			}
			return report.WeekPlan(a.out, report.Plan(res), style)
		},
	}
	out.add(cmd, true)
	flags.add(cmd)
	return cmd
}

// turnRoundFlags are those of pawl look --turn-round.
type turnRoundFlags struct {
	on                     bool
	paper, depot           string
	watch, replace, unsafe []string
	marks, force           bool
}

func (t *turnRoundFlags) add(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&t.on, "turn-round", false, "the check between two hires: brakes, tyres, axles, bars, crank, guide, marks")
	cmd.Flags().StringArrayVar(&t.watch, "watch", nil, "of it: what is to be watched, as \"tyres: cut\"")
	cmd.Flags().StringArrayVar(&t.replace, "replace", nil, "of it: what is to be replaced")
	cmd.Flags().StringArrayVar(&t.unsafe, "unsafe", nil, "of it: what keeps the bike in")
	cmd.Flags().BoolVar(&t.marks, "witness-marks", false, "of it: all witness marks are intact, which counts as the torque check of bolts that were set before")
	cmd.Flags().StringVar(&t.paper, "paper", "", "write a page to tick off instead (FILE.html)")
	cmd.Flags().StringVar(&t.depot, "depot", "", "of the paper: bikes of this depot only")
	cmd.Flags().BoolVar(&t.force, "force", false, "write over a file of that name")
}

// names of the flags that only a turn-round has.
var turnRoundOnly = []string{"watch", "replace", "unsafe", "witness-marks", "paper", "depot", "force"}

// turnRound enters the check of bikes, or writes the paper for it.
func (a *app) turnRound(cmd *cobra.Command, bikes []string, f desk.Fact, t turnRoundFlags) error {
	d, err := a.desk(cmd)
	if err != nil {
		return err
	}
	if t.paper != "" {
		if countGiven(cmd, "watch", "replace", "unsafe", "witness-marks", "by", "note") > 0 {
			return &desk.MistakeError{Msg: "--paper writes a page and enters nothing", Tip: "pawl look --turn-round --paper FILE.html"}
		}
		return a.turnRoundPaper(cmd, d, bikes, f, t)
	}
	if len(bikes) == 0 {
		return &desk.MistakeError{Msg: "pawl look --turn-round: which bike?", Tip: "pawl look BIKE... --turn-round --by NAME"}
	}
	if t.depot != "" || t.force {
		return &desk.MistakeError{Msg: "--depot and --force are of --paper", Tip: "pawl look BIKE... --turn-round --by NAME"}
	}
	done, err := d.TurnRound(cmd.Context(), desk.TurnRoundRequest{
		Bikes: bikes, On: f.On, By: f.By, Note: f.Note, Marks: t.marks,
		Faults: map[wear.Word][]string{wear.Watch: t.watch, wear.Replace: t.replace, wear.Unsafe: t.unsafe},
	})
	if err != nil {
		return err
	}
	list := make([]report.TurnedRound, len(done))
	for i, r := range done {
		list[i] = report.TurnedRound{Bike: r.Bike.Name, Round: r.Round, Hold: r.Hold, Marked: r.Marked, Bare: r.Bare}
		for _, fault := range r.Faults {
			text := fmt.Sprintf("%s %s", fault.Part, fault.Fault.Word)
			if fault.Fault.Note != "" {
				text += ": " + fault.Fault.Note
			}
			list[i].Faults = append(list[i].Faults, text)
		}
	}
	return report.TurnedRounds(a.out, list, a.style(cmd.Context(), d))
}

func (a *app) turnRoundPaper(cmd *cobra.Command, d *desk.Desk, bikes []string, f desk.Fact, t turnRoundFlags) error {
	sheet, err := d.TurnRoundPaper(cmd.Context(), bikes, t.depot, f.On)
	if err != nil {
		return err
	}
	page := report.TurnRoundPaper{Today: sheet.Today, Depot: t.depot}
	for _, b := range sheet.Bikes {
		page.Lines = append(page.Lines, report.TurnRoundLine(b))
	}
	var text strings.Builder
	if err := report.TurnRoundSheet(&text, page, a.style(cmd.Context(), d)); err != nil {
		return err
	}
	return a.deliver([]byte(text.String()), t.paper, t.force)
}
