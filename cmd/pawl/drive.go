package main

import (
	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/wear"
)

// driveFlags are what frame, crank and guide give a choice of rings.
type driveFlags struct {
	texts map[string]*string // by flag
	least struct{ frame, pitches int }
}

// driveLengths are the flags that are lengths in mm, and what they are.
var driveLengths = []struct {
	flag, usage string
	to          func(*wear.Drive) *float64
}{
	{"rear-spacing", "between the dropouts: 135, 142, 148, 157", func(d *wear.Drive) *float64 { return &d.Spacing }},
	{"chainstay", "from the bottom bracket to the rear axle, as 435", func(d *wear.Drive) *float64 { return &d.Chainstay }},
	{"maker-line", "the chain line that the maker gives", func(d *wear.Drive) *float64 { return &d.MakerLine }},
	{"cog-spacing", "from cog to cog, as 3.65 (default: usual for so many)", func(d *wear.Drive) *float64 { return &d.CogSpacing }},
	{"cassette-line", "chain line of the cassette's middle (default: usual)", func(d *wear.Drive) *float64 { return &d.CassetteLine }},
}

func (f *driveFlags) add(cmd *cobra.Command) {
	f.texts = map[string]*string{}
	for _, l := range driveLengths {
		f.texts[l.flag] = cmd.Flags().String(l.flag, "", l.usage)
	}
	f.texts["ring-mount"] = cmd.Flags().String("ring-mount", "", "how the ring sits on the crank: direct, or bolts as 104/4")
	f.texts["ring-offset"] = cmd.Flags().String("ring-offset", "", "by how many mm the ring lies further in than its mount")
	f.texts["guide-range"] = cmd.Flags().String("guide-range", "", "the rings that the guide takes, as 28-36")
	cmd.Flags().IntVar(&f.least.frame, "frame-max", 0, "the largest ring that the frame's maker allows")
	cmd.Flags().IntVar(&f.least.pitches, "chain-pitches", 0, "how many pitches the chain has")
}

// set puts the flags that were given into the figures of the drive.
func (f *driveFlags) set(cmd *cobra.Command, d *wear.Drive) (err error) {
	for _, l := range driveLengths {
		if cmd.Flags().Changed(l.flag) {
			if *l.to(d), err = positiveMM(l.flag, *f.texts[l.flag]); err != nil {
				return err
			}
		}
	}
	if cmd.Flags().Changed("ring-offset") {
		v, err := desk.ParseMM("ring-offset", *f.texts["ring-offset"])
		if err != nil {
			return err
		}
		d.Offset = &v
	}
	if cmd.Flags().Changed("guide-range") {
		if d.GuideLeast, d.GuideMost, err = desk.ParseTeethRange(*f.texts["guide-range"]); err != nil {
			return err
		}
	}
	if cmd.Flags().Changed("ring-mount") {
		d.RingMount = *f.texts["ring-mount"]
	}
	return f.counts(cmd, d)
}

func (f *driveFlags) counts(cmd *cobra.Command, d *wear.Drive) error {
	for _, c := range []struct {
		flag string
		n    int
		to   *int
	}{{"frame-max", f.least.frame, &d.FrameMost}, {"chain-pitches", f.least.pitches, &d.Pitches}} {
		if !cmd.Flags().Changed(c.flag) {
			continue
		}
		if c.n <= 0 {
			return noNought(c.flag)
		}
		*c.to = c.n
	}
	return nil
}

// positiveMM is a length in mm that is not nought, which would mean not given.
func positiveMM(flag, text string) (float64, error) {
	v, err := desk.ParseMM(flag, text)
	if err == nil && v == 0 {
		err = noNought(flag)
	}
	return v, err
}

func noNought(flag string) error {
	return &desk.MistakeError{Msg: "--" + flag + ": not above nought", Tip: "leave --" + flag + " out where it is not known"}
}
