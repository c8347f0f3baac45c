package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func (a *app) dueCmd() *cobra.Command {
	var out outputFlags
	var f dueFlags
	cmd := &cobra.Command{
		Use:   "due [BIKE...]",
		Short: "What to do, most urgent first",
		Long: `Says what to do before the next ride, most urgent first: STOP (do not ride), due,
order part. With --check the exit code tells: 3 something is due, 4 something is
a stop or a bike is held back, 0 neither; a release of a stop does not change it. A part is to be ordered where it is 20 % likely to come to its
limit within the lead time.

Of many bikes a page is shown at a time. --verdicts asks only for some verdicts:
stop and due are told fastest, because they need no forecast.

With --trip it says instead whether the bike will last a trip: of a part that is
measured how likely, of what counts yes or no, and what to do before. A trip is
days or weeks, km or mi, m or ft of climb, and hours, as far as known.

--ics writes a calendar with a day for each job; a second one, read into the same
calendar, moves the days.`,
		Example: `  pawl due
  pawl due enduro --all
  pawl due enduro --check && echo ride
  pawl due --lead 3w
  pawl due --verdicts stop,due
  pawl due enduro --trip "7 days, 250km, 9000m"
  pawl due enduro --ics enduro.ics`,
		Args: args(0, -1),
		RunE: func(cmd *cobra.Command, bikes []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			if err := f.agree(cmd); err != nil {
				return err
			}
			if cmd.Flags().Changed("trip") {
				return a.showTrip(cmd, d, bikes, f.trip, out)
			}
			return a.runDue(cmd, d, bikes, dueOutput{outputFlags: out, dueFlags: f})
		},
	}
	out.add(cmd, true)
	cmd.Flags().BoolVar(&f.all, "all", false, "what is fine too")
	cmd.Flags().StringVar(&f.lead, "lead", "", "how long a part takes to come, 21d or 3w (default: 14d)")
	cmd.Flags().StringSliceVar(&f.verdicts, "verdicts", nil, "only these, of stop, due, order and fine: stop,due")
	cmd.Flags().StringVar(&f.trip, "trip", "", "whether it will last a trip: days, distance, climb, hours")
	cmd.Flags().StringVar(&f.ics, "ics", "", "write a calendar file instead; it is written over")
	cmd.Flags().BoolVar(&f.check, "check", false, "tell by the exit code: 3 due, 4 stop")
	return cmd
}

// dueFlags are what can be asked of due.
type dueFlags struct {
	all, check      bool
	lead, trip, ics string
	verdicts        []string
}

// dueOutput is what is asked, and in which form it is to be told.
type dueOutput struct {
	outputFlags
	dueFlags
}

// agree refuses flags that contradict each other.
func (f *dueFlags) agree(cmd *cobra.Command) error {
	wrong := func(format string, words ...any) error {
		return &desk.MistakeError{Msg: fmt.Sprintf(format, words...), Tip: cmd.CommandPath() + " --help"}
	}
	given := cmd.Flags().Changed
	switch {
	case f.ics != "" && given("trip"):
		return wrong("--ics and --trip exclude each other")
	case f.ics != "" && countGiven(cmd, "json", "csv", "check") > 0:
		return wrong("--ics excludes --json, --csv and --check")
	case given("verdicts") && countGiven(cmd, "all", "trip") > 0:
		return wrong("--verdicts excludes --all and --trip")
	}
	return nil
}

// runDue asks and tells what is due.
func (a *app) runDue(cmd *cobra.Command, d *desk.Desk, bikes []string, out dueOutput) error {
	days, err := desk.ParseLead(out.lead)
	if err != nil {
		return err
	}
	req := desk.DueRequest{Bikes: bikes, Today: out.today, Lead: days}
	if req.Only, err = desk.ParseVerdicts(out.verdicts); err != nil {
		return err
	}
	if out.check && len(req.Only) > 0 && !(slices.Contains(req.Only, wear.Stop) && slices.Contains(req.Only, wear.Due)) {
		return &desk.MistakeError{Msg: "--check tells of stop and due, and --verdicts leaves one out", Tip: "--verdicts stop,due"}
	}
	out.all = out.all || slices.Contains(req.Only, wear.Fine)
	if out.ics == "" {
		req.Keep = report.Wanted(out.all, out.json || out.csv)
	}
	res, err := d.DueOf(cmd.Context(), req)
	if err != nil {
		return err
	}
	if len(res.Bikes) == 0 && res.Homeless == nil {
		return desk.ErrEmpty
	}
	if out.ics != "" {
		return a.writeCalendar(cmd, d, res, out.ics)
	}
	if err := a.showDue(cmd, d, res, out); err != nil {
		return err
	}
	return checked(out.check, res)
}

// writeCalendar writes what is due as a calendar. A file of that name that is no
// calendar of pawl is not touched.
func (a *app) writeCalendar(cmd *cobra.Command, d *desk.Desk, res desk.DueResult, path string) error {
	there, err := os.ReadFile(path)
	if err == nil && !bytes.Contains(there, []byte("\nPRODID:-//pawl//")) {
		return &desk.RefusalError{Msg: fmt.Sprintf("file %q: is there and is no calendar of pawl", path), Tip: "name another file"}
	}
	style := a.style(cmd.Context(), d)
	var text bytes.Buffer
	err = report.Calendar(&text, res.Findings, report.CalendarOptions{Name: "pawl", Now: a.now, Zone: style.Zone, Imperial: style.Imperial})
	if errors.Is(err, report.ErrNoDates) {
		return &desk.RefusalError{Msg: "nothing has a date yet", Tip: "rides make dates: pawl import"}
	}
	if err != nil {
		return err
	}
	if err := os.WriteFile(path, text.Bytes(), 0o600); err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.out, "%s written\n", oneLine(path))
	return err
}

func (a *app) showDue(cmd *cobra.Command, d *desk.Desk, res desk.DueResult, out dueOutput) error {
	only, err := desk.ParseVerdicts(out.verdicts)
	if err != nil {
		return err
	}
	list := report.DueList{
		Today: res.Today, Bikes: len(res.Bikes), Findings: res.Findings, All: out.all, Only: only,
		NoBikeDo: "pawl ride move BIKE RIDE: one teaches the rest",
	}
	for _, r := range res.Homeless {
		list.NoBike = append(list.NoBike, rideLine(r))
	}
	for _, h := range res.Held {
		list.Held = append(list.Held, report.HeldLine(h))
	}
	for _, w := range res.Watched {
		list.Watched = append(list.Watched, report.WatchLine(w))
	}
	for _, p := range res.Setups {
		list.Warnings = append(list.Warnings, fmt.Sprintf("the parking-lot check of the chain guide of %s is to be done: %s (pawl setup %q)",
			p.Bike.Name, strings.Join(p.State.Why, "; "), p.Bike.Name))
	}
	style := out.style(cmd.Context(), a, d)
	switch {
	case out.json:
		return report.DueJSON(a.out, list, style)
	case out.csv:
		return report.DueCSV(a.out, list, style)
	}
	return report.Due(a.out, list, style)
}

// checked turns the worst verdict into the exit code that --check promises.
func checked(check bool, res desk.DueResult) error {
	if !check {
		return nil
	}
	switch worst := wear.Worst(res.Findings); {
	case worst == wear.Stop || len(res.Held) > 0:
		return statusError(exitStop)
	case worst == wear.Due:
		return statusError(exitDue)
	}
	return nil
}
