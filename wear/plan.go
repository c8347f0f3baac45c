package wear

import (
	"cmp"
	"slices"
	"strings"
)

// BikeWork is what one bike needs within the week, as one visit: what is due, and
// what will fall due soon after and is done along with it.
type BikeWork struct {
	Bike    Bike
	Hold    Hold
	Now     []Finding // due, a stop, or as likely as not due within the week; in working order
	Along   []Finding // as likely as not due within FleetMonth; in working order
	Minutes int       // typical bench time of both; work that other work includes counts once
	Saved   int       // minutes of Along: what a second visit would have been for
	Parts   []string  // kinds of the parts to take, one entry a part
	Visit   Instant   // the day of a visit that is planned within the week; 0 = none
}

// WorkOf is a bike's work of the week; ok is false where nothing of it is due by
// then. What is done along is work that would bring the bike in again within
// FleetMonth.
func WorkOf(c Case, findings []Finding) (w BikeWork, ok bool) {
	week, month := c.Today+FleetWeek*Day, c.Today+FleetMonth*Day
	w.Bike = c.Bike
	for i := range findings {
		f := &findings[i]
		switch {
		case f.spared(findings):
		case f.dueBy(week):
			w.Now = append(w.Now, *f)
		case f.dueBy(month):
			w.Along = append(w.Along, *f)
		}
	}
	if len(w.Now) == 0 {
		return w, false
	}
	w.Along = slices.DeleteFunc(w.Along, func(f Finding) bool { return f.included(w.Now) })
	w.Now, w.Along = WorkingOrder(w.Now), WorkingOrder(w.Along)
	both := append(slices.Clone(w.Now), w.Along...)
	w.Minutes, w.Parts = minutes(both), toTake(both)
	w.Saved = w.Minutes - minutes(w.Now)
	return w, true
}

// urgency is the worst verdict of the work.
func (w *BikeWork) urgency() Verdict { return Worst(w.Now) }

// DepotWork is the week's work of one depot.
type DepotWork struct {
	Name    string
	Works   []BikeWork // most urgent first
	Minutes int
	Saved   int            // visits that need not be: bikes with something done along
	Parts   map[string]int // how many of each kind to have ready
	Jobs    []JobMinutes   // by kind and job, most minutes first
}

// JobMinutes is how often a job comes up in the week, and how long it takes.
type JobMinutes struct {
	Kind, Job, Title string
	N, Minutes       int
}

// PlanWeek sorts the week's work by depot.
func PlanWeek(works []BikeWork) []DepotWork {
	var list []DepotWork
	index := map[string]int{}
	for _, w := range works {
		key := strings.ToLower(w.Bike.Depot)
		at, ok := index[key]
		if !ok {
			at = len(list)
			index[key] = at
			list = append(list, DepotWork{Name: w.Bike.Depot, Parts: map[string]int{}})
		}
		list[at].add(w)
	}
	for i := range list {
		list[i].sort()
	}
	slices.SortFunc(list, func(x, y DepotWork) int { return cmp.Or(Naturally(x.Name, y.Name), cmp.Compare(x.Name, y.Name)) })
	return list
}

func (d *DepotWork) add(w BikeWork) {
	d.Works = append(d.Works, w)
	d.Minutes += w.Minutes
	d.Saved += boolInt(len(w.Along) > 0)
	for _, kind := range w.Parts {
		d.Parts[kind]++
	}
	both := append(slices.Clone(w.Now), w.Along...)
	for i := range both {
		if f := &both[i]; !f.included(both) {
			d.count(f)
		}
	}
}

func (d *DepotWork) count(f *Finding) {
	at := slices.IndexFunc(d.Jobs, func(j JobMinutes) bool { return j.Kind == f.Kind && j.Job == f.Job })
	if at < 0 {
		at = len(d.Jobs)
		d.Jobs = append(d.Jobs, JobMinutes{Kind: f.Kind, Job: f.Job, Title: f.Title})
	}
	d.Jobs[at].N++
	d.Jobs[at].Minutes += f.Minutes
}

func (d *DepotWork) sort() {
	slices.SortFunc(d.Works, func(x, y BikeWork) int {
		return cmp.Or(
			cmp.Compare(y.urgency(), x.urgency()),
			cmp.Compare(len(y.Now), len(x.Now)),
			Naturally(x.Bike.Name, y.Bike.Name),
			cmp.Compare(x.Bike.ID, y.Bike.ID),
		)
	})
	slices.SortFunc(d.Jobs, func(x, y JobMinutes) int {
		return cmp.Or(cmp.Compare(y.Minutes, x.Minutes), cmp.Compare(y.N, x.N), cmp.Compare(x.Kind, y.Kind), cmp.Compare(x.Job, y.Job))
	})
}
