package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
)

func (a *app) visitCmd() *cobra.Command {
	var note string
	var drop bool
	cmd := &cobra.Command{
		Use:   "visit BIKE [DATE]",
		Short: "Plan the day on which a bike comes, or list the days",
		Long: `Plans the day on which a bike comes to the workshop. Until then no reminder is sent
of what the visit will do, but for a stop. A visit that is missed silences nothing:
what was to be done comes back. A bike has one plan: a new day takes the place of the
old one, --drop takes it back. pawl visit list shows the days.`,
		Example: `  pawl visit enduro 2026-11-24
  pawl visit list
  pawl visit enduro --drop`,
		Args: args(1, 2),
		RunE: func(cmd *cobra.Command, words []string) error {
			if drop == (len(words) == 2) {
				return &desk.MistakeError{Msg: "name a bike and a day, or a bike and --drop", Tip: "pawl visit BIKE 2026-11-24"}
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			if drop {
				b, err := d.DropVisit(cmd.Context(), words[0])
				if err != nil {
					return err
				}
				return a.tell(cmd, d, func(report.Style) string { return "no visit of " + b.Name + " any more" })
			}
			v, err := d.AddVisit(cmd.Context(), words[0], words[1], note)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(s report.Style) string {
				return fmt.Sprintf("%s comes on %s: %s, about %d min", v.Plan.Bike, s.Date(v.Visit.At), report.Count(len(v.Plan.Findings), "job"), v.Plan.Minutes)
			})
		},
	}
	cmd.Flags().StringVar(&note, "note", "", "a note to keep with it")
	cmd.Flags().BoolVar(&drop, "drop", false, "take the plan back")
	cmd.AddCommand(a.visitListCmd())
	return cmd
}

func (a *app) visitListCmd() *cobra.Command {
	var out outputFlags
	days := 7
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the visits of the week, with minutes and parts",
		Long: `Lists the visits of the next days: jobs, minutes of known work, parts to have ready.
Visits of the last month that were missed come first.`,
		Example: "  pawl visit list\n  pawl visit list --days 28 --csv",
		Args:    args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if days < 1 || days > 366 {
				return &desk.MistakeError{Msg: fmt.Sprintf("--days %d: cannot be meant", days), Tip: "--days 7"}
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			visits, err := d.Visits(cmd.Context(), days)
			if err != nil {
				return err
			}
			lines := make([]report.VisitLine, len(visits))
			for i, v := range visits {
				lines[i] = report.VisitLine{Day: v.Visit.At, Owner: v.Owner, Plan: v.Plan, Note: v.Visit.Note, Missed: v.Missed}
			}
			style := out.style(cmd.Context(), a, d)
			switch {
			case out.json:
				return report.VisitsJSON(a.out, lines, style)
			case out.csv:
				return report.VisitsCSV(a.out, lines, style)
			}
			return report.Visits(a.out, lines, style)
		},
	}
	cmd.Flags().IntVar(&days, "days", 7, "how many days ahead")
	out.addList(cmd)
	return cmd
}
