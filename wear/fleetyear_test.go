package wear

import (
	"os"
	"runtime"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
)

// yearRun is a fleet's year in one way.
type yearRun struct {
	yearWay
	all    *yearTally
	depots [yearDepots]*yearTally
}

// The ways, in the order of the table.
const (
	wayDue     = iota // pawl's advice to the letter: each job on the evening on which it comes due
	wayWeek           // the same, and on the stand what pawl expects within a week
	wayPlan           // fixed intervals as workshops have them
	wayMean           // fixed intervals from what this fleet wears on the whole
	wayFailure        // nothing until it fails
)

func (y *year) ways() []yearWay {
	return []yearWay{
		{name: "pawl, as due", pawl: true}, {name: "pawl, week ahead", pawl: true, ahead: 7},
		{name: "fixed intervals", plan: commonPlan}, {name: "fixed at the mean", plan: y.meanPlan()}, {name: "run to failure"},
	}
}

// runAll runs a fleet in one way, bikes side by side; the order of the sums is theirs.
func (w *yearWay) runAll(y *year) yearRun {
	tallies := make([]*yearTally, y.bikes)
	var wg sync.WaitGroup
	for first := range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for n := first; n < y.bikes; n += runtime.GOMAXPROCS(0) {
				tallies[n] = newYearTally()
				tallies[n].bikes = 1
				w.run(y, n, tallies[n])
			}
		})
	}
	wg.Wait()
	run := yearRun{yearWay: *w, all: newYearTally()}
	for i := range run.depots {
		run.depots[i] = newYearTally()
	}
	for n, t := range tallies {
		run.all.add(t)
		run.depots[n%yearDepots].add(t)
	}
	return run
}

func (y *year) runs() (runs []yearRun) {
	for _, w := range y.ways() {
		runs = append(runs, w.runAll(y))
	}
	return runs
}

// yearFleets are the fleets that are run: seed and bikes. The first of the long
// ones, with PAWL_LONG=1, is the one that the README quotes.
func yearFleets() [][2]int {
	switch {
	case os.Getenv("PAWL_LONG") == "1":
		return [][2]int{{1, 500}, {2, 100}, {3, 100}}
	case raced || testing.Short():
		return [][2]int{{1, 5}}
	}
	return [][2]int{{1, 20}}
}

// A year of hire bikes by pawl's advice, by fixed intervals and to failure. It
// holds pawl to what it is for, and says where it does not win: care costs more
// work than it saves in parts. With PAWL_LONG=1 it takes minutes: add -timeout 30m.
func TestFleetYear(t *testing.T) {
	for _, f := range yearFleets() {
		y := newYear(uint64(f[0]), f[1])
		runs := y.runs()
		t.Log("\n" + yearTable(y, runs))
		for _, r := range runs[:wayPlan] {
			holdFailure(t, r, runs[wayFailure].all)
			if y.bikes >= 20 { // fewer are too few to tell the ways apart
				holdFixed(t, r, runs[wayPlan].all, runs[wayPlan].name)
				holdFixed(t, r, runs[wayMean].all, runs[wayMean].name)
			}
		}
	}
}

// holdFailure holds a year by pawl's advice against one without care.
func holdFailure(t *testing.T, r yearRun, failure *yearTally) {
	t.Helper()
	pawl := r.all
	assert.Zero(t, pawl.stuck, "%s: evenings on which the advice comes to no end", r.name)
	assert.LessOrEqual(t, pawl.past, failure.past/4, "%s: chains past 0.75 %%", r.name)
	assert.LessOrEqual(t, total(pawl.killed), total(failure.killed)/4, "%s: rings and cassettes killed", r.name)
	assert.LessOrEqual(t, pawl.failed(), failure.failed()/4, "%s: incidents", r.name)
	assert.LessOrEqual(t, pawl.lost, failure.lost/2, "%s: hire days lost", r.name)
	assert.LessOrEqual(t, pawl.cost(), failure.cost()*2, "%s: what care costs at most", r.name)
}

// holdFixed holds it against fixed intervals.
func holdFixed(t *testing.T, r yearRun, plan *yearTally, name string) {
	t.Helper()
	pawl := r.all
	assert.LessOrEqual(t, pawl.past, plan.past/4, "%s, %s: chains past 0.75 %%", r.name, name)
	assert.LessOrEqual(t, pawl.pastKm, plan.pastKm/4, "%s, %s: km on them", r.name, name)
	assert.LessOrEqual(t, total(pawl.killed), total(plan.killed)/2, "%s, %s: rings and cassettes killed", r.name, name)
	assert.LessOrEqual(t, pawl.failed(), plan.failed()*0.6, "%s, %s: incidents", r.name, name)
	assert.LessOrEqual(t, pawl.lost, plan.lost*1.2, "%s, %s: hire days lost", r.name, name)
	assert.LessOrEqual(t, pawl.parts(), plan.parts()*1.05, "%s, %s: parts", r.name, name)
	assert.LessOrEqual(t, pawl.cost(), plan.cost()*1.6, "%s, %s: what care costs at most", r.name, name)
}

// The same fleet gives the same year, whatever the number of cores.
func TestFleetYearSameAgain(t *testing.T) {
	y := newYear(4, 2)
	w := y.ways()[wayWeek]
	first := w.runAll(y)
	assert.Equal(t, first.all, w.runAll(newYear(4, 2)).all)
}
