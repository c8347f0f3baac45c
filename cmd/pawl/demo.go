package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
)

func (a *app) demoCmd() *cobra.Command {
	var dir string
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "A made-up trail centre in a throwaway book, then what is due",
		Long: `Makes the ride files of a made-up trail centre for one season, imports them into a
throwaway book, enters what its workshop did, and shows what is due and why. The
book and the files stay where the last line says, to play with.`,
		Example: "  pawl demo\n  pawl demo --dir DIR",
		Args:    args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			step, done := a.progress()
			res, err := desk.Demo(cmd.Context(), dir, step)
			done()
			if err != nil {
				return err
			}
			return a.showDemo(cmd, res)
		},
	}
	cmd.Flags().StringVar(&dir, "dir", "", "an empty folder to make it in (default: a new temporary one)")
	return cmd
}

func (a *app) showDemo(cmd *cobra.Command, res desk.DemoResult) error {
	fmt.Fprintf(a.out, "%s: %d bikes, %d rides from FIT and GPX files, %d entries of the workshop\n\n",
		res.Name, res.Bikes, res.Rides, res.Acts)
	a.prompt("due")
	if err := a.showDue(cmd, res.Desk, res.Due, dueOutput{}); err != nil {
		return err
	}
	fmt.Fprintln(a.out)
	a.prompt(fmt.Sprintf("why %s %s %s", res.Why.Explanation.Finding.Bike, res.Why.Explanation.Finding.Kind, res.Why.Explanation.Finding.Job))
	if err := a.showWhy(cmd, res.Desk, res.Why, whyOutput{rides: 5}); err != nil {
		return err
	}
	day := a.style(cmd.Context(), res.Desk).Date(res.Due.Today)
	fmt.Fprintf(a.out, "\nThis is a throwaway book as of %s. Play with it:\n  pawl --book %s due --today %s\nRide files: %s\n",
		day, res.Book, res.Day, res.Files)
	return nil
}

// prompt shows the command whose output follows.
func (a *app) prompt(command string) { fmt.Fprintf(a.out, "$ pawl %s\n\n", command) }
