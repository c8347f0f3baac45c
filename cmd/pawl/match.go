package main

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func (a *app) bikeMatchCmd() *cobra.Command {
	var m wear.Match
	var out outputFlags
	var indoor, outdoor bool
	var on, drop string
	cmd := &cobra.Command{
		Use:   "match [BIKE]",
		Short: "Say by what the rides of a bike are told",
		Long: `Says by what the rides of a bike are told where its sensors or the device's own name
for it do not: the folder of the file, a pattern of its name, the recording device,
the device's profile, whether it was indoors. All that is given must hold; of
several matches the narrowest wins. --sensor says whose a sensor is from a day on,
where it moved from one bike to another. Without a flag, the matches are listed
with their numbers; --drop takes one back.`,
		Example: `  pawl bike match enduro --folder ~/rides/enduro
  pawl bike match old-bike --indoor
  pawl bike match "hire 7" --sensor 4711 --on 2026-04-01
  pawl bike match`,
		Args: args(0, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			if indoor || outdoor {
				m.Indoor = &indoor
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			for _, f := range []string{"folder", "file", "device", "profile", "sensor"} {
				if cmd.Flags().Changed(f) && strings.TrimSpace(cmd.Flag(f).Value.String()) == "" {
					return &desk.MistakeError{Msg: "--" + f + ": says nothing", Tip: cmd.UseLine()}
				}
			}
			switch {
			case drop != "":
				return a.dropMatch(cmd, d, drop)
			case m == (wear.Match{}):
				return a.listMatches(cmd, d, optional(words), out)
			case len(words) == 0:
				return &desk.MistakeError{Msg: "no bike named", Tip: "pawl bike match BIKE --folder DIR"}
			}
			return a.addMatch(cmd, d, words[0], m, on)
		},
	}
	cmd.Flags().StringVar(&m.Folder, "folder", "", "the file lies in this folder or below")
	cmd.Flags().StringVar(&m.File, "file", "", "pattern of the file's name, as '*-enduro.fit'")
	cmd.Flags().StringVar(&m.Device, "device", "", "serial number or name of the recording device")
	cmd.Flags().StringVar(&m.Profile, "profile", "", "the device's own name for the bike or sport profile")
	cmd.Flags().StringVar(&m.Sensor, "sensor", "", "number of a sensor, as pawl ride show has it")
	cmd.Flags().BoolVar(&indoor, "indoor", false, "ridden indoors")
	cmd.Flags().BoolVar(&outdoor, "outdoor", false, "ridden outdoors")
	cmd.Flags().StringVar(&on, "on", "", "for rides from this day on (default: always)")
	cmd.Flags().StringVar(&drop, "drop", "", "take back the match of this number")
	out.addList(cmd)
	exclusive(cmd, "indoor", "outdoor")
	return cmd
}

func (a *app) addMatch(cmd *cobra.Command, d *desk.Desk, bike string, m wear.Match, on string) error {
	b, explains, err := d.AddMatch(cmd.Context(), bike, m, on)
	if err != nil {
		return err
	}
	return a.tell(cmd, d, func(report.Style) string {
		return fmt.Sprintf("rides are of %s where so: %s%s", b.Name, m, offerTold(explains))
	})
}

// offerTold offers to move the rides without a bike that are told now.
func offerTold(explains int) string {
	if explains == 0 {
		return ""
	}
	return fmt.Sprintf("; %s without a bike can be told now: pawl ride move --told", rides(explains))
}

func (a *app) dropMatch(cmd *cobra.Command, d *desk.Desk, number string) error {
	id, err := strconv.ParseUint(number, 10, 64)
	if err != nil {
		return &desk.MistakeError{Msg: fmt.Sprintf("match %q: not a number", number), Tip: "pawl bike match lists them with their numbers"}
	}
	if err := d.DropMatch(cmd.Context(), id); err != nil {
		return err
	}
	return a.tell(cmd, d, func(report.Style) string {
		return fmt.Sprintf("match %d is taken back; rides that are in stay where they are", id)
	})
}

func (a *app) listMatches(cmd *cobra.Command, d *desk.Desk, bike string, out outputFlags) error {
	list, err := d.Matches(cmd.Context(), bike)
	if err != nil {
		return err
	}
	lines := make([]report.MatchLine, len(list))
	for i, m := range list {
		lines[i] = report.MatchLine{ID: m.ID, Bike: m.Bike, Says: m.Match.String(), From: m.From}
	}
	style := out.style(cmd.Context(), a, d)
	switch {
	case out.json:
		return report.MatchesJSON(a.out, lines, style)
	case out.csv:
		return report.MatchesCSV(a.out, lines, style)
	}
	return report.Matches(a.out, lines, style)
}
