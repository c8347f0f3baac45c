package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// asOf is the world as it was known at an instant.
func (w *world) asOf(at Instant) *world {
	was := *w
	was.today, was.parts = at, nil
	was.rides = until(w.rides, func(r worldRide) bool { return r.at <= at })
	was.incidents = until(w.incidents, func(i Incident) bool { return i.At <= at })
	was.statuses = until(w.statuses, func(s Status) bool { return s.At <= at })
	was.settings = until(w.settings, func(s Setting) bool { return s.At <= at })
	for _, p := range w.parts {
		if pc := p.asOf(at); len(pc.Stays) > 0 {
			was.parts = append(was.parts, &pc)
		}
	}
	return &was
}

// holdAt is whether the bike has to stay in at an instant, told from all that was
// known then.
func (w *world) holdAt(at Instant) Hold {
	c := w.asOf(at).build()
	var then []Finding
	if r := c.Release(); r != nil {
		then = Assess(w.asOf(r.At).build(), Default())
	}
	return HoldOf(c, Assess(c, Default()), then)
}

// release lets the bike go out from a day to another in spite of a stop.
func (w *world) release(from, to float64) {
	w.next++
	w.statuses = append(w.statuses, Status{ID: w.next, Bike: bikeID, At: days(from), Is: InService, By: "Kim", Reason: "looked at it", Until: days(to)})
}

func (w *world) stand(is Standing, day float64) {
	w.next++
	w.statuses = append(w.statuses, Status{ID: w.next, Bike: bikeID, At: days(day), Is: is, By: "Kim", Reason: "so"})
}

func TestAStopHoldsABikeAndAReleaseLiftsItForAWhile(t *testing.T) {
	w := newWorld(t, 30)
	guide := w.fit("guide", Ever)
	assert.False(t, w.holdAt(days(1)).Held)
	w.look(guide, 2, Unsafe)
	h := w.holdAt(days(3))
	assert.True(t, h.Held)
	assert.Contains(t, h.Why, "guide-1")
	assert.NotEmpty(t, h.Clear)
	assert.Empty(t, h.By)

	w.release(4, 8)
	h = w.holdAt(days(5))
	assert.False(t, h.Held)
	require.NotNil(t, h.Lifted)
	assert.Equal(t, "Kim", h.Lifted.By)
	assert.Equal(t, Stop, Worst(Assess(w.asOf(days(5)).build(), Default())), "the verdict stays")
	assert.True(t, w.holdAt(days(8.1)).Held, "its end is over")

	w.look(guide, 9, Good)
	h = w.holdAt(days(10))
	assert.False(t, h.Held)
	assert.Nil(t, h.Lifted)
}

func TestAReleaseLiftsOnlyWhatWasThere(t *testing.T) {
	unsafe := func() (*world, *PartCase) {
		w := newWorld(t, 30)
		w.fit("frame", Ever)
		guide := w.fit("guide", Ever)
		w.look(guide, 2, Unsafe)
		w.release(4, 20)
		require.False(t, w.holdAt(days(5)).Held)
		return w, guide
	}
	w, _ := unsafe()
	w.happened(Crashed, 6, nil)
	assert.True(t, w.holdAt(days(7)).Held, "a crash after it")
	w, guide := unsafe()
	w.look(guide, 6, Unsafe)
	assert.True(t, w.holdAt(days(7)).Held, "found unsafe once more")
	w, _ = unsafe()
	ring := w.fit("ring", Ever)
	w.look(ring, 6, Unsafe)
	assert.True(t, w.holdAt(days(7)).Held, "another part")
	w, _ = unsafe()
	bolts := w.fit("guide-bolts", days(5))
	w.ride(5.1, Dry, hours(7)).ride(5.6, Dry, hours(7))
	require.Equal(t, Stop, w.judged("guide-bolts", "check").Verdict)
	assert.True(t, w.holdAt(days(7)).Held, "a first check missed since: %s", bolts.Part.Name)

	for _, s := range []Status{{Is: InService, By: "", Until: days(20)}, {Is: InService, By: "Kim"}} {
		w := newWorld(t, 30)
		w.look(w.fit("guide", Ever), 2, Unsafe)
		s.ID, s.Bike, s.At = 999, bikeID, days(4)
		w.statuses = append(w.statuses, s)
		assert.True(t, w.holdAt(days(5)).Held, "a release without a name or an end lifts nothing")
	}
}

func TestWhoHoldsABike(t *testing.T) {
	w := newWorld(t, 30)
	w.stand(Held, 3)
	h := w.holdAt(days(4))
	assert.Equal(t, Hold{Held: true, Why: "held back: so", By: "Kim", Clear: h.Clear}, h)
	w.stand(InService, 5)
	assert.Equal(t, Hold{}, w.holdAt(days(6)))
	w.look(w.fit("guide", Ever), 7, Unsafe)
	w.stand(Retired, 8)
	assert.Equal(t, Hold{}, w.holdAt(days(9)), "gone")
}

// TestAsOfIsTheCaseOfThatDay: at an instant where spans are cut, a case cut back
// judges as the book would have on that day.
func TestAsOfIsTheCaseOfThatDay(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := randomFleetWorld(t, rt)
		c := w.build()
		for _, at := range w.cuts() {
			if at == Ever {
				continue
			}
			assert.Equal(t, stopJobs(w.asOf(at-1).build()), stopJobs(c.AsOf(at-1)))
		}
	})
}

func stopJobs(c Case) (list []string) {
	for _, f := range stops(c, Default()) {
		list = append(list, f.Part+":"+f.Job)
	}
	return list
}

// TestStoodIsWhatEveryHourSays: the days held are those that asking at every hour
// gives.
func TestStoodIsWhatEveryHourSays(t *testing.T) {
	heldOnce := 0
	rapid.Check(t, func(rt *rapid.T) {
		w := randomFleetWorld(t, rt)
		c := w.build()
		from := max(days(2), c.First)
		got, err := Stood(c, Default(), days(2), w.holdAt(w.today), w.ago())
		require.NoError(t, err)
		var want Stand
		const step = Day / 8
		for at := from + step/2; at < w.today; at += step {
			c.Today = at
			if is, _ := c.Standing(); is == Retired {
				continue
			}
			want.Service += 1.0 / 8
			if w.holdAt(at).Held {
				want.Held += 1.0 / 8
			}
		}
		assert.InDelta(t, want.Service, got.Service, 0.75)
		assert.InDelta(t, want.Held, got.Held, 1.5)
		if got.Held > 0.2 && got.Held < got.Service-0.2 {
			heldOnce++
		}
	})
	assert.Greater(t, heldOnce, 10, "some were held for a while")
}

// randomFleetWorld is a hired bike of a few parts with a month of rides, work,
// looks, readings and changes of standing.
func randomFleetWorld(t *testing.T, rt *rapid.T) *world {
	w := newWorld(t, 30)
	w.bike.Fleet = true
	parts := []*PartCase{w.fit("guide", Ever), w.fit("frame", Ever), w.fit("front-pads", Ever)}
	bolts := w.fit("guide-bolts", days(rapid.Float64Range(-2, 10).Draw(rt, "bolts")))
	when := rapid.Float64Range(0.5, 29.5)
	for range rapid.IntRange(3, 25).Draw(rt, "rides") {
		w.ride(when.Draw(rt, "ride"), Dry, hours(rapid.Float64Range(0.3, 4).Draw(rt, "h")))
	}
	for range rapid.IntRange(0, 5).Draw(rt, "facts") {
		day := when.Draw(rt, "day")
		switch rapid.IntRange(0, 5).Draw(rt, "what") {
		case 0:
			w.look(rapid.SampledFrom(parts).Draw(rt, "part"), day, rapid.SampledFrom(Words).Draw(rt, "word"))
		case 1:
			w.read(parts[2], day, rapid.Float64Range(0.2, 2.5).Draw(rt, "mm"))
		case 2:
			if bolts.Stays[0].From < days(day) {
				w.signoff(bolts, day, "check")
			}
		case 3:
			w.happened(Crashed, day, nil)
			w.signoff(parts[1], day+0.4, "look")
		case 4:
			w.release(day, day+rapid.Float64Range(0.5, 6).Draw(rt, "long"))
		default:
			w.stand(rapid.SampledFrom([]Standing{Held, InService}).Draw(rt, "is"), day)
		}
	}
	if rapid.Bool().Draw(rt, "one leaves") {
		w.replaced(rt, rapid.SampledFrom(parts).Draw(rt, "leaves"), when.Draw(rt, "left"))
	}
	return w
}

// replaced puts another part in the place of one, which an incident may have named
// before.
func (w *world) replaced(rt *rapid.T, p *PartCase, day float64) {
	*p = p.asOf(days(day))
	w.off(p, days(day), rapid.SampledFrom([]Cause{"", Worn, Crash}).Draw(rt, "cause"))
	w.fit(p.Part.Kind, days(day))
	if rapid.Bool().Draw(rt, "named") {
		w.happened(rapid.SampledFrom(Happenings).Draw(rt, "happened"), rapid.Float64Range(0, day).Draw(rt, "before"), p)
	}
}
