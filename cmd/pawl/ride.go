package main

import (
	"fmt"
	"iter"
	"strings"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
)

func (a *app) rideCmd() *cobra.Command {
	return noun("ride", "The rides in the book", a.rideListCmd(), a.rideShowCmd(), a.rideAddCmd(), a.rideMarkCmd(), a.rideMoveCmd(), a.rideVoidCmd())
}

func (a *app) rideListCmd() *cobra.Command {
	var out outputFlags
	var refused bool
	cmd := &cobra.Command{
		Use:   "list [BIKE]",
		Short: "List rides, of one bike or of all, or refused files",
		Long: `Lists rides in order of start. The column "by" says how the bike of each was told:
told (named by you), sensors (bolted to it), name (the device's own name for it),
match (pawl bike match), only (there was no other), outing (the bike of the same
outing in another file). --refused lists the files that were not taken instead.`,
		Example: "  pawl ride list enduro\n  pawl ride list --csv > rides.csv\n  pawl ride list --refused",
		Args:    args(0, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			style := out.style(cmd.Context(), a, d)
			if refused && len(words) > 0 {
				return &desk.MistakeError{Msg: "a refused file is of no bike", Tip: "pawl ride list --refused"}
			}
			if refused {
				return a.listRefused(cmd, d, out)
			}
			return d.Rides(cmd.Context(), optional(words), func(rides iter.Seq2[desk.RideState, error]) error {
				switch lines := rideLines(rides); {
				case out.json:
					return report.RidesJSON(a.out, lines, nil, style)
				case out.csv:
					return report.RidesCSV(a.out, lines, style)
				default:
					return report.Rides(a.out, lines, style)
				}
			})
		},
	}
	cmd.Flags().BoolVar(&refused, "refused", false, "the files that were not taken, and why")
	out.addList(cmd)
	return cmd
}

func (a *app) listRefused(cmd *cobra.Command, d *desk.Desk, out outputFlags) error {
	list, err := d.Refused(cmd.Context())
	if err != nil {
		return err
	}
	lines := make([]report.RefusedLine, len(list))
	for i, r := range list {
		lines[i] = report.RefusedLine{Path: r.Path, Format: r.Format, Since: r.At, Why: r.Why, Hint: r.Hint, Gone: r.Gone}
	}
	style := out.style(cmd.Context(), a, d)
	switch {
	case out.json:
		return report.RefusedJSON(a.out, lines, style)
	case out.csv:
		return report.RefusedCSV(a.out, lines, style)
	}
	return report.RefusedFiles(a.out, lines, style)
}

func (a *app) rideShowCmd() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "show RIDE",
		Short:   "Show one ride: what was recorded, estimated or left out",
		Example: "  pawl ride show 3fa4c09d",
		Args:    args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			r, err := d.Ride(cmd.Context(), words[0])
			if err != nil {
				return err
			}
			if asJSON {
				return report.RideJSON(a.out, rideLine(r), a.style(cmd.Context(), d))
			}
			return report.Ride(a.out, rideLine(r), a.style(cmd.Context(), d))
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as one JSON object")
	return cmd
}

// rideLines are rides as the report shows them.
func rideLines(rides iter.Seq2[desk.RideState, error]) iter.Seq2[report.RideLine, error] {
	return func(yield func(report.RideLine, error) bool) {
		for r, err := range rides {
			if !yield(rideLine(r), err) {
				return
			}
		}
	}
}

func rideLine(r desk.RideState) report.RideLine {
	return report.RideLine{Ride: r.Ride, Bike: r.Bike, File: r.File}
}

func (a *app) rideMoveCmd() *cobra.Command {
	var homeless, told bool
	cmd := &cobra.Command{
		Use:   "move [BIKE] [RIDE...]",
		Short: "Give rides to a bike",
		Long: `Gives rides to a bike: those named, or all that have none yet. Their estimates are
made anew from the original files with that bike's masses. Every such ride teaches
which sensors are bolted to the bike; --told then gives each ride without a bike to
the one that its sensors, its device's name for it or a match tell.`,
		Example: "  pawl ride move enduro 3fa4c09d\n  pawl ride move --told\n  pawl ride move enduro --without-bike",
		Args:    args(0, -1),
		RunE: func(cmd *cobra.Command, words []string) error {
			if told == (len(words) > 0) || !told && homeless == (len(words) > 1) {
				return &desk.MistakeError{
					Msg: "name a bike and its rides, or say --without-bike, or only --told",
					Tip: "pawl ride move BIKE 3fa4c09d",
				}
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			if told {
				return a.moveTold(cmd, d)
			}
			res, err := d.MoveRides(cmd.Context(), words[1:], words[0])
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(report.Style) string {
				return areNow(res.Moved) + " of " + res.Bike.Name + offerTold(res.Explained)
			})
		},
	}
	cmd.Flags().BoolVar(&homeless, "without-bike", false, "all rides that have no bike yet")
	cmd.Flags().BoolVar(&told, "told", false, "rides without a bike, each to the one that is told now")
	exclusive(cmd, "without-bike", "told")
	return cmd
}

func (a *app) moveTold(cmd *cobra.Command, d *desk.Desk) error {
	moved, left, err := d.MoveExplained(cmd.Context())
	if err != nil {
		return err
	}
	return a.tell(cmd, d, func(report.Style) string {
		var said []string
		for _, m := range moved {
			said = append(said, areNow(m.Rides)+" of "+m.Bike)
		}
		if len(said) == 0 {
			said = []string{"no ride can be told yet"}
		}
		if left > 0 {
			said = append(said, rides(left)+" without a bike left: pawl ride move BIKE RIDE teaches")
		}
		return strings.Join(said, "; ")
	})
}

func areNow(n int) string {
	if n == 1 {
		return "1 ride is now"
	}
	return fmt.Sprintf("%d rides are now", n)
}
