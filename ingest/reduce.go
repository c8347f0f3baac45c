package ingest

import (
	"fmt"
	"math"
	"sync"

	"pawl/wear"
)

const (
	enough     = 0.98 // of the moving time: a quantity known for so much is known
	leastKnown = 0.25 // of the moving time: known for less, the rest cannot be told from it
)

// Reduce turns a track into the load that it put through the bike, each
// quantity recorded, estimated or lacking. It never fails: absurd samples are
// left out, and what was left out or does not fit is told in the notes. The
// track is not changed.
func Reduce(t *Track, m Model) Outcome {
	out := Outcome{Start: wear.Instant(t.Start), Elapsed: elapsed(t)}
	m = m.filled()
	if len(t.Samples) < 2 {
		totals := t.Totals
		if totals.Climb == 0 && totals.Descent == 0 { // what devices without altitude write
			totals.Climb, totals.Descent = math.NaN(), math.NaN()
		}
		few := reckon(totalsOf(totals), t.Indoor, m)
		few.Start, few.Elapsed = out.Start, out.Elapsed
		few.Notes = append(few.Notes, "no samples")
		return few
	}
	samples, breaks := inOrder(t.Samples, t.Breaks)
	r := &reducer{track: t, model: m, samples: samples, out: out}
	buf := columnsPool.Get().(*[]float64)
	defer columnsPool.Put(buf)
	r.columns.lay(buf, len(samples))
	r.clock(tidyPauses(t.Pauses), breaks)
	r.moving = sum(r.dt)
	r.sums()
	return r.out
}

// sums runs the passes over the steps; each needs those before it.
func (r *reducer) sums() {
	r.travel()
	r.speeds()
	r.altitudes()
	r.sensors()
	r.uplift()
	r.ridden()
	r.sumTravel()
	r.climbs()
	r.needs()
	r.pedalling()
	r.push()
	r.gears()
	if r.absurd > 0 {
		r.note("%s left out", count(r.absurd, "absurd value"))
	}
	if r.track.Indoor {
		r.note("indoors: climb does not count, brakes are spared")
	}
}

// elapsed is the time from start to end in ms: never negative, at most ten years.
func elapsed(t *Track) int64 {
	s := seconds(t.Start, t.End)
	return int64(1000 * min(max(s, 0), 3652*86400))
}

// reducer is the work on one track. A step i leads from sample i-1 to sample i.
type reducer struct {
	track   *Track
	model   Model
	samples []Sample // in order of time
	out     Outcome
	columns

	carried  carried // what the lifts took out
	moving   float64 // s ridden, as the steps say
	heard    float64 // s of moving with known altitude
	odometer bool    // distance comes from the device's odometer
	jumps    int     // of position, left out
	absurd   int     // values that no ride has, left out
}

// columns hold one value a step. NaN is not known.
type columns struct {
	t     []float64 // s since the first sample, at the step's end
	gap   []float64 // s on the clock
	dt    []float64 // s ridden: timer stops subtracted, clamped
	dist  []float64 // m
	v     []float64 // m/s at its end
	h     []float64 // m, evened-out altitude at its end; the level is free
	need  []float64 // W at the wheel to go so: below zero the brakes took it
	pedal []float64 // 0–1: how much of the step was spent pedalling, as far as its shape tells
	turns []float64 // of the crank; a minute until they are summed
	work  []float64 // J at the crank; W until they are summed
	tmp   []float64

	broken []bool // nothing is known of the way
	cut    []bool // broken, or the timer stood still
}

const nColumns = 11

// columnsPool keeps the columns for the next ride: they are large, and a pass
// over a thousand rides would make a thousand of them.
var columnsPool = sync.Pool{New: func() any { return new([]float64) }}

// lay cuts the columns for n steps from the buffer, which grows as needed.
func (c *columns) lay(buf *[]float64, n int) {
	if len(*buf) < nColumns*n {
		*buf = make([]float64, nColumns*n)
	}
	rest := *buf
	for _, col := range []*[]float64{&c.t, &c.gap, &c.dt, &c.dist, &c.v, &c.h, &c.need, &c.pedal, &c.turns, &c.work, &c.tmp} {
		*col, rest = rest[:n:n], rest[n:]
	}
	c.t[0], c.gap[0], c.dt[0] = 0, 0, 0
	for _, col := range [][]float64{c.dist, c.h, c.need} {
		fill(col, math.NaN())
	}
	c.broken, c.cut = make([]bool, n), make([]bool, n)
}

// record puts a measured amount, in SI, into the outcome.
func (r *reducer) record(q wear.Quantity, si float64) { r.out.Recorded[q] = stored(q, si) }

// estimate puts an estimated amount, in SI, into the outcome.
func (r *reducer) estimate(q wear.Quantity, si float64) { r.out.Estimated[q] = stored(q, si) }

func (r *reducer) lacks(q wear.Quantity) { r.out.Lacking = r.out.Lacking.With(q) }

// most is more than any ride has, in SI: a guard for the integers.
const most = 1e9

func stored(q wear.Quantity, si float64) int64 {
	if !(si > 0) {
		return 0
	}
	return q.Stored(min(si, most))
}

// total is the device's own total where it counts and is a possible amount of
// q, else NaN.
func (r *reducer) total(si float64, q wear.Quantity) float64 {
	if r.model.IgnoreTotals || !(si >= 0 && si < most) {
		return math.NaN()
	}
	if si == 0 && q != wear.Climb && q != wear.Descent { // what devices write for "none"
		return math.NaN()
	}
	return si
}

// unfit notes a device total that does not fit beside the samples.
func (r *reducer) unfit(what, total, samples string) {
	r.note("the device's total for %s, %s, does not fit its samples, %s: samples used", what, total, samples)
}

// unlikely notes a device total that no samples confirm and no ride has.
func (r *reducer) unlikely(what, total string) {
	r.note("the device's total for %s, %s, does not fit the ride: left out", what, total)
}

func (r *reducer) note(format string, args ...any) {
	r.out.Notes = append(r.out.Notes, fmt.Sprintf(format, args...))
}

func km(m float64) string      { return fmt.Sprintf("%.1f km", m/1000) }
func metres(m float64) string  { return fmt.Sprintf("%.0f m", m) }
func percent(x float64) string { return fmt.Sprintf("%.0f %%", 100*x) }
func plain(x float64) string   { return fmt.Sprintf("%.0f", x) }
func kJ(j float64) string      { return fmt.Sprintf("%.0f kJ", j/1000) }
func clockTime(s float64) string {
	return fmt.Sprintf("%d:%02d h", int(s)/3600, int(s)/60%60)
}

// count is a number and its noun, in the plural where there are several.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
