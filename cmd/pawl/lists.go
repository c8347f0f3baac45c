package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

// readFunc enters a list.
type readFunc func(*desk.Desk, context.Context, desk.ListRequest) (desk.ListResult, error)

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
		Long: `Enters bikes from a table (CSV) with a row of column names, as pawl fleet read does
(pawl fleet read --help names them), but for bikes that are not hired out unless a
column fleet says so. The same file again changes only what differs.`,
		Example: "  pawl bike read bikes.csv --dry-run\n  pawl bike read bikes.csv",
	}, (*desk.Desk).ReadBikes)
}

func (a *app) readCmd(cmd *cobra.Command, read readFunc) *cobra.Command {
	var dry bool
	cmd.Args = args(1, 1)
	cmd.RunE = func(cmd *cobra.Command, words []string) error {
		req, err := a.listRequest(words[0])
		if err != nil {
			return err
		}
		d, err := a.desk(cmd)
		if err != nil {
			return err
		}
		req.DryRun = dry
		res, err := read(d, cmd.Context(), req)
		if err != nil {
			return err
		}
		return a.tellList(res)
	}
	cmd.Flags().BoolVar(&dry, "dry-run", false, "only say what would change")
	return cmd
}

// listRequest reads the file of a list, "-" from the standard input; build sheets
// that it names lie beside it.
func (a *app) listRequest(path string) (desk.ListRequest, error) {
	req, folder := desk.ListRequest{File: path}, filepath.Dir(path)
	var err error
	if path == "-" {
		req.File, folder = "standard input", "."
		req.Raw, err = io.ReadAll(a.in)
	} else {
		req.Raw, err = os.ReadFile(path)
	}
	req.Sheet = func(name string) (wear.Sheet, error) {
		if filepath.Base(name) != name {
			return wear.Sheet{}, fmt.Errorf("%q is elsewhere: a build sheet lies beside the table", name)
		}
		text, err := os.ReadFile(filepath.Join(folder, name))
		if err != nil {
			return wear.Sheet{}, fmt.Errorf("%q: no such file beside the table", name)
		}
		sheet, err := wear.ParseSheet(text)
		if err != nil {
			return sheet, fmt.Errorf("%q: %w", name, err)
		}
		return sheet, nil
	}
	return req, err
}

// fewLines is how many lines of what is new, or was left aside, a reading shows;
// of a dry run it shows all, and of what changes too.
const fewLines = 20

func (a *app) tellList(res desk.ListResult) error {
	tell := func(out io.Writer, lines []string, before, of string) {
		for i, line := range lines {
			if i == fewLines && !res.DryRun {
				fmt.Fprintf(out, "%sand %s more\n", before, report.Count(len(lines)-i, of))
				return
			}
			fmt.Fprintln(out, before+oneLine(line))
		}
	}
	tell(a.out, res.New, "", "new one")
	for _, line := range res.Says {
		fmt.Fprintln(a.out, oneLine(line))
	}
	for _, line := range res.Wrong {
		fmt.Fprintln(a.err, oneLine(line))
	}
	tell(a.err, res.Notes, "note: ", "note")
	if n := len(res.Unread); n > 0 {
		fmt.Fprintf(a.err, "note: %s not read: %q\n", report.Count(n, "column"), res.Unread)
	}
	would := ""
	if res.DryRun {
		would = "would be: "
	}
	_, err := fmt.Fprintf(a.out, "%s%s new, %s changed, %s as they were, %s refused\n",
		would, wear.Thousands(float64(res.Added)), wear.Thousands(float64(res.Changed)), wear.Thousands(float64(res.Same)), report.Count(len(res.Wrong), "row"))
	if err == nil && len(res.Wrong) > 0 {
		err = statusError(exitFailed)
	}
	return err
}
