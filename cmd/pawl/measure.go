package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func (a *app) measureCmd() *cobra.Command {
	var f desk.Fact
	var s wear.Sitting
	var lining []string
	var void bool
	cmd := &cobra.Command{
		Use:   "measure BIKE PART [READING...]",
		Short: "Enter what a tool said of a part",
		Long: `Enters what was read at one sitting, in one place or several: of several the mean
tells the rate, the worst is held against the limit.

A chain is measured over a length (306.4mm/24 is over 24 pitches, "12 1/16in" by a
ruler), as a percentage with its tool, or by the ends of a go/no-go gauge. Brake
lining, rotor and tyre knobs are in millimetres; a lining measured with its plate
needs the plate's thickness once. A figure below nought goes behind --.

What cannot be is refused, naming the last reading; --doubtful keeps it in the book
and out of the sums. --void takes back the reading of a day.`,
		Example: `  pawl measure enduro chain 306.4mm/24 --tool ruler --on 2026-05-01
  pawl measure enduro chain "12 1/16in" "12 3/32in" --on 2026-05-09
  pawl measure enduro chain 127.7mm/10 127.8mm/10 --tool caliper --on 2026-05-17
  pawl measure enduro chain 0.62% --tool caliper --which "the old one"
  pawl measure enduro chain --drops-in 0.5 --stays-out 0.75 --points 3
  pawl measure enduro front-pads 1.8mm 1.6mm
  pawl measure enduro rear-pads --lining 3.7mm --with-plate --plate 2.0mm
  pawl measure enduro chain --void --on 2026-05-17`,
		Args: args(2, -1),
		RunE: func(cmd *cobra.Command, words []string) error {
			f.Bike, f.Part, s.Words = words[0], words[1], words[2:]
			if len(lining) > 0 {
				s.Words, s.Of = append(s.Words, lining...), wear.Lining
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			if void {
				return a.voidReading(cmd, d, f, s)
			}
			m, err := d.Measure(cmd.Context(), f, s)
			if err != nil {
				return err
			}
			return a.tellMeasured(cmd, d, m)
		},
	}
	factFlags(cmd, &f)
	sittingFlags(cmd, &s)
	cmd.Flags().StringArrayVar(&lining, "lining", nil, "a reading that is brake lining, as 1.8mm; once for each place")
	cmd.Flags().BoolVar(&void, "void", false, "take back the reading of that day")
	exclusive(cmd, "void", "doubtful", "sure")
	cmd.SetFlagErrorFunc(negative)
	return cmd
}

func sittingFlags(cmd *cobra.Command, s *wear.Sitting) {
	flags := cmd.Flags()
	flags.StringVar(&s.Tool, "tool", "", "ruler or caliper")
	flags.StringVar(&s.Which, "which", "", "which one, of several such tools: each errs in its own way")
	flags.IntVar(&s.Pitches, "pitches", 0, "over how many pitches a length was measured")
	flags.StringVar(&s.DropsIn, "drops-in", "", "the end of a gauge that dropped in, in per cent")
	flags.StringVar(&s.StaysOut, "stays-out", "", "the end of a gauge that stayed out, in per cent")
	flags.IntVar(&s.Points, "points", 0, "at how many points the gauge touches: 2 reads roller play too, 3 does not")
	flags.BoolVar(&s.WithPlate, "with-plate", false, "the lining was measured with its plate")
	flags.StringVar(&s.Plate, "plate", "", "how thick the plate is, as 2.0mm: it is taken off, and remembered")
	flags.BoolVar(&s.Sure, "sure", false, "a chain past 1.5 % is meant")
	flags.BoolVar(&s.Doubtful, "doubtful", false, "keep it in the book, but out of the sums")
}

var signed = onUse(`^unknown shorthand flag: '[0-9.]' in (-\S+)$`)

// negative tells how to type a figure that looks like a flag.
func negative(cmd *cobra.Command, err error) error {
	if m := signed().FindStringSubmatch(err.Error()); m != nil {
		return &desk.MistakeError{
			Msg: fmt.Sprintf("%s looks like a flag", m[1]),
			Tip: "flags first, then --, then the figure: pawl measure BIKE PART --tool caliper -- " + m[1],
		}
	}
	return wrongFlag(cmd, err)
}

func (a *app) tellMeasured(cmd *cobra.Command, d *desk.Desk, m desk.Measured) error {
	for _, n := range m.Notes {
		fmt.Fprintln(a.err, "note: "+oneLine(n))
	}
	return a.tell(cmd, d, func(s report.Style) string {
		return fmt.Sprintf("%s: %s on %s", m.Part.Name, s.Reading(m.Reading), s.Date(m.Reading.At))
	})
}

func (a *app) voidReading(cmd *cobra.Command, d *desk.Desk, f desk.Fact, s wear.Sitting) error {
	m, err := d.VoidReading(cmd.Context(), f, s)
	if err != nil {
		return err
	}
	return a.tell(cmd, d, func(s report.Style) string {
		text, _, _ := strings.Cut(s.Reading(m.Reading), " – ")
		return fmt.Sprintf("%s: taken back: %s on %s", m.Part.Name, text, s.Date(m.Reading.At))
	})
}
