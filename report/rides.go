package report

import (
	"io"
	"iter"
	"strings"

	"pawl/wear"
)

// RideLine is a ride as lists show it.
type RideLine struct {
	Ride wear.Ride
	Bike string // its name; empty = not known yet
	File string // its file's name; empty where it was typed in
}

// wideEnough is the width from which lists show more than what is needed.
const wideEnough = 110

// shortID is as much of a ride's name as tells it from others.
func shortID(id wear.RideID) string { return id.String()[:8] }

// Rides writes rides to a terminal in the order in which they come.
func Rides(w io.Writer, rides iter.Seq2[RideLine, error], s Style) error {
	p := &page{Style: s}
	var rows [][]string
	var total wear.Sum
	homeless, all := 0, 0
	from, to := s.Pages.bounds(manyRows)
	for r, err := range rides {
		if err != nil {
			return err
		}
		if all++; all > from && all <= to {
			rows = append(rows, s.rideRow(r))
		}
		if r.Bike == "" {
			if r.Ride.State == wear.Counted {
				homeless++
			}
			continue
		}
		total = total.Add(r.Ride.Sum())
	}
	if all == 0 {
		p.line("No rides.")
		return p.to(w)
	}
	window, err := s.Pages.window(all, manyRows)
	if err != nil {
		return err
	}
	p.table(filled(s.rideColumns(), rows))
	p.gap()
	p.para("", s.rideTotal(total))
	if homeless > 0 {
		p.para("", plural(homeless, "ride counts", "rides count")+" nowhere yet: no bike is known")
	}
	p.para("", "by: how its bike was told; a twin or void ride does not count. ~ estimated")
	p.rest(window, "ride", "rides", "--csv")
	return p.to(w)
}

func (s Style) rideColumns() []column {
	return []column{
		{title: "ride"}, {title: "start"}, {title: "bike", least: 8},
		{title: s.longUnit(), right: true}, {title: s.shortUnit() + " up", right: true},
		{title: "h:mm", right: true}, {title: "turns", right: true}, {title: "kJ", right: true},
		{title: "ground"}, {title: "by"}, {title: "file", least: 12},
	}
}

// rideRow leaves out time of day, work and file where there is little room.
func (s Style) rideRow(r RideLine) []string {
	bike := brief(r.Bike, longName)
	if bike == "" {
		bike = "no bike yet"
	}
	ride := r.Ride
	start, work, file := s.dayOf(ride.Start), "", ""
	by := rideState(ride)
	switch {
	case ride.State == wear.Counted:
		by = ride.Rule.Word()
	case s.width() < wideEnough:
		by = ride.State.String()
	}
	if s.width() >= wideEnough {
		start, file = s.minute(ride.Start), brief(r.File, longName)
		work = guess(ride, wear.Work, func(v float64) string { return whole(v / 1000) })
	}
	return []string{
		shortID(ride.ID), start, bike,
		guess(ride, wear.Distance, func(v float64) string { return number(s.longway(v), 1) }),
		guess(ride, wear.Climb, func(v float64) string { return whole(s.shortway(v)) }),
		guess(ride, wear.Moving, clockHours),
		guess(ride, wear.Turns, whole),
		work, ride.Ground.String(), by, file,
	}
}

// guess is a figure of a ride, marked where it or a part of it is estimated.
func guess(r wear.Ride, q wear.Quantity, write func(float64) string) string {
	if r.Lacking.Has(q) {
		return unknown
	}
	out := write(r.Total().SI(q))
	if r.Estimated[q] != 0 {
		return "~" + out
	}
	return out
}

// rideState is empty for a ride that counts.
func rideState(r wear.Ride) string {
	switch {
	case r.State == wear.Twin && r.Of != (wear.RideID{}):
		return "twin of " + shortID(r.Of)
	case r.State != wear.Counted:
		return r.State.String()
	}
	return ""
}

func (s Style) rideTotal(sum wear.Sum) string {
	t := sum.Total()
	return strings.Join([]string{
		plural(int(sum.Rides), "counted ride", "counted rides"), s.distance(t.SI(wear.Distance)),
		s.height(t.SI(wear.Climb)) + " up", hours(t.SI(wear.Moving)),
	}, ", ")
}

// RidesCSV writes rides as CSV in SI units.
func RidesCSV(w io.Writer, rides iter.Seq2[RideLine, error], s Style) error {
	head := []string{"id", "bike", "start", "file", "format", "ground", "indoor", "state"}
	out := newSheet(w, append(append(head, quantityHeads()...), "estimated", "rule", "because", "twin_of")...)
	for r, err := range rides {
		if err != nil {
			return err
		}
		row := []string{
			r.Ride.ID.String(), cell(r.Bike), s.csvTime(r.Ride.Start), cell(r.File), r.Ride.Format.String(),
			r.Ride.Ground.String(), yesNo(r.Ride.Ground.Indoor()), r.Ride.State.String(),
		}
		row = append(row, quantityCells(r.Ride.Total(), r.Ride.Lacking)...)
		out.row(append(row, strings.Join(estimated(r.Ride.Estimated), " "), r.Ride.Rule.Word(), cell(r.Ride.Because), twinOf(r.Ride))...)
	}
	return out.done()
}

// estimated names the quantities of which something was estimated.
func estimated(l wear.Load) []string {
	names := []string{}
	for q := range wear.NQuantities {
		if l[q] != 0 {
			names = append(names, q.String())
		}
	}
	return names
}

// twinOf is the name of the ride that counts in place of a twin, else empty.
func twinOf(r wear.Ride) string {
	if r.Of == (wear.RideID{}) {
		return ""
	}
	return r.Of.String()
}
