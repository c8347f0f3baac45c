package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func (a *app) cogsCmd() *cobra.Command {
	var out outputFlags
	cmd := &cobra.Command{
		Use:   "cogs BIKE",
		Short: "Turns and wear per cog",
		Long: `Shows on which cogs of the cassette the turns and the work of a bike went, how worn
each cog is, and whether the size of the ring suits the rider.

The cogs come from recorded gear changes, else from speed and cadence with the teeth of
ring and cassette and the circumference of the wheel: pawl bike change BIKE --wheel auto
finds that from the rides.`,
		Example: "  pawl cogs enduro\n  pawl cogs enduro --csv",
		Args:    args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			c, err := d.Cogs(cmd.Context(), words[0], out.today)
			if err != nil {
				return err
			}
			style := a.style(cmd.Context(), d)
			switch {
			case out.json:
				return report.CogsJSON(a.out, c, style)
			case out.csv:
				return report.CogsCSV(a.out, c)
			}
			return report.Cogs(a.out, c, style)
		},
	}
	out.addTable(cmd)
	out.addDay(cmd)
	return cmd
}

// wheelAuto is the word that lets the rides tell the circumference.
const wheelAuto = "auto"

// changeWheel changes the circumference of a bike's wheel: to what its rides
// tell, or to a figure in mm; from a day on, where one is given.
func (a *app) changeWheel(cmd *cobra.Command, d *desk.Desk, bike string, word, from string) error {
	if err := alone(cmd, "wheel", "from", "book", "units"); err != nil {
		return err
	}
	change := desk.WheelChange{From: from}
	if word != wheelAuto {
		mm, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(word, "mm")), 64)
		if err != nil || !(mm >= 1000 && mm <= 2600) {
			return &desk.MistakeError{
				Msg: fmt.Sprintf("--wheel %q: not a circumference from 1000 to 2600 mm", word),
				Tip: "--wheel auto finds it from the rides; --wheel 2300mm gives it",
			}
		}
		change.Metres = mm / 1000
	}
	res, err := d.ChangeWheel(cmd.Context(), bike, change)
	if err != nil {
		return err
	}
	return a.tell(cmd, d, func(s report.Style) string { return wheelText(res, word, s) })
}

// wheelText says what became of the wheel.
func wheelText(res desk.WheelChanged, word string, s report.Style) string {
	mm, was := 1000*res.Is, 1000*res.Was
	text := fmt.Sprintf("%s: %.0f mm round the wheel", res.Bike.Name, mm)
	if word == wheelAuto {
		text = fmt.Sprintf("%s: its rides fit the cogs best at %.0f mm round the wheel", res.Bike.Name, mm)
	}
	switch {
	case mm == was:
		return text + ", as it is"
	case res.From != wear.Ever:
		text += " from " + res.From.Time().In(s.Zone).Format("2 Jan 2006") + " on"
	}
	if was > 0 {
		text += fmt.Sprintf(" (%+.1f %%; it was %.0f)", 100*(mm/was-1), was)
	}
	return text
}

// alone refuses other flags beside one.
func alone(cmd *cobra.Command, flag string, but ...string) (err error) {
	cmd.Flags().Visit(func(f *pflag.Flag) {
		if f.Name != flag && !slices.Contains(but, f.Name) {
			err = &desk.MistakeError{Msg: fmt.Sprintf("--%s and --%s exclude each other", flag, f.Name), Tip: "change one after the other"}
		}
	})
	return err
}
