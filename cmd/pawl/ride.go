package main

import (
	"fmt"
	"iter"
	"math"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func (a *app) rideCmd() *cobra.Command {
	return noun("ride", "The rides in the book", a.rideListCmd(), a.rideShowCmd(), a.rideAddCmd(), a.rideMarkCmd(), a.rideMoveCmd(), a.rideVoidCmd())
}

func (a *app) rideListCmd() *cobra.Command {
	var asJSON, asCSV bool
	cmd := &cobra.Command{
		Use:     "list [BIKE]",
		Short:   "List rides, of one bike or of all",
		Example: "  pawl ride list enduro\n  pawl ride list --csv > rides.csv",
		Args:    args(0, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			style := a.style(cmd.Context(), d)
			return d.Rides(cmd.Context(), optional(words), func(rides iter.Seq2[desk.RideState, error]) error {
				switch lines := rideLines(rides); {
				case asJSON:
					return report.RidesJSON(a.out, lines, nil, style)
				case asCSV:
					return report.RidesCSV(a.out, lines, style)
				default:
					return report.Rides(a.out, lines, style)
				}
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as one JSON object")
	cmd.Flags().BoolVar(&asCSV, "csv", false, "as comma-separated values")
	exclusive(cmd, "json", "csv")
	return cmd
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

func (a *app) rideAddCmd() *cobra.Command {
	req := desk.RideRequest{Km: math.NaN(), Climb: math.NaN(), Hours: math.NaN()}
	var ground string
	cmd := &cobra.Command{
		Use:     "add BIKE",
		Short:   "Enter a ride that no device recorded",
		Long:    "Enters a ride by hand. What is not given is estimated from what is, and said to be.",
		Example: "  pawl ride add enduro --on 2026-05-17 --km 42 --climb 900 --hours 3.1",
		Args:    args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			req.Bike = words[0]
			if ground != "" {
				g, err := outdoorGround(ground)
				if err != nil {
					return err
				}
				req.Ground = g
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			r, b, err := d.AddRide(cmd.Context(), req)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(s report.Style) string {
				return fmt.Sprintf("ride %s of %s on %s: %s", r.ID, b.Name, s.Date(r.Start), s.Distance(r.Total().SI(wear.Distance)))
			})
		},
	}
	cmd.Flags().StringVar(&req.On, "on", "", "when (default: now)")
	cmd.Flags().Float64Var(&req.Km, "km", math.NaN(), "distance in km")
	cmd.Flags().Float64Var(&req.Climb, "climb", math.NaN(), "climb in m")
	cmd.Flags().Float64Var(&req.Hours, "hours", math.NaN(), "moving time in hours")
	cmd.Flags().StringVar(&ground, "ground", "", "what was ridden in: dry, dusty, gritty, wet or mud")
	cmd.Flags().StringVar(&req.Title, "title", "", "what to call it")
	return cmd
}

func (a *app) rideMoveCmd() *cobra.Command {
	var homeless bool
	cmd := &cobra.Command{
		Use:   "move BIKE RIDE...",
		Short: "Give rides to a bike",
		Long: `Gives rides to a bike: those named, or all that have none yet. Their estimates are
made anew from the original files with that bike's masses.`,
		Example: "  pawl ride move enduro 3fa4c09d\n  pawl ride move enduro --without-bike",
		Args:    args(1, -1),
		RunE: func(cmd *cobra.Command, words []string) error {
			if homeless == (len(words) > 1) {
				return &desk.MistakeError{Msg: "name rides, or say --without-bike, but not both", Tip: "pawl ride move BIKE 3fa4c09d"}
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			n, b, err := d.MoveRides(cmd.Context(), words[1:], words[0])
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(report.Style) string {
				if n == 1 {
					return "1 ride is now of " + b.Name
				}
				return fmt.Sprintf("%d rides are now of %s", n, b.Name)
			})
		},
	}
	cmd.Flags().BoolVar(&homeless, "without-bike", false, "all rides that have no bike yet")
	return cmd
}
