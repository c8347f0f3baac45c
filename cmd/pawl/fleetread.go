package main

import (
	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
)

func (a *app) fleetReadCmd() *cobra.Command {
	return a.readCmd(&cobra.Command{
		Use:   "read FILE",
		Short: "Enter hire bikes from a table, or change what differs",
		Long: `Enters hire bikes from a table (CSV; - is the standard input) with a row of column
names, in any order: bike (its name, by which it is told), sheet (trail, hardtail,
rigid, e-trail, or a TOML file beside the table), depot, tags, price (per hire day),
odometer_km (what it had done when it came) and odometer_on (the day on which it
showed that; else now), owner, rider_kg, bike_kg, wheel_mm, motor, fleet, note. A
column named by a kind of part gives that part's model (chain, front_tyre,
rear_pads; ring as "32 MODEL"); ring_teeth and the like give teeth alone.

An empty cell says nothing; a - takes away depot, tags, price, owner or note. The
same file again changes only what differs. A model that differs corrects the part
that came with the bike; one that was fitted since stays, with a note. A wrong row is
named by line and column and stops nothing else. What pawl bike list --csv writes can
be read. One pawl undo takes all of it back.`,
		Example: "  pawl fleet read fleet.csv --dry-run\n  pawl fleet read fleet.csv",
	}, (*desk.Desk).ReadFleet)
}
