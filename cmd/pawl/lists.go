package main

import (
	"context"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
)

// readFunc enters a list.
type readFunc func(d *desk.Desk, ctx context.Context, raw []byte, file string, dry bool) (desk.ListResult, error)

func (a *app) personReadCmd() *cobra.Command {
	return a.readCmd(&cobra.Command{
		Use:   "read FILE",
		Short: "Enter people from a table, or change what differs",
		Long: `Enters people from a table (CSV) with a row of column names: name, email, units,
consent_on, consent_how, bikes, note. A person is told by e-mail, else by name. An
empty cell says nothing; a wrong row is named by line and column and stops nothing
else. The same file again changes only what differs. What pawl person list --csv
writes can be read.`,
		Example: "  pawl person read people.csv --dry-run\n  pawl person read people.csv",
	}, (*desk.Desk).ReadPeople)
}

func (a *app) bikeReadCmd() *cobra.Command {
	return a.readCmd(&cobra.Command{
		Use:   "read FILE",
		Short: "Enter bikes from a table, or change what differs",
		Long: `Enters bikes from a table (CSV) with a row of column names: name, sheet, owner,
rider_kg, bike_kg, wheel_mm, motor, fleet, note. A bike is told by its name. An empty
cell says nothing; a wrong row is named by line and column and stops nothing else.
The same file again changes only what differs.`,
		Example: "  pawl bike read bikes.csv --dry-run\n  pawl bike read bikes.csv",
	}, (*desk.Desk).ReadBikes)
}

func (a *app) readCmd(cmd *cobra.Command, read readFunc) *cobra.Command {
	var dry bool
	cmd.Args = args(1, 1)
	cmd.RunE = func(cmd *cobra.Command, words []string) error {
		raw, err := os.ReadFile(words[0])
		if err != nil {
			return err
		}
		d, err := a.desk(cmd)
		if err != nil {
			return err
		}
		res, err := read(d, cmd.Context(), raw, words[0], dry)
		if err != nil {
			return err
		}
		return a.tellList(res)
	}
	cmd.Flags().BoolVar(&dry, "dry-run", false, "only say what would change")
	return cmd
}

func (a *app) tellList(res desk.ListResult) error {
	for _, line := range res.Says {
		fmt.Fprintln(a.out, oneLine(line))
	}
	for _, line := range res.Wrong {
		fmt.Fprintln(a.err, oneLine(line))
	}
	for _, column := range res.Unread {
		fmt.Fprintf(a.err, "note: column %q is not read\n", column)
	}
	would := ""
	if res.DryRun {
		would = "would be: "
	}
	_, err := fmt.Fprintf(a.out, "%s%d new, %d changed, %d as they were, %s refused\n",
		would, res.Added, res.Changed, res.Same, report.Count(len(res.Wrong), "row"))
	if err == nil && len(res.Wrong) > 0 {
		err = statusError(exitFailed)
	}
	return err
}
