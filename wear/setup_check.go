package wear

import (
	"fmt"
	"slices"
)

// bound is a figure and what it can be; 0 is not given.
type bound struct {
	name        string
	v, from, to float64
}

func checkBounds(list []bound) error {
	for _, b := range list {
		if b.v != 0 && !(b.v >= b.from && b.v <= b.to) {
			return fmt.Errorf("%s %g: not between %g and %g", b.name, b.v, b.from, b.to)
		}
	}
	return nil
}

// Check refuses a set-up whose figures no bike has.
func (g GuideSetup) Check() error {
	if g.Mount != "" && !slices.Contains(GuideMounts, g.Mount) {
		return fmt.Errorf("mount %q: not one of %v", g.Mount, GuideMounts)
	}
	list := []bound{{"chain line in mm", g.ChainLine, 35, 75}, {"ring in teeth", float64(g.Ring), 20, 60}}
	if g.Angle != nil {
		list = append(list, bound{"guide angle in degrees", *g.Angle, -90, 90})
	}
	for _, s := range g.Spacers {
		list = append(list, bound{"spacer in mm", s, 0, 15})
	}
	for _, t := range g.Torques {
		list = append(list, bound{"torque in N·m", t, leastTorque, mostTorque})
	}
	if err := checkBounds(list); err != nil {
		return err
	}
	if n := g.Mount.Bolts(); n > 0 {
		for _, l := range []struct {
			of  string
			has int
		}{{"spacers", len(g.Spacers)}, {"torques", len(g.Torques)}} {
			if l.has > n {
				return fmt.Errorf("%d %s: mount %s has %d bolts", l.has, l.of, g.Mount, n)
			}
		}
	}
	return g.Drive.check()
}

func (d Drive) check() error {
	list := []bound{
		{"rear spacing in mm", d.Spacing, 110, 200}, {"chainstay in mm", d.Chainstay, 350, 550},
		{"maker's chain line in mm", d.MakerLine, 35, 75}, {"cassette's chain line in mm", d.CassetteLine, 35, 75},
		{"cog spacing in mm", d.CogSpacing, 3, 6}, {"pitches of the chain", float64(d.Pitches), 80, 160},
		{"guide's smallest ring", float64(d.GuideLeast), 20, 60}, {"guide's largest ring", float64(d.GuideMost), 20, 60},
		{"largest ring for the frame", float64(d.FrameMost), 20, 60},
	}
	if d.Offset != nil {
		list = append(list, bound{"ring offset in mm", *d.Offset, -10, 10})
	}
	if err := checkBounds(list); err != nil {
		return err
	}
	if d.GuideMost != 0 && d.GuideLeast > d.GuideMost {
		return fmt.Errorf("guide's range %d to %d: write the smaller ring first", d.GuideLeast, d.GuideMost)
	}
	if d.Pitches%2 != 0 {
		return fmt.Errorf("%d pitches: a chain has an even number, count inner and outer links", d.Pitches)
	}
	if d.RingMount != "" {
		_, err := ParseRingMount(d.RingMount)
		return err
	}
	return nil
}
