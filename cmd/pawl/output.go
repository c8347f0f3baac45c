package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
)

// outputFlags say in which form and for which day a look command answers.
type outputFlags struct {
	json, csv bool
	today     string
}

func (o *outputFlags) add(cmd *cobra.Command, list bool) {
	cmd.Flags().BoolVar(&o.json, "json", false, "as one JSON object")
	if list {
		cmd.Flags().BoolVar(&o.csv, "csv", false, "as comma-separated values")
		exclusive(cmd, "json", "csv")
	}
	cmd.Flags().StringVar(&o.today, "today", "", "as if it were this day: facts dated after it are left out")
}

// exclusive refuses more than one of the flags at once.
func exclusive(cmd *cobra.Command, flags ...string) {
	cmd.PreRunE = func(cmd *cobra.Command, _ []string) error {
		var given []string
		for _, f := range flags {
			if cmd.Flags().Changed(f) {
				given = append(given, "--"+f)
			}
		}
		if len(given) > 1 {
			return &desk.MistakeError{Msg: strings.Join(given, " and ") + " exclude each other", Tip: cmd.CommandPath() + " --help"}
		}
		return nil
	}
}

// optional is the first word, or "".
func optional(words []string) string {
	if len(words) == 0 {
		return ""
	}
	return words[0]
}

// tell prints one line that says what was entered.
func (a *app) tell(cmd *cobra.Command, d *desk.Desk, text func(report.Style) string) error {
	_, err := fmt.Fprintln(a.out, oneLine(text(a.style(cmd.Context(), d))))
	for _, warning := range d.Warnings {
		fmt.Fprintln(a.err, "note: "+oneLine(warning))
	}
	return err
}
