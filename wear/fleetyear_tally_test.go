package wear

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// yearTally is what a year of bikes came to.
type yearTally struct {
	bikes, km, asked, lost float64 // lost: hire days asked for on which the bike was held or failed
	value                  float64 // of parts used, by what was worn off them in the year
	used, killed           map[string]float64
	early                  float64 // parts changed with more than a fifth of their life left
	minutes                map[string]float64
	visits, washes         float64 // evenings on the stand; times that pawl asked to clean and lube
	past, pastKm           float64 // chains past 0.75 %, and km ridden on them
	offs, long             float64 // chains that came off, and how long they were, %
	incidents              map[string]float64
	found                  float64 // loose bolts found by a check or look
	stops, stuck           float64 // evenings with a stop; evenings on which the advice came to no end
}

func newYearTally() *yearTally {
	t := &yearTally{}
	for _, m := range t.maps() {
		*m = map[string]float64{}
	}
	return t
}

func (t *yearTally) maps() []*map[string]float64 {
	return []*map[string]float64{&t.used, &t.killed, &t.minutes, &t.incidents}
}

func (t *yearTally) figures() []*float64 {
	return []*float64{&t.bikes, &t.km, &t.asked, &t.lost, &t.value, &t.early, &t.visits, &t.washes,
		&t.past, &t.pastKm, &t.offs, &t.long, &t.found, &t.stops, &t.stuck}
}

// add adds another tally.
func (t *yearTally) add(o *yearTally) {
	from := o.figures()
	for i, v := range t.figures() {
		*v += *from[i]
	}
	theirs := o.maps()
	for i, m := range t.maps() {
		for k, v := range *theirs[i] {
			(*m)[k] += v
		}
	}
}

// total sums what is kept by kind; of all kinds where none is named.
func total(m map[string]float64, kinds ...string) (sum float64) {
	for k, v := range m {
		if len(kinds) == 0 || slices.Contains(kinds, k) {
			sum += v
		}
	}
	return sum
}

// Figures of a tally: money for 1,000 km, the rest for a bike and year.
func (t *yearTally) parts() float64             { return t.value / t.km * 1000 }
func (t *yearTally) work() float64              { return total(t.minutes) * yearMinute / t.km * 1000 }
func (t *yearTally) cost() float64              { return t.parts() + t.work() }
func (t *yearTally) unhired() float64           { return t.lost * yearHire / t.km * 1000 }
func (t *yearTally) each(v float64) float64     { return v / t.bikes }
func (t *yearTally) lostShare() float64         { return 100 * t.lost / t.asked }
func (t *yearTally) failed(k ...string) float64 { return t.each(total(t.incidents, k...)) }
func (t *yearTally) taken(k ...string) float64  { return t.each(total(t.used, k...)) }
func (t *yearTally) spent(k ...string) float64  { return t.each(total(t.minutes, k...)) }

// yearRow is a line of the table; 0 decimals and more.
type yearRow struct {
	says string
	of   func(*yearTally) float64
	dec  int
}

var yearRows = []yearRow{
	{"cost of 1,000 km, parts and work", (*yearTally).cost, 0},
	{"  parts, by what was worn off them", (*yearTally).parts, 0},
	{"  work", (*yearTally).work, 0},
	{"hire days lost, % of those asked for", (*yearTally).lostShare, 1},
	{"  what they cost for 1,000 km", (*yearTally).unhired, 0},
	{"cost of 1,000 km with lost hire days", func(t *yearTally) float64 { return t.cost() + t.unhired() }, 0},
	{"chains past 0.75 %, of 100 bikes", func(t *yearTally) float64 { return 100 * t.each(t.past) }, 0},
	{"  km ridden past it, %", func(t *yearTally) float64 { return 100 * t.pastKm / t.km }, 1},
	{"  elongation of chains taken off, %", func(t *yearTally) float64 { return t.long / max(1, t.offs) }, 2},
	{"rings killed, of 100 bikes", func(t *yearTally) float64 { return 100 * t.each(t.killed["ring"]) }, 0},
	{"cassettes killed, of 100 bikes", func(t *yearTally) float64 { return 100 * t.each(t.killed["cassette"]) }, 0},
	{"incidents on hire, a bike", func(t *yearTally) float64 { return t.failed() }, 2},
	{"  bolts loose", func(t *yearTally) float64 { return t.failed(yearBolts...) }, 2},
	{"  pads to the metal", func(t *yearTally) float64 { return t.failed("front-pads", "rear-pads") }, 2},
	{"  ring drops the chain", func(t *yearTally) float64 { return t.failed("ring") }, 2},
	{"  chain breaks, cassette skips", func(t *yearTally) float64 { return t.failed("chain", "cassette") }, 2},
	{"  tyres", func(t *yearTally) float64 { return t.failed("front-tyre", "rear-tyre") }, 2},
	{"loose bolts found in time, a bike", func(t *yearTally) float64 { return t.each(t.found) }, 2},
	{"chains used, a bike", func(t *yearTally) float64 { return t.taken("chain") }, 2},
	{"rings", func(t *yearTally) float64 { return t.taken("ring") }, 2},
	{"cassettes", func(t *yearTally) float64 { return t.taken("cassette") }, 2},
	{"sets of pads", func(t *yearTally) float64 { return t.taken("front-pads", "rear-pads") }, 2},
	{"tyres", func(t *yearTally) float64 { return t.taken("front-tyre", "rear-tyre") }, 2},
	{"parts changed too early, a bike", func(t *yearTally) float64 { return t.each(t.early) }, 2},
	{"minutes of work, a bike", func(t *yearTally) float64 { return t.spent() }, 0},
	{"  measuring", func(t *yearTally) float64 { return t.spent("measuring") }, 0},
	{"  looking", func(t *yearTally) float64 { return t.spent("looking") }, 0},
	{"  checking", func(t *yearTally) float64 { return t.spent("checking") }, 0},
	{"  changing", func(t *yearTally) float64 { return t.spent("changing") }, 0},
	{"  on to the stand and off", func(t *yearTally) float64 { return t.spent("the stand") }, 0},
	{"  fetching what failed", func(t *yearTally) float64 { return t.spent("fetching") }, 0},
	{"evenings on the stand, a bike", func(t *yearTally) float64 { return t.each(t.visits) }, 0},
	{"evenings with a stop, a bike", func(t *yearTally) float64 { return t.each(t.stops) }, 2},
}

// cell is a figure of the fleet, and the least and most of its depots.
func (r *yearRow) cell(run *yearRun) string {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, t := range run.depots {
		lo, hi = min(lo, r.of(t)), max(hi, r.of(t))
	}
	return fmt.Sprintf("%.*f (%.*f–%.*f)", r.dec, r.of(run.all), r.dec, lo, r.dec, hi)
}

func yearTable(y *year, runs []yearRun) string {
	var b strings.Builder
	all := runs[0].all
	fmt.Fprintf(&b, "%d bikes in %d depots, seed %d; %.0f hire days and %.0f km a bike; in brackets the least and most of the depots\n",
		y.bikes, yearDepots, y.seed, all.each(all.asked), all.each(all.km))
	fmt.Fprintf(&b, "%-37s", "")
	for _, r := range runs {
		fmt.Fprintf(&b, " %19s", r.name)
	}
	for i := range yearRows {
		fmt.Fprintf(&b, "\n%-37s", yearRows[i].says)
		for n := range runs {
			fmt.Fprintf(&b, " %19s", yearRows[i].cell(&runs[n]))
		}
	}
	fmt.Fprintf(&b, "\nCleaning and lubing is left out: all are taken to wash alike. pawl asks for it %.0f times a bike.\n", all.each(all.washes))
	return b.String() + yearPlain(runs)
}

// yearPlain says where pawl, to the letter, does not win, and what an incident
// must cost for it to pay all the same.
func yearPlain(runs []yearRun) string {
	var b strings.Builder
	pawl := runs[wayDue].all
	for _, r := range runs[wayPlan:] {
		his := r.all
		for _, c := range []struct {
			what      string
			his, ours float64
		}{
			{"costs less for 1,000 km", his.cost(), pawl.cost()},
			{"costs less for 1,000 km with lost hire days", his.cost() + his.unhired(), pawl.cost() + pawl.unhired()},
			{"uses parts worth less", his.parts(), pawl.parts()},
			{"loses fewer hire days", his.lostShare(), pawl.lostShare()},
			{"has fewer incidents", his.failed(), pawl.failed()},
		} {
			if c.his < c.ours {
				fmt.Fprintf(&b, "pawl does not win: %s %s (%.3g against %.3g)\n", r.name, c.what, c.his, c.ours)
			}
		}
		more := pawl.cost() + pawl.unhired() - his.cost() - his.unhired()
		if fewer := his.failed() - pawl.failed(); more > 0 && fewer > 0 {
			fmt.Fprintf(&b, "  it pays where an incident costs %.0f more than repair, fetching and the lost hire days\n", more*pawl.each(pawl.km)/1000/fewer)
		}
	}
	return b.String()
}
