package main

import (
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"pawl/cmd/internal/desk"
	"pawl/report"
	"pawl/wear"
)

// rideWords are what pawl ride add is given.
type rideWords struct {
	ride   desk.RideRequest
	meter  desk.MeterRequest
	ground string
	void   bool
}

// meters reports whether a meter was read.
func (w rideWords) meters() bool {
	m := w.meter
	return m.Odometer != "" || m.HourMeter != "" || m.NewOdometer || m.NewHourMeter || m.BeganAt != ""
}

func (a *app) rideAddCmd() *cobra.Command {
	w := rideWords{}
	cmd := &cobra.Command{
		Use:   "add BIKE",
		Short: "Enter a ride that no device recorded, or what a meter shows",
		Long: `Enters a ride by hand. What is not given is estimated as recorded rides of such
bikes have it, or as such bikes commonly have it, and said to be.

--odometer and --hour-meter enter what the bike's meters show instead: what they
counted since the reading before, less the rides that are known, becomes a ride.
The first reading counts nothing: from there on is counted. A new meter begins at
nothing, or where --began-at says; it is new from its first reading on. --void takes
back a reading that was wrong, of the day where --on says it.`,
		Example: `  pawl ride add enduro --on 2026-05-17 --km 42 --climb 900 --hours 3.1
  pawl ride add enduro --odometer 1234km --hour-meter 96h
  pawl ride add enduro --odometer 31km --new-odometer
  pawl ride add enduro --odometer 31km --void`,
		Args: args(1, 1),
		RunE: func(cmd *cobra.Command, words []string) error {
			w.ride.Bike = words[0]
			if w.void {
				return a.voidMeters(cmd, w)
			}
			if w.meters() {
				return a.addMeters(cmd, w)
			}
			return a.addRide(cmd, w)
		},
	}
	f := cmd.Flags()
	f.StringVar(&w.ride.On, "on", "", "when (default: now)")
	f.Float64Var(&w.ride.Km, "km", math.NaN(), "distance in km")
	f.Float64Var(&w.ride.Climb, "climb", math.NaN(), "climb in m")
	f.Float64Var(&w.ride.Hours, "hours", math.NaN(), "moving time in hours")
	for _, name := range []string{"km", "climb", "hours"} {
		f.Lookup(name).DefValue = "0" // no default is shown
	}
	f.StringVar(&w.ground, "ground", "", "what was ridden in: dry, dusty, gritty, wet or mud")
	f.StringVar(&w.ride.Title, "title", "", "what to call it")
	f.StringVar(&w.meter.Odometer, "odometer", "", "what the odometer shows: 1234km or 767mi")
	f.StringVar(&w.meter.HourMeter, "hour-meter", "", "what the hour meter shows: 96h or 96:30")
	f.BoolVar(&w.meter.NewOdometer, "new-odometer", false, "the odometer is a new one, or was set back")
	f.BoolVar(&w.meter.NewHourMeter, "new-hour-meter", false, "the hour meter is a new one, or was set back")
	f.StringVar(&w.meter.BeganAt, "began-at", "", "what the new odometer showed at first (default: 0km)")
	f.BoolVar(&w.void, "void", false, "take back what a meter was said to show")
	return cmd
}

func (a *app) addRide(cmd *cobra.Command, w rideWords) error {
	if w.ground != "" {
		g, err := outdoorGround(w.ground)
		if err != nil {
			return err
		}
		w.ride.Ground = g
	}
	d, err := a.desk(cmd)
	if err != nil {
		return err
	}
	r, b, err := d.AddRide(cmd.Context(), w.ride)
	if err != nil {
		return err
	}
	return a.tell(cmd, d, func(s report.Style) string { return rideSaid(s, r, b.Name) })
}

func rideSaid(s report.Style, r wear.Ride, bike string) string {
	return fmt.Sprintf("ride %s of %s on %s: %s", r.ID, bike, s.Date(r.Start), s.Distance(r.Total().SI(wear.Distance)))
}

// addMeters enters what meters show, and says what came of it.
func (a *app) addMeters(cmd *cobra.Command, w rideWords) error {
	if !math.IsNaN(w.ride.Km) || w.ground != "" || w.ride.Title != "" {
		return &desk.MistakeError{
			Msg: "--km, --ground and --title are of a ride, --odometer and --hour-meter of the bike: enter them one by one",
			Tip: "pawl ride add BIKE --odometer 1234km",
		}
	}
	req := w.meter
	req.Bike, req.On, req.Climb, req.Hours = w.ride.Bike, w.ride.On, w.ride.Climb, w.ride.Hours
	d, err := a.desk(cmd)
	if err != nil {
		return err
	}
	res, err := d.AddMeters(cmd.Context(), req)
	if err != nil {
		return err
	}
	style := a.style(cmd.Context(), d)
	for _, o := range res.Readings {
		fmt.Fprintln(a.out, oneLine(fmt.Sprintf("%s: %s on %s", res.Bike.Name, style.Meter(o), style.Date(o.At))))
	}
	for _, r := range res.Rides {
		fmt.Fprintln(a.out, oneLine(rideSaid(style, r, res.Bike.Name)))
		for _, n := range r.Notes {
			fmt.Fprintln(a.out, "  "+oneLine(n))
		}
	}
	return a.tell(cmd, d, func(report.Style) string { return metersSaid(res) })
}

// voidMeters takes back what meters were said to show.
func (a *app) voidMeters(cmd *cobra.Command, w rideWords) error {
	req := w.meter
	if req.Odometer == "" && req.HourMeter == "" {
		return &desk.MistakeError{
			Msg: "--void takes back a reading: of which meter is not said",
			Tip: "pawl ride add BIKE --odometer 1234km --void; pawl ride void takes back a ride",
		}
	}
	req.Bike, req.On, req.Climb, req.Hours = w.ride.Bike, w.ride.On, math.NaN(), math.NaN()
	d, err := a.desk(cmd)
	if err != nil {
		return err
	}
	res, err := d.VoidMeters(cmd.Context(), req)
	if err != nil {
		return err
	}
	return a.tell(cmd, d, func(s report.Style) string {
		var said []string
		for _, o := range res.Readings {
			said = append(said, s.Meter(o)+" on "+s.Date(o.At))
		}
		return fmt.Sprintf("%s: taken back: %s", res.Bike.Name, strings.Join(said, "; "))
	})
}

func metersSaid(res desk.MeterResult) string {
	switch {
	case len(res.Rides) > 0:
		return report.Count(len(res.Rides), "ride") + " made or changed from what the readings leave"
	case res.First:
		return "the first reading: from here on is counted"
	}
	return "no ride is left between the readings"
}
