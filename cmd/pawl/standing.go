package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func (a *app) bikeHoldCmd() *cobra.Command {
	return a.statusCmd(&cobra.Command{
		Use: "hold BIKE", Short: "Keep a bike back: it must not go out",
		Long: `Holds a bike back: pawl due --check says so by its exit code 4. Of a bike that is hired
out a hold bears a name and a reason.`,
		Example: "  pawl bike hold enduro --reason \"waits for a chain\" --by Kim",
	}, wear.Held)
}

func (a *app) bikeReleaseCmd() *cobra.Command {
	return a.statusCmd(&cobra.Command{
		Use: "release BIKE", Short: "Let a bike go out again",
		Long: `Releases a bike that was held. A release bears a name. It never changes a verdict:
what is due stays due, and a STOP stays a STOP, also for pawl due --check.

A bike that a STOP keeps in is let out by a release with a name, a reason and an end,
and until then only: it lifts the stops of that moment. Another one, a crash or an
unsafe look that comes later holds the bike again. Whoever signs it answers for it.`,
		Example: `  pawl bike release enduro --by Kim
  pawl bike release enduro --by Kim --until 2026-11-30 --reason "a scratch"`,
	}, wear.InService)
}

func (a *app) bikeRetireCmd() *cobra.Command {
	return a.statusCmd(&cobra.Command{
		Use: "retire BIKE", Short: "Take a bike out of service for good",
		Long:    "Retires a bike: nothing of it is due any more. Its rides, parts and history stay.",
		Example: "  pawl bike retire old-bike --reason sold",
	}, wear.Retired)
}

// statusCmd gives a command the flags and the doing of a change of standing.
func (a *app) statusCmd(cmd *cobra.Command, is wear.Standing) *cobra.Command {
	req := desk.StatusRequest{Is: is}
	cmd.Args = args(1, 1)
	cmd.RunE = func(cmd *cobra.Command, words []string) error {
		req.Bike = words[0]
		if is == wear.InService && req.By == "" {
			return &desk.MistakeError{Msg: "a release bears a name", Tip: "pawl bike release BIKE --by NAME"}
		}
		d, err := a.desk(cmd)
		if err != nil {
			return err
		}
		s, b, err := d.SetStatus(cmd.Context(), req)
		if err != nil {
			return err
		}
		return a.tell(cmd, d, func(style report.Style) string {
			text := fmt.Sprintf("%s is %s from %s", b.Name, s.Is, style.Date(s.At))
			if s.Until != 0 {
				text += " until " + style.Date(s.Until)
			}
			return text
		})
	}
	cmd.Flags().StringVar(&req.On, "on", "", "when (default: now)")
	cmd.Flags().StringVar(&req.By, "by", "", "who says so")
	cmd.Flags().StringVar(&req.Reason, "reason", "", "why")
	if is == wear.InService {
		cmd.Flags().StringVar(&req.Until, "until", "", "the last day of the release")
	}
	return cmd
}

func (a *app) bikeNoteCmd() *cobra.Command {
	var f desk.Fact
	happened := map[wear.Happening]*bool{}
	cmd := &cobra.Command{
		Use:   "note BIKE",
		Short: "Enter that something happened to a bike",
		Long: `Enters a crash (nothing rides until the frame, and what else it hit, was looked at), a dropped chain
(evidence against ring, guide and clutch), a strike against wheel or guide, or a
maker's recall (the bike stops until that part was looked at).`,
		Example: `  pawl bike note enduro --drop --note "on the rock garden"
  pawl bike note enduro --strike --part rear-wheel
  pawl bike note enduro --crash --by Kim`,
		Args: args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			f.Bike = words[0]
			var what wear.Happening
			for _, h := range wear.Happenings {
				if *happened[h] {
					what = h
				}
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			i, b, err := d.NoteIncident(cmd.Context(), f, what)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(s report.Style) string {
				stays := ""
				if i.What == wear.Crashed || i.What == wear.Recalled {
					stays = " nothing rides until that was looked at;"
				}
				return fmt.Sprintf("%s: %s on %s;%s pawl due %q says what that asks for", b.Name, i.What, s.Date(i.At), stays, b.Name)
			})
		},
	}
	factFlags(cmd, &f)
	cmd.Flags().StringVar(&f.By, "by", "", "who says so")
	cmd.Flags().StringVar(&f.Part, "part", "", "the part that it happened to (default: the whole bike)")
	var names []string
	for _, h := range wear.Happenings {
		happened[h] = cmd.Flags().Bool(string(h), false, "a "+string(h))
		names = append(names, string(h))
	}
	exclusive(cmd, names...)
	return cmd
}

func (a *app) swapCmd() *cobra.Command {
	var on string
	cmd := &cobra.Command{
		Use:   "swap BIKE WHEEL NAME",
		Short: "Swap a wheel for one from the shelf",
		Long: `Puts a wheel from the shelf on a bike, with all that it carries (tyre, rotor, cassette,
sealant, hub); the wheel that was on goes to the shelf with what it carries. To enter
a second wheel: pawl fit BIKE rear-wheel --old shelf, which fits new parts on it too.`,
		Example: "  pawl swap enduro rear-wheel rear-wheel-1 --on 2026-11-01",
		Args:    args(3, 3),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			res, err := d.Swap(cmd.Context(), words[0], words[1], words[2], on)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(s report.Style) string { return fitted(s, res) })
		},
	}
	cmd.Flags().StringVar(&on, "on", "", "when (default: now)")
	return cmd
}
