package main

import (
	"fmt"
	"io"
	"time"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func (a *app) importCmd() *cobra.Command {
	var req desk.ImportRequest
	var ground string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "import PATH...",
		Short: "Read ride files (FIT, GPX, TCX), tables and folders of them",
		Long: `Reads ride files and folders of them, plain or gzipped, and adds each ride to the
bike. The format is told by the content, never by the name. Files are left as and
where they are. A file that is in the book already is known and counts once.

Without --bike, the bike is told by the sensors bolted to it, by the device's own
name for it, by pawl bike match, or because there is no other; a ride that fits none
or two is kept without one until pawl ride move gives it. The same outing in two
files counts once: the one that recorded more.

A table (CSV) has a row a ride, or a row for what the meters of a bike showed. Its
first row names the columns: date, bike (or --bike), then distance_km, climb_m and
hours, or odometer_km and hour_meter; yes in a column new says that the odometer is a
new one. A wrong row is named by line and stops nothing else.`,
		Example: `  pawl import ~/rides
  pawl import -b enduro --ground mud 2026-10-31.fit
  pawl import track-without-times.gpx --on 2026-05-17T10:00 --hours 2.5`,
		Args: args(1, -1),
		RunE: func(cmd *cobra.Command, paths []string) error {
			req.Paths, req.Retry = paths, true
			if ground != "" {
				g, err := outdoorGround(ground)
				if err != nil {
					return err
				}
				req.Ground = &g
			}
			if (req.On == "") != (req.Hours == 0) || !(req.Hours >= 0 && req.Hours <= 72) {
				return &desk.MistakeError{Msg: "--on and --hours belong together", Tip: "--on 2026-05-17T10:00 --hours 2.5"}
			}
			return a.doImport(cmd, req, asJSON)
		},
	}
	cmd.Flags().StringVarP(&req.Bike, "bike", "b", "", "the bike that was ridden")
	cmd.Flags().StringVar(&ground, "ground", "", "what was ridden in: dry, dusty, gritty, wet or mud")
	cmd.Flags().BoolVar(&req.Salvage, "salvage", false, "take what is whole in damaged files")
	cmd.Flags().BoolVar(&req.DryRun, "dry-run", false, "only say what would happen")
	cmd.Flags().StringVar(&req.On, "on", "", "when a GPX without times was ridden (with --hours)")
	cmd.Flags().Float64Var(&req.Hours, "hours", 0, "how long a GPX without times took (with --on)")
	cmd.Flags().BoolVar(&asJSON, "json", false, "as one JSON object")
	return cmd
}

// outdoorGround is a ground that a user can mark a ride with.
func outdoorGround(text string) (wear.Ground, error) {
	g, err := wear.ParseGround(text)
	if err != nil || g.Indoor() {
		return g, &desk.MistakeError{
			Msg: fmt.Sprintf("ground %q: not a ground", text),
			Tip: "dry, dusty, gritty, wet, mud or unmarked",
		}
	}
	return g, nil
}

func (a *app) doImport(cmd *cobra.Command, req desk.ImportRequest, asJSON bool) error {
	d, err := a.desk(cmd)
	if err != nil {
		return err
	}
	bar, done := a.progress()
	req.Progress = bar
	res, err := d.Import(cmd.Context(), req)
	done()
	if err != nil && len(res.Files) == 0 {
		return err
	}
	list := report.Import{NoBike: res.Homeless, DryRun: req.DryRun, Warnings: importWarnings(res)}
	for _, f := range res.Files {
		list.Files = append(list.Files, importedFile(f))
	}
	show := func() error { return report.ImportSummary(a.out, list, a.logStyle()) }
	if asJSON {
		show = func() error { return report.ImportJSON(a.out, list) }
	}
	// What went in before a failure is told too.
	if showErr := show(); err == nil {
		err = showErr
	}
	if err == nil && res.Trouble() {
		err = statusError(exitFailed)
	}
	return err
}

func importedFile(f desk.FileOutcome) report.ImportedFile {
	out := report.ImportedFile{
		File: f.File, Outcome: f.Outcome, Why: f.Why, Hint: f.Hint, Notes: f.Notes, Wrong: f.Wrong,
	}
	for _, id := range f.Rides {
		out.Rides = append(out.Rides, id.String())
	}
	return out
}

func importWarnings(res desk.ImportResult) []string {
	warnings := res.Warnings
	if res.Interrupted {
		warnings = append(warnings, fmt.Sprintf(
			"interrupted with %s to go; what was taken is in the book: run the same command again for the rest", report.Count(res.Left, "file")))
	}
	if res.Homeless > 0 {
		warnings = append(warnings, "give them their bike: pawl ride move BIKE RIDE (one teaches the rest), or import again with -b BIKE")
	}
	return warnings
}

// progress shows how far an import is, on a terminal only.
func (a *app) progress() (step func(done, all int), end func()) {
	columns, is := a.terminal(a.err)
	if !is || columns < 40 {
		return nil, func() {}
	}
	var bar *progressbar.ProgressBar
	step = func(done, all int) {
		if bar == nil {
			bar = newBar(a.err, all)
		}
		if all != bar.GetMax() {
			bar.ChangeMax(all) // a bundle was opened
		}
		_ = bar.Set(done) // a bar that cannot be drawn stops no import
	}
	return step, func() {
		if bar != nil {
			_ = bar.Finish()
		}
	}
}

func newBar(w io.Writer, all int) *progressbar.ProgressBar {
	return progressbar.NewOptions(all,
		progressbar.OptionSetWriter(w),
		progressbar.OptionSetDescription("reading rides"),
		progressbar.OptionSetWidth(24),
		progressbar.OptionShowCount(),
		progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionSetPredictTime(true),
		progressbar.OptionClearOnFinish(),
	)
}
