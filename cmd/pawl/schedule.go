package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
)

func (a *app) scheduleCmd() *cobra.Command {
	var out outputFlags
	cmd := &cobra.Command{
		Use:   "schedule [KIND...]",
		Short: "When each job is due, and whence the figure comes",
		Long: `Lists every job of every kind of part: when it is due, whence the figure comes, and
what overrides of your own put in its place.`,
		Example: "  pawl schedule\n  pawl schedule chain guide-bolts",
		Args:    args(0, -1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			list, names, err := d.Schedule(cmd.Context(), words)
			if err != nil {
				return err
			}
			lines := report.JobLines(list, names)
			switch {
			case out.json:
				return report.ScheduleJSON(a.out, lines, nil)
			case out.csv:
				return report.ScheduleCSV(a.out, lines)
			}
			return report.Schedule(a.out, lines, out.style(cmd.Context(), a, d))
		},
	}
	out.addList(cmd)
	cmd.AddCommand(a.scheduleReadCmd())
	return cmd
}

func (a *app) scheduleReadCmd() *cobra.Command {
	var on string
	cmd := &cobra.Command{
		Use:   "read FILE.toml",
		Short: "Take figures of your own from a file",
		Long: `Takes from a TOML file what differs from the shipped schedule: for all parts of a
kind, or for a model, a bike or one part. The narrower one wins, then the later. A
file that is wrong anywhere is named by line and column, and nothing of it is taken.

  [[job]]
  kind = "guide-bolts"
  job = "check"
  bike = "enduro"
  then = { hours = 15 }
  source = "maker's manual, page 12"`,
		Example: "  pawl schedule read my-figures.toml\n  pawl schedule read my-figures.toml --on 2026-05-17",
		Args:    args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			text, err := os.ReadFile(words[0])
			if err != nil {
				return &desk.MistakeError{Msg: fmt.Sprintf("file %q: cannot be read", words[0]), Tip: "pawl schedule read FILE.toml"}
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			n, err := d.ReadSchedule(cmd.Context(), text, words[0], on)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(report.Style) string {
				return report.Count(n, "override") + " in force; pawl schedule shows them"
			})
		},
	}
	cmd.Flags().StringVar(&on, "on", "", "in force from this day on (default: always)")
	return cmd
}
