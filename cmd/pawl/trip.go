package main

import (
	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

// showTrip answers whether the bikes will last a trip.
func (a *app) showTrip(cmd *cobra.Command, d *desk.Desk, bikes []string, trip string, out outputFlags) error {
	for _, other := range []string{"check", "csv", "lead"} {
		if cmd.Flags().Changed(other) {
			return &desk.MistakeError{Msg: "--trip and --" + other + " exclude each other", Tip: cmd.CommandPath() + " --help"}
		}
	}
	all, err := cmd.Flags().GetBool("all")
	if err != nil {
		return err
	}
	res, err := d.WillItLast(cmd.Context(), bikes, trip, out.today)
	if err != nil {
		return err
	}
	if len(res.Bikes) == 0 {
		return desk.ErrEmpty
	}
	page := report.TripPage{Today: res.Today, Trip: res.Trip, All: all}
	for _, b := range res.Bikes {
		page.Bikes = append(page.Bikes, report.TripBike{Bike: b.Bike.Name, Retired: b.Is == wear.Retired, Lines: b.Lines})
		if b.Is == wear.Held {
			page.Warnings = append(page.Warnings, b.Bike.Name+" is held back; pawl due says why")
		}
	}
	style := a.style(cmd.Context(), d)
	if out.json {
		return report.TripJSON(a.out, page, style)
	}
	return report.Trip(a.out, page, style)
}
