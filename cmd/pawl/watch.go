package main

import (
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
)

func (a *app) watchCmd() *cobra.Command {
	var once, unit bool
	var rescan time.Duration
	cmd := &cobra.Command{
		Use:   "watch DIR...",
		Short: "Import what lands in folders, for ever",
		Long: `Looks at folders, and all folders in them, and imports each ride file once it is
whole: what a head unit, a sync program or you put there. It goes on until it is
stopped, also where a folder vanishes and comes back. Files are left as and where
they are; what cannot be taken is noted with the reason (pawl ride list --refused)
and tried again when it changes. --once makes one pass and ends, for cron: what was
refused and noted before is not told again.
--unit prints a unit by which systemd runs the watch while you are logged in.`,
		Example: `  pawl watch ~/rides
  pawl watch --once ~/rides
  pawl watch --unit ~/rides > ~/.config/systemd/user/pawl.service`,
		Args: args(1, -1),
		RunE: func(cmd *cobra.Command, dirs []string) error {
			if slices.Contains(dirs, "") {
				return &desk.MistakeError{Msg: "a folder without a name", Tip: "pawl watch ~/rides"}
			}
			if rescan < 10*time.Second {
				return &desk.MistakeError{Msg: fmt.Sprintf("--rescan %s: too often", rescan), Tip: "--rescan 3m; events tell at once, this finds what they missed"}
			}
			if unit {
				return a.printUnit(cmd, dirs)
			}
			return a.watch(cmd, desk.WatchRequest{Dirs: dirs, Once: once, Rescan: rescan})
		},
	}
	cmd.Flags().BoolVar(&once, "once", false, "one pass, then end")
	cmd.Flags().DurationVar(&rescan, "rescan", 3*time.Minute, "how often to look at everything: network and USB drives lose events")
	cmd.Flags().BoolVar(&unit, "unit", false, "print a systemd user unit for this watch")
	exclusive(cmd, "once", "unit")
	return cmd
}

func (a *app) watch(cmd *cobra.Command, req desk.WatchRequest) error {
	req.Log = a.logger()
	req.Fresh = func() *desk.Desk {
		return desk.Open(a.bookPath(), desk.LocalZone(), cmd.CommandPath(), a.clock())
	}
	if !req.Once {
		req.Log.Info("watching", "folders", req.Dirs, "book", a.bookPath())
	}
	sum, err := desk.WatchFolders(cmd.Context(), req)
	if err != nil || !req.Once {
		return err
	}
	_, err = fmt.Fprintf(a.out, "took %s from %s, %d known already, %d not a ride, %d refused\n",
		rides(sum.Rides), report.Count(sum.Taken, "file"), sum.Known, sum.NotRides, sum.Refused)
	if err == nil && (sum.News > 0 || sum.Interrupted) {
		err = statusError(exitFailed)
	}
	return err
}

// logger writes a line a ride: for a person on a terminal, as key=value for
// logs, without the time where the journal keeps it.
func (a *app) logger() *slog.Logger {
	if _, is := a.terminal(a.err); is {
		return slog.New(&lineHandler{out: a.err})
	}
	o := &slog.HandlerOptions{}
	if a.env("JOURNAL_STREAM") != "" {
		o.ReplaceAttr = func(_ []string, at slog.Attr) slog.Attr {
			if at.Key == slog.TimeKey {
				return slog.Attr{}
			}
			return at
		}
	}
	return slog.New(slog.NewTextHandler(a.err, o))
}

// printUnit prints the systemd unit of a watch.
func (a *app) printUnit(cmd *cobra.Command, dirs []string) error {
	u := unitFacts{}
	var err error
	if u.Program, err = os.Executable(); err != nil {
		return err
	}
	if u.Book, err = filepath.Abs(a.bookPath()); err != nil {
		return err
	}
	for _, dir := range dirs {
		full, err := filepath.Abs(dir)
		if err != nil {
			return err
		}
		u.Dirs = append(u.Dirs, full)
	}
	if cmd.Flags().Changed("rescan") {
		u.Args = []string{"--rescan", cmd.Flag("rescan").Value.String()}
	}
	text, err := systemdUnit(u)
	if err != nil {
		return err
	}
	_, err = fmt.Fprint(a.out, text)
	return err
}
