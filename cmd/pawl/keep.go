package main

import (
	"cmp"
	"fmt"
	"runtime/debug"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func (a *app) historyCmd() *cobra.Command {
	var n int
	var out outputFlags
	cmd := &cobra.Command{
		Use:   "history",
		Short: "What was entered, newest first",
		Long: `Lists what was entered, newest first, and what undo has taken back since. A page is
shown at a time; --entries says how many are read in all.`,
		Example: "  pawl history --rows 50\n  pawl history --entries 1000 --csv > history.csv",
		Args:    args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if n < 1 && cmd.Flags().Changed("entries") {
				return &desk.MistakeError{Msg: fmt.Sprintf("--entries %d: cannot be meant", n), Tip: "--entries 50"}
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			list, err := d.History(cmd.Context(), n)
			if err != nil {
				return err
			}
			style := out.style(cmd.Context(), a, d)
			style.Pages.Rows = cmp.Or(style.Pages.Rows, n)
			switch {
			case out.json:
				return report.HistoryJSON(a.out, historyLines(list), style)
			case out.csv:
				return report.HistoryCSV(a.out, historyLines(list), style)
			}
			return report.History(a.out, historyLines(list), style)
		},
	}
	cmd.Flags().IntVar(&n, "entries", 0, "only the latest (default: all)")
	out.addList(cmd)
	return cmd
}

func historyLines(list []desk.Entry) []report.HistoryLine {
	var lines []report.HistoryLine
	for _, e := range list {
		lines = append(lines, report.HistoryLine{At: e.At, Verb: e.Verb, Target: e.Target, Undone: e.Undone != 0})
	}
	return lines
}

func (a *app) auditCmd() *cobra.Command {
	var repair bool
	cmd := &cobra.Command{
		Use:   "audit",
		Short: "Rebuild every sum from the facts and compare",
		Long: `Reads the whole book, rebuilds everything that is derived from the facts, and
compares; checks the pages of the file and the originals too. It changes nothing.

With --repair what is derived is built anew first: sums, names, what is kept of each
part. No fact changes. Where a fact itself is damaged only a backup helps.`,
		Example: "  pawl audit\n  pawl audit --repair",
		Args:    args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			check := d.Audit
			if repair {
				check = d.Repair
			}
			r, err := check(cmd.Context())
			if err != nil {
				return err
			}
			return a.showAudit(r)
		},
	}
	cmd.Flags().BoolVar(&repair, "repair", false, "build what is derived anew from the facts")
	return cmd
}

func (a *app) showAudit(r desk.AuditReport) error {
	for _, p := range r.Problems {
		fmt.Fprintln(a.out, oneLine(p))
	}
	if r.More > 0 {
		fmt.Fprintf(a.out, "and %d more\n", r.More)
	}
	fmt.Fprintf(a.out, "%s, %s, %s, %s, %s, %s\n",
		report.Count(r.Bikes, "bike"), report.Count(r.Parts, "part"), report.Count(r.Rides, "ride"),
		report.Count(r.Files, "file"), report.Count(r.Originals, "original"), report.Entries(r.Entries))
	if !r.Clean() {
		return statusError(exitFailed)
	}
	_, err := fmt.Fprintln(a.out, "every sum agrees with the facts")
	return err
}

func (a *app) versionCmd() *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "The version of this program and of the books it writes",
		Example: "  pawl version",
		Args:    args(0, 0),
		RunE: func(*cobra.Command, []string) error {
			version := "unknown"
			if info, ok := debug.ReadBuildInfo(); ok {
				version = info.Main.Version
				for _, s := range info.Settings {
					if s.Key == "vcs.revision" && version == "(devel)" {
						version = s.Value
					}
				}
			}
			_, err := fmt.Fprintf(a.out, "pawl %s, book format %d, schedule of %d kinds\n",
				version, desk.BookFormat(), len(wear.Default().Kinds()))
			return err
		},
	}
}
