package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
)

// outputFlags say in which form, how much of a list, and for which day a look
// command answers.
type outputFlags struct {
	json, csv bool
	pages     report.Pages
	today     string
}

// add is for a page (JSON), or for a list that may be long (CSV and pages too).
func (o *outputFlags) add(cmd *cobra.Command, list bool) {
	if list {
		o.addList(cmd)
	} else {
		cmd.Flags().BoolVar(&o.json, "json", false, "as one JSON object")
	}
	o.addDay(cmd)
}

// addDay is for what depends on the day.
func (o *outputFlags) addDay(cmd *cobra.Command) {
	cmd.Flags().StringVar(&o.today, "today", "", "as if it were this day: facts dated after it are left out")
}

// addList is for a list that may be long.
func (o *outputFlags) addList(cmd *cobra.Command) {
	o.addTable(cmd)
	o.addPages(cmd)
}

// addTable is for a list that is never long.
func (o *outputFlags) addTable(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&o.json, "json", false, "as one JSON object")
	cmd.Flags().BoolVar(&o.csv, "csv", false, "as comma-separated values")
	exclusive(cmd, "json", "csv")
}

// addPages lets a list be read page by page.
func (o *outputFlags) addPages(cmd *cobra.Command) {
	o.addRows(cmd)
	cmd.Flags().IntVar(&o.pages.Page, "page", 1, "which page of a long list")
}

// addRows is addPages for what is told once only.
func (o *outputFlags) addRows(cmd *cobra.Command) {
	cmd.Flags().IntVar(&o.pages.Rows, "rows", 0, "how many rows at a time (default: 20, of parts 60, of rides 100)")
	beforehand(cmd, func(cmd *cobra.Command) error {
		for _, name := range []string{"rows", "page"} {
			n, err := cmd.Flags().GetInt(name)
			switch {
			case err != nil || !cmd.Flags().Changed(name): // not a flag of this command, or not given
			case o.json || o.csv:
				return &desk.MistakeError{Msg: "--" + name + ": JSON and CSV have the whole list", Tip: "leave --" + name + " out"}
			case n < 1 || n > mostRows:
				return &desk.MistakeError{Msg: fmt.Sprintf("--%s %d: cannot be meant", name, n), Tip: "--rows 50 --page 2"}
			}
		}
		return nil
	})
}

// mostRows is more than any list has.
const mostRows = 1_000_000_000

// style is how the results of a book are to look, page by page.
func (o *outputFlags) style(ctx context.Context, a *app, d *desk.Desk) report.Style {
	s := a.style(ctx, d)
	s.Pages = o.pages
	return s
}

// rows are those of which a list shows the figures: all but on a terminal.
func (o *outputFlags) rows(of func(report.Pages) (from, to int)) (r desk.Rows) {
	if !o.json && !o.csv {
		r.From, r.To = of(o.pages)
	}
	return r
}

// beforehand adds a check of the flags to those that a command has.
func beforehand(cmd *cobra.Command, check func(*cobra.Command) error) {
	before := cmd.PreRunE
	cmd.PreRunE = func(cmd *cobra.Command, words []string) error {
		if before != nil {
			if err := before(cmd, words); err != nil {
				return err
			}
		}
		return check(cmd)
	}
}

// exclusive refuses more than one of the flags at once.
func exclusive(cmd *cobra.Command, flags ...string) {
	beforehand(cmd, func(cmd *cobra.Command) error {
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
	})
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
