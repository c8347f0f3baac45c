package wear

import (
	"cmp"
	"slices"
	"strings"
)

// The stretches that a fleet is seen over, in days.
const (
	FleetWeek  = 7
	FleetMonth = 28 // four weeks, ahead and back
)

// FleetBike is one bike as the manager of a fleet sees it.
type FleetBike struct {
	Bike     Bike
	Standing Standing
	Hold     Hold

	Worst    Verdict  // of what was asked about
	Jobs     int      // due or a stop
	Share    float64  // of the most urgent job, of the way to its limit
	Top      *Finding // the most urgent job that is not fine; nil = none
	DueWeek  bool     // something is due, or as likely as not will be within FleetWeek
	DueMonth bool     // the same within FleetMonth
	Minutes  int      // typical bench time of what is due within the week

	Stand Stand    // over the last FleetMonth days
	Cost  CostLine // of the bike, over the stretch that costs are counted from

	Last      Instant // start of the last counted ride; Ever = none
	TurnRound Instant // the last turn-round check; Ever = none
	UnTurned  bool    // ridden since
}

// FleetBikeOf is what the findings of a case say of a bike: those of the kinds
// asked about, all where none is named.
func FleetBikeOf(c Case, findings []Finding, kinds []string) FleetBike {
	b := FleetBike{Bike: c.Bike, Last: c.Use.Last, TurnRound: Ever}
	b.Standing, _ = c.Standing()
	if len(kinds) > 0 {
		findings = slices.DeleteFunc(slices.Clone(findings), func(f Finding) bool { return !slices.Contains(kinds, f.Kind) })
	}
	week, month := c.Today+FleetWeek*Day, c.Today+FleetMonth*Day
	for i := range findings {
		f := &findings[i]
		if f.Verdict >= Due {
			b.Jobs++
		}
		if f.Verdict > Fine && b.Top == nil {
			top := *f // else all findings of all bikes would stay in memory
			b.Top = &top
		}
		b.Worst = max(b.Worst, f.Verdict)
		b.Share = max(b.Share, f.Share)
		b.DueWeek = b.DueWeek || f.dueBy(week)
		b.DueMonth = b.DueMonth || f.dueBy(month)
	}
	b.Minutes = PlanVisit(Visit{Bike: c.Bike.ID, At: week}, findings).Minutes
	return b
}

// dueBy reports whether the job is due now, or as likely as not will be by then.
func (f *Finding) dueBy(at Instant) bool {
	return f.Verdict >= Due || f.comesDue(at)
}

// comesDue reports whether the days make the job due by an instant as likely as
// not. A count of what such parts last does not.
func (f *Finding) comesDue(at Instant) bool {
	return !f.Expects && f.Date.P50 != nil && *f.Date.P50 <= at
}

// Turned tells what turn-round checks there were.
func (b *FleetBike) Turned(rounds []TurnRound, today Instant) {
	for _, r := range rounds {
		if !r.Void && r.At <= today && r.At > b.TurnRound {
			b.TurnRound = r.At
		}
	}
	b.UnTurned = b.Last > b.TurnRound && b.Last != Ever
}

// Depot is what a depot's bikes come to; of all bikes where Name is "" and All.
type Depot struct {
	Name   string
	All    bool // every depot
	Bikes  int  // in the fleet: not retired
	OnHire int  // may go out
	Held   int  // held back or kept in by a stop
	Lifted int  // may go out by a release only

	DueWeek, DueMonth int // bikes
	Minutes           int // of what is due within the week
	UnTurned          int // ridden since their last turn-round check, where there ever was one
	Stand             Stand
	Cost              CostLine
}

// Add counts one bike of the depot.
func (d *Depot) Add(b *FleetBike) {
	if b.Standing == Retired {
		return
	}
	d.Bikes++
	if b.Hold.Held {
		d.Held++
	} else {
		d.OnHire++
	}
	d.Lifted += boolInt(b.Hold.Lifted != nil)
	d.DueWeek += boolInt(b.DueWeek)
	d.DueMonth += boolInt(b.DueMonth)
	d.Minutes += b.Minutes
	d.UnTurned += boolInt(b.UnTurned && b.TurnRound != Ever)
	d.Stand = d.Stand.Add(b.Stand)
	d.Cost.Add(b.Cost)
}

// Depots sums a fleet up: depot by depot in order of name, then all of them.
func Depots(bikes []FleetBike) (depots []Depot, all Depot) {
	all = Depot{All: true}
	index := map[string]int{}
	for i := range bikes {
		b := &bikes[i]
		key := strings.ToLower(b.Bike.Depot)
		at, ok := index[key]
		if !ok {
			at = len(depots)
			index[key] = at
			depots = append(depots, Depot{Name: b.Bike.Depot})
		}
		depots[at].Add(b)
		all.Add(b)
	}
	depots = slices.DeleteFunc(depots, func(d Depot) bool { return d.Bikes == 0 })
	slices.SortFunc(depots, func(x, y Depot) int { return cmp.Or(Naturally(x.Name, y.Name), cmp.Compare(x.Name, y.Name)) })
	return depots, all
}

// FleetOrder is by what a list of bikes is sorted.
type FleetOrder string

// The orders; whatever they say comes first where it is largest, names last.
const (
	ByUrgency FleetOrder = "urgency" // held, then verdict, then share
	ByName    FleetOrder = "name"
	ByCost    FleetOrder = "cost" // of 1,000 km
	ByMinutes FleetOrder = "minutes"
	ByHeld    FleetOrder = "held" // days held in the last month
)

// FleetOrders lists them in the order of the help text.
var FleetOrders = []FleetOrder{ByUrgency, ByName, ByCost, ByMinutes, ByHeld}

// SortFleet sorts bikes; of equals the more urgent, then the name decides. Hour is
// what an hour at the stand costs, see [Costs].
func SortFleet(bikes []FleetBike, by FleetOrder, hour int64) {
	slices.SortFunc(bikes, func(x, y FleetBike) int { return cmp.Or(by.compare(&x, &y, hour), worse(&x, &y)) })
}

func (by FleetOrder) compare(x, y *FleetBike, hour int64) int {
	switch by {
	case ByName:
		return Naturally(x.Bike.Name, y.Bike.Name)
	case ByCost:
		cx, okx := x.Cost.PerWay(hour)
		cy, oky := y.Cost.PerWay(hour)
		if !okx || !oky {
			return boolInt(oky) - boolInt(okx)
		}
		return cmp.Compare(cy, cx)
	case ByMinutes:
		return cmp.Compare(y.Minutes, x.Minutes)
	case ByHeld:
		return cmp.Compare(y.Stand.Held, x.Stand.Held)
	}
	return 0
}

// seen reports whether what is most urgent is a danger that somebody saw.
func (b *FleetBike) seen() bool { return b.Top != nil && b.Top.Seen }

// worse puts the bike first that needs somebody sooner.
func worse(x, y *FleetBike) int {
	return cmp.Or(
		boolInt(y.Hold.Held)-boolInt(x.Hold.Held),
		cmp.Compare(y.Worst, x.Worst),
		boolInt(y.seen())-boolInt(x.seen()),
		cmp.Compare(y.Jobs, x.Jobs),
		cmp.Compare(y.Share, x.Share),
		Naturally(x.Bike.Name, y.Bike.Name),
		cmp.Compare(x.Bike.ID, y.Bike.ID),
	)
}
