package main

import (
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

func (a *app) bikeCmd() *cobra.Command {
	return noun("bike", "The bikes", a.bikeAddCmd(), a.bikeListCmd(), a.bikeShowCmd(), a.bikeChangeCmd(),
		a.bikeHoldCmd(), a.bikeReleaseCmd(), a.bikeRetireCmd(), a.bikeNoteCmd(), a.bikeMatchCmd(), a.bikeReadCmd())
}

// bikeFlags are the figures of a bike that estimates rest on.
type bikeFlags struct {
	rider, bike, wheel, crr, cda float64
	motor                        string
	fleet                        bool
	note                         string
	depot, tags, price           string
}

func (f *bikeFlags) add(cmd *cobra.Command) {
	cmd.Flags().Float64Var(&f.rider, "rider-kg", 0, "mass of rider and kit (default 85)")
	cmd.Flags().Float64Var(&f.bike, "bike-kg", 0, "mass of the bike (default: the sheet's)")
	cmd.Flags().Float64Var(&f.wheel, "wheel-mm", 0, "rolling circumference of the rear wheel in mm")
	cmd.Flags().Float64Var(&f.crr, "crr", 0, "rolling resistance on the usual ground (default 0.025)")
	cmd.Flags().Float64Var(&f.cda, "cda", 0, "drag area in m² (default 0.5)")
	cmd.Flags().StringVar(&f.motor, "motor", "", "none, mid or hub")
	cmd.Flags().BoolVar(&f.fleet, "fleet", false, "the bike is hired out: stricter stops")
	cmd.Flags().StringVar(&f.note, "note", "", "a note to keep with it")
	cmd.Flags().StringVar(&f.depot, "depot", "", "where it is hired out; - takes it away")
	cmd.Flags().StringVar(&f.tags, "tags", "", "your own words to find it by, with spaces between; - takes them away")
	cmd.Flags().StringVar(&f.price, "price", "", "of a hire day, as 24.50; - takes it away")
}

// set puts the flags that were given into the bike.
func (f *bikeFlags) set(cmd *cobra.Command, b *wear.Bike) error {
	for _, x := range []struct {
		flag              string
		v                 float64
		to                *float64
		unit, least, most float64
	}{
		{"rider-kg", f.rider, &b.RiderMass, 1, 20, 250},
		{"bike-kg", f.bike, &b.Mass, 1, 5, 60},
		{"wheel-mm", f.wheel, &b.Wheel, 0.001, 1000, 2600},
		{"crr", f.crr, &b.Crr, 1, 0.001, 0.2},
		{"cda", f.cda, &b.CdA, 1, 0.1, 2},
	} {
		if !cmd.Flags().Changed(x.flag) {
			continue
		}
		if !(x.v >= x.least && x.v <= x.most) {
			return &desk.MistakeError{
				Msg: fmt.Sprintf("--%s %s: cannot be meant", x.flag, cmd.Flag(x.flag).Value),
				Tip: fmt.Sprintf("from %g to %g is usual", x.least, x.most),
			}
		}
		*x.to = x.v * x.unit
	}
	return f.setWords(cmd, b)
}

func (f *bikeFlags) setWords(cmd *cobra.Command, b *wear.Bike) error {
	motors := map[string]wear.Motor{"none": wear.NoMotor, "mid": wear.MidMotor, "hub": wear.HubMotor}
	if cmd.Flags().Changed("motor") {
		m, ok := motors[f.motor]
		if !ok {
			return &desk.MistakeError{Msg: fmt.Sprintf("--motor %q: not a motor", f.motor), Tip: "none, mid or hub"}
		}
		b.Motor = m
	}
	if cmd.Flags().Changed("fleet") {
		b.Fleet = f.fleet
	}
	if cmd.Flags().Changed("note") {
		b.Note = f.note
	}
	return f.setHire(cmd, b)
}

// setHire puts the flags that concern hire into the bike.
func (f *bikeFlags) setHire(cmd *cobra.Command, b *wear.Bike) (err error) {
	if cmd.Flags().Changed("depot") {
		if b.Depot, err = wear.ParseDepot(f.depot); err != nil {
			return &desk.MistakeError{Msg: err.Error(), Tip: `--depot "Lakeside hut"`}
		}
	}
	if cmd.Flags().Changed("tags") {
		if b.Tags, err = wear.ParseTags(f.tags); err != nil {
			return &desk.MistakeError{Msg: err.Error(), Tip: `--tags "large enduro"`}
		}
	}
	if cmd.Flags().Changed("price") {
		b.Price, err = desk.ParseMoney(strings.TrimPrefix(f.price, "-"))
	}
	return err
}

func (a *app) bikeAddCmd() *cobra.Command {
	var f bikeFlags
	var sheet, like, on, used string
	cmd := &cobra.Command{
		Use:   "add NAME",
		Short: "Enter a bike with the parts of a build sheet",
		Long: `Enters a bike and fits every part of its build sheet. The parts are there from the
bike's first ride, unless --on gives the day on which it was built. What the bike
had done before goes with --used; what is not given is estimated.`,
		Example: `  pawl bike add enduro --sheet trail
  pawl bike add "hire 7" --sheet trail --fleet --on 2026-03-01
  pawl bike add "hire 8" --like "hire 7" --depot Lakeside --price 45
  pawl bike add old --sheet my-build.toml --used 2400km,180h,52000m`,
		Args: args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			req := desk.BikeRequest{Bike: wear.Bike{Name: words[0]}, On: on}
			var err error
			if err = f.set(cmd, &req.Bike); err != nil {
				return err
			}
			req.NoMotor = f.motor == "none"
			if req.Used, err = desk.ParseUsed(used); err != nil {
				return err
			}
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			if req.Sheet, err = a.buildSheet(cmd, d, sheet, like); err != nil {
				return err
			}
			b, parts, err := d.AddBike(cmd.Context(), req)
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(report.Style) string {
				return fmt.Sprintf("%s is in the book with %d parts of the sheet %q; pawl bike show %q lists them",
					b.Name, len(parts), b.Sheet, b.Name)
			})
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&sheet, "sheet", "trail", "build sheet: trail, hardtail, rigid, e-trail, or a TOML file of your own")
	cmd.Flags().StringVar(&like, "like", "", "build it as another bike is now, all parts new")
	cmd.Flags().StringVar(&on, "on", "", "when it was built (default: before its first ride)")
	cmd.Flags().StringVar(&used, "used", "", "what it had done before, as 1200km,60h,25000m")
	return cmd
}

// buildSheet is the sheet of a new bike: as another bike is, or by name.
func (a *app) buildSheet(cmd *cobra.Command, d *desk.Desk, sheet, like string) (wear.Sheet, error) {
	if like == "" {
		return readSheet(sheet)
	}
	if cmd.Flags().Changed("sheet") {
		return wear.Sheet{}, &desk.MistakeError{Msg: "--sheet and --like exclude each other", Tip: cmd.UseLine()}
	}
	s, _, err := d.SheetOf(cmd.Context(), like)
	return s, err
}

// readSheet is a shipped build sheet, or the user's own from a TOML file.
func readSheet(name string) (wear.Sheet, error) {
	if s, ok := wear.SheetByName(name); ok {
		return s, nil
	}
	text, err := os.ReadFile(name)
	if err != nil {
		return wear.Sheet{}, &desk.MistakeError{
			Msg: fmt.Sprintf("sheet %q: neither a shipped build sheet nor a file that can be read", name),
			Tip: "--sheet trail, hardtail, rigid or e-trail, or the path of a TOML file",
		}
	}
	s, err := wear.ParseSheet(text)
	if err != nil {
		return s, fmt.Errorf("sheet %q: %w", name, err)
	}
	return s, nil
}

func (a *app) bikeListCmd() *cobra.Command {
	var out outputFlags
	var which desk.BikeFilter
	cmd := &cobra.Command{
		Use: "list", Short: "List the bikes and what they have done",
		Long: `Lists the bikes by name with their verdict and what they have done, a page at a time.
What --csv writes out, pawl bike read and pawl fleet read take again.`,
		Example: "  pawl bike list\n  pawl bike list --depot Lakeside --tag kids",
		Args:    args(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			which.Rows = out.rows(report.Pages.BikeRows)
			list, _, err := d.BikesOf(cmd.Context(), which, out.today)
			if err != nil {
				return err
			}
			return a.bikes(cmd, d, list, out)
		},
	}
	out.add(cmd, true)
	cmd.Flags().StringVar(&which.Depot, "depot", "", "only those of a depot; - is those of none")
	cmd.Flags().StringSliceVar(&which.Tags, "tag", nil, "only those with this tag; of several, with all of them")
	return cmd
}

func (a *app) bikeShowCmd() *cobra.Command {
	var out outputFlags
	cmd := &cobra.Command{
		Use: "show BIKE", Short: "Show one bike: its figures, its parts, its use",
		Example: "  pawl bike show enduro",
		Args:    args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			b, _, err := d.Bike(cmd.Context(), words[0], out.today)
			if err != nil {
				return err
			}
			return a.bike(cmd, d, b, out)
		},
	}
	out.add(cmd, false)
	return cmd
}

func (a *app) bikeChangeCmd() *cobra.Command {
	var f bikeFlags
	var name, ground, from, wheel, owner string
	cmd := &cobra.Command{
		Use:   "change BIKE",
		Short: "Change the name or the figures of a bike",
		Long: `Changes a bike. A change of mass, rolling resistance or drag makes the estimates of
its rides anew, from the original files. --wheel auto finds the circumference at which
the rides come closest to the cogs, since the rear tyre came; --from DATE says from
which day on a circumference holds.`,
		Example: `  pawl bike change enduro --rider-kg 78 --bike-kg 14.5
  pawl bike change enduro --usual-ground 11=mud,12=mud,1=wet
  pawl bike change enduro --wheel auto
  pawl bike change enduro --owner "Kim Doe"
  pawl bike change "hire 7" --depot Lakeside --tags "large kids" --price 45`,
		Args: args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			d, err := a.desk(cmd)
			if err != nil {
				return err
			}
			if wheel != "" {
				return a.changeWheel(cmd, d, words[0], wheel, from)
			}
			if ground != "" {
				return a.usualGround(cmd, d, words[0], ground, from)
			}
			if owner != "" {
				return a.setOwner(cmd, d, words[0], owner)
			}
			b, again, err := d.ChangeBike(cmd.Context(), words[0], func(b *wear.Bike) error {
				if name != "" {
					b.Name = name
				}
				return f.set(cmd, b)
			})
			if err != nil {
				return err
			}
			return a.tell(cmd, d, func(report.Style) string {
				if again > 0 {
					return fmt.Sprintf("%s is changed; the estimates of its rides (%d) were made anew", b.Name, again)
				}
				return b.Name + " is changed"
			})
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&name, "name", "", "a new name")
	cmd.Flags().StringVar(&owner, "owner", "", "the person whose it is, by name or e-mail; or none")
	cmd.Flags().StringVar(&wheel, "wheel", "", "rolling circumference of the rear wheel: auto, or in mm")
	cmd.Flags().StringVar(&ground, "usual-ground", "", "by month, for rides that nobody marks: 11=mud,12=mud,1=wet; or none")
	cmd.Flags().StringVar(&from, "from", "", "the usual ground or the wheel holds from this day on (default: always)")
	return cmd
}

func (a *app) setOwner(cmd *cobra.Command, d *desk.Desk, bike, owner string) error {
	b, err := d.SetOwner(cmd.Context(), bike, owner)
	if err != nil {
		return err
	}
	return a.tell(cmd, d, func(report.Style) string {
		if b.Owner == 0 {
			return b.Name + " is nobody's"
		}
		return b.Name + " is theirs"
	})
}

func (a *app) usualGround(cmd *cobra.Command, d *desk.Desk, bike, ground, from string) error {
	n, b, err := d.UsualGround(cmd.Context(), bike, ground, from)
	if err != nil {
		return err
	}
	return a.tell(cmd, d, func(report.Style) string {
		return fmt.Sprintf("%s: usual ground %s; %s marked by it", b.Name, ground, rides(n))
	})
}
