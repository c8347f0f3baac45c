package report

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/wear"
)

// fleetDue is what is due on bikes: a stop on one in ten, on each one job that is
// due, one part to order and one job that comes next.
func fleetDue(t *testing.T, bikes int) DueList {
	t.Helper()
	d := DueList{Today: on(t, "2026-05-14 18:00"), Bikes: bikes}
	for n := range bikes {
		for _, v := range []wear.Verdict{wear.Stop, wear.Due, wear.Order, wear.Fine} {
			if v == wear.Stop && n%10 != 0 {
				continue
			}
			f := fork(t)
			f.Bike, f.BikeID, f.Verdict, f.Share = fmt.Sprintf("hire %05d", n), wear.ID(n+1), v, 0.9
			f.Part, f.Job = fmt.Sprintf("part-%d", 4*n+int(v)), v.String()
			f.Notes = nil
			d.Findings = append(d.Findings, f)
		}
	}
	return d
}

func TestDueOfAFleetIsAPage(t *testing.T) {
	d := fleetDue(t, 10_000)
	out := due(t, d, Style{Width: 80})
	assert.Less(t, strings.Count(out, "\n"), 400)
	assert.Contains(t, out, "of 10,000 bikes: STOP 1,000 jobs on 1,000 bikes; due 10,000 jobs on 10,000\nbikes; order part 10,000 jobs on 10,000 bikes; coming next 10,000 jobs on 10,000\nbikes.")
	assert.Contains(t, out, "STOP: do not ride ■  1,000 jobs on 1,000 bikes")
	assert.Contains(t, out, "1 to 40 of 31,000 jobs; and 30,960 more: --page 2, --rows N, or --csv")
	assert.NotContains(t, out, "due ▲")
	assert.Contains(t, out, "Nothing due is not a safety check")
	for _, line := range strings.Split(out, "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 80, line)
	}
	last := due(t, d, Style{Width: 80, Pages: Pages{Page: 775}})
	assert.Contains(t, last, "30,961 to 31,000 of 31,000 jobs, the last page")
	assert.Contains(t, last, "coming next  10,000 jobs")

	var beyond *PageError
	require.True(t, errors.As(Due(&strings.Builder{}, d, Style{Pages: Pages{Page: 776}}), &beyond))
	assert.Equal(t, 775, beyond.Last)
}

// One after another the pages name every job once.
func TestPagesOfDueAreTheList(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		d := fleetDue(t, rapid.IntRange(2, 30).Draw(r, "bikes"))
		rows := rapid.IntRange(1, 70).Draw(r, "rows")
		var all strings.Builder
		for page := 1; page == 1 || (page-1)*rows < len(d.Findings); page++ {
			require.NoError(t, Due(&all, d, Style{Width: 100, Pages: Pages{Rows: rows, Page: page}}))
		}
		words := strings.FieldsFunc(all.String(), func(c rune) bool { return strings.ContainsRune(" :\n", c) })
		named := map[string]int{}
		for _, w := range words {
			named[w]++
		}
		for _, f := range d.Findings {
			assert.Equal(t, 1, named[f.Part], "%s in pages of %d", f.Part, rows)
		}
	})
}

// Of one bike all is shown.
func TestDueOfOneBikeIsWhole(t *testing.T) {
	d := fleetDue(t, 60)
	for i := range d.Findings {
		d.Findings[i].Bike, d.Findings[i].BikeID = "enduro", 1
	}
	d.Bikes = 1
	out := due(t, d, Style{Width: 80})
	assert.NotContains(t, out, "--page")
	assert.Contains(t, out, "part-238")
}

// What is beside the jobs does not grow without end either.
func TestDueBesideTheJobs(t *testing.T) {
	d := DueList{Today: on(t, "2026-05-14 18:00"), Bikes: 300}
	for n := range 300 {
		name := fmt.Sprintf("hire %03d", n)
		d.Held = append(d.Held, HeldLine{Bike: name, Status: wear.Status{At: d.Today, Is: wear.Held}})
		d.Watched = append(d.Watched, WatchLine{Bike: name, Part: "frame-1", Look: wear.Look{At: d.Today, Word: wear.Watch}})
		d.Warnings = append(d.Warnings, "check "+name)
	}
	out := due(t, d, Style{Width: 80})
	assert.Less(t, strings.Count(out, "\n"), 70)
	assert.Equal(t, 2, strings.Count(out, "and 280 more"))
	assert.Contains(t, out, "and 295 more of these, see --json.")
}

func TestDueOfSomeVerdicts(t *testing.T) {
	d := DueList{Today: on(t, "2026-05-14 18:00"), Bikes: 3, Only: []wear.Verdict{wear.Stop}}
	assert.Contains(t, due(t, d, Style{Width: 80}), "No job is STOP: do not ride.")
	d.Only = []wear.Verdict{wear.Stop, wear.Due}
	assert.Contains(t, due(t, d, Style{Width: 80}), "No job is STOP: do not ride or due.")
	assert.NotContains(t, due(t, d, Style{Width: 80}), "Nothing is due.")
}

// What is kept of each bike's findings is all that the list shows of them.
func TestWantedShowsTheSame(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		whole := DueList{Today: on(t, "2026-05-14 18:00"), Bikes: 3, All: rapid.Bool().Draw(r, "all")}
		kept, machine := whole, whole
		calm := rapid.Bool().Draw(r, "calm")
		for n := range 3 {
			var ofOne []wear.Finding
			for i := range rapid.IntRange(0, 6).Draw(r, "jobs") {
				f := fork(t)
				f.Bike, f.BikeID, f.Part = fmt.Sprintf("hire %d", n), wear.ID(n+1), fmt.Sprintf("part-%d-%d", n, i)
				f.Verdict = wear.Verdict(rapid.IntRange(0, 3).Draw(r, "verdict"))
				if calm {
					f.Verdict = min(f.Verdict, wear.Order)
				}
				f.Share = rapid.Float64Range(0, 1.5).Draw(r, "share")
				day := whole.Today + wear.Instant(rapid.Int64Range(0, 400*wear.Day).Draw(r, "day"))
				if f.Date = (wear.Dates{}); rapid.Bool().Draw(r, "dated") {
					f.Date = wear.Dates{P10: &day, P50: &day, P90: &day}
				}
				ofOne = append(ofOne, f)
			}
			whole.Findings = append(whole.Findings, ofOne...)
			kept.Findings = append(kept.Findings, Wanted(whole.All, false)(ofOne)...)
			machine.Findings = append(machine.Findings, Wanted(whole.All, true)(ofOne)...)
		}
		assert.Equal(t, due(t, whole, Style{Width: 90}), due(t, kept, Style{Width: 90}))
		var want, got strings.Builder
		require.NoError(t, DueJSON(&want, whole, Style{}))
		require.NoError(t, DueJSON(&got, machine, Style{}))
		assert.Equal(t, want.String(), got.String())
	})
}
