package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

// choiceFlags let a user choose rides by bike and days.
func choiceFlags(cmd *cobra.Command, c *desk.RideChoice) {
	cmd.Flags().StringVar(&c.Bike, "bike", "", "all rides of a bike, with --from and --to")
	cmd.Flags().StringVar(&c.From, "from", "", "the first day")
	cmd.Flags().StringVar(&c.To, "to", "", "the last day")
}

func (a *app) rideMarkCmd() *cobra.Command {
	var c desk.RideChoice
	var m desk.RideMarks
	var ground string
	var uplift, noUplift, findUplift bool
	cmd := &cobra.Command{
		Use:   "mark [RIDE...] [GROUND]",
		Short: "Say what rides were on, had in them, or are no twin of",
		Long: `Marks rides with the ground that was ridden: dry, dusty, gritty, wet, mud, unmarked
(indoors: trainer or rollers). --uplift says that long steady climbs were lifts or
shuttles, --no-uplift that none was, --find-uplift lets the sums find them again.
--not-twin says that a ride taken for another one's twin was an outing of its own.`,
		Example: `  pawl ride mark 3fa4c09d 77b2e0f1 wet
  pawl ride mark --bike enduro --from 2026-11-01 --to 2026-11-30 --ground mud
  pawl ride mark 3fa4c09d --no-uplift
  pawl ride mark c4770a1e --not-twin`,
		Args: args(0, -1),
		RunE: func(cmd *cobra.Command, words []string) error {
			if n := len(words); ground == "" && n > 0 {
				if _, err := wear.ParseGround(words[n-1]); err == nil {
					ground, words = words[n-1], words[:n-1]
				}
			}
			if ground != "" {
				g, err := wear.ParseGround(ground)
				if err != nil {
					return &desk.MistakeError{Msg: fmt.Sprintf("ground %q: not a ground", ground), Tip: grounds}
				}
				m.Ground = &g
			}
			for u, said := range map[wear.Uplift]bool{wear.AllUplift: uplift, wear.NoUplift: noUplift, wear.FindUplift: findUplift} {
				if said {
					m.Uplift = &u
				}
			}
			if n := len(words); n > 1 && ground == "" && m.Uplift == nil && !m.Apart {
				return &desk.MistakeError{Msg: fmt.Sprintf("ground %q: not a ground", words[n-1]), Tip: grounds}
			}
			if m == (desk.RideMarks{}) {
				return &desk.MistakeError{Msg: "nothing to mark the rides with", Tip: grounds + "; or --uplift, --no-uplift, --not-twin"}
			}
			c.Rides = words
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			n, err := d.MarkRides(cmd.Context(), c, m)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(report.Style) string { return rides(n) + " marked" })
		},
	}
	choiceFlags(cmd, &c)
	cmd.Flags().StringVar(&ground, "ground", "", "what was ridden in")
	cmd.Flags().BoolVar(&uplift, "uplift", false, "long steady climbs were lifts or shuttles")
	cmd.Flags().BoolVar(&noUplift, "no-uplift", false, "there was no lift or shuttle")
	cmd.Flags().BoolVar(&findUplift, "find-uplift", false, "let the sums find lifts again")
	cmd.Flags().BoolVar(&m.Apart, "not-twin", false, "an outing of its own, which counts")
	exclusive(cmd, "uplift", "no-uplift", "find-uplift")
	return cmd
}

const grounds = "dry, dusty, gritty, wet, mud or unmarked; indoors trainer or rollers"

// rides is "1 ride" or "12 rides".
func rides(n int) string {
	if n == 1 {
		return "1 ride"
	}
	return fmt.Sprintf("%d rides", n)
}

func (a *app) rideVoidCmd() *cobra.Command {
	var c desk.RideChoice
	var restore bool
	cmd := &cobra.Command{
		Use:   "void [RIDE...]",
		Short: "Take rides back, so that they count nowhere",
		Long: `Takes rides back, named by id or chosen by bike and days: they count nowhere, and
the book remembers them. --restore lets them count again.`,
		Example: `  pawl ride void 3fa4c09d
  pawl ride void 3fa4c09d --restore`,
		Args: args(0, -1),
		RunE: func(cmd *cobra.Command, words []string) error {
			c.Rides = words
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			n, err := d.VoidRides(cmd.Context(), c, restore)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(report.Style) string {
				if restore {
					return rides(n) + " counted again"
				}
				return rides(n) + " taken back"
			})
		},
	}
	choiceFlags(cmd, &c)
	cmd.Flags().BoolVar(&restore, "restore", false, "let rides that were taken back count again")
	return cmd
}

func (a *app) recountCmd() *cobra.Command {
	var all, dry bool
	var out outputFlags
	cmd := &cobra.Command{
		Use:   "recount",
		Short: "Make the loads of rides anew that older rules made",
		Long: `Makes the load of every ride anew, from its original file, that an older version of
the sums made (--all: of every ride), and shows what that changed.`,
		Example: "  pawl recount --dry-run\n  pawl recount",
		Args:    args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			res, err := d.Recount(cmd.Context(), all, dry)
			if err != nil {
				return err
			}
			list := report.Recount{Looked: res.Looked, Gone: res.Gone, DryRun: dry}
			for _, c := range res.Changes {
				list.Changes = append(list.Changes, report.RecountLine(c))
			}
			return report.RecountSummary(a.out, list, out.style(cmd.Context(), a, d))
		},
	}
	cmd.Flags().BoolVar(&all, "all", false, "every ride, whatever version made it")
	cmd.Flags().BoolVar(&dry, "dry-run", false, "only say what would change")
	out.addRows(cmd)
	return cmd
}
