package wear

import (
	"cmp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// ago is what the book of the world would say.
func (w *world) ago() Ago {
	return Ago{
		Held: func(at Instant) (bool, error) { return w.holdAt(at).Held, nil },
		Rides: func(from, to Instant) (list []Ride, err error) {
			for _, r := range w.rides {
				if from <= r.at && r.at < to {
					list = append(list, Ride{Start: r.at, Ground: r.g, Recorded: r.l})
				}
			}
			slices.SortStableFunc(list, func(a, b Ride) int { return cmp.Compare(a.Start, b.Start) })
			return list, nil
		},
	}
}

// pastWorld is a hired bike with whatever can stop one, or let it go.
func pastWorld(t *testing.T, rt *rapid.T) *world {
	w := randomFleetWorld(t, rt)
	if rapid.Bool().Draw(rt, "many parts") {
		w = randomWorld(t, rt)
		w.bike.Fleet = true
	}
	end := float64(w.today-days(0)) / Day
	day := rapid.Float64Range(0, end)
	for range rapid.IntRange(0, 3).Draw(rt, "bolts") { // first checks that are missed
		w.fit("ring-bolts", days(day.Draw(rt, "fitted")))
		for d := range 4 {
			w.ride(day.Draw(rt, "ride")+float64(d)/8, Wet, hours(rapid.Float64Range(0.3, 4).Draw(rt, "h")))
		}
	}
	if rapid.Bool().Draw(rt, "set") { // the days stop a bike too
		text := "[[job]]\nkind = \"guide\"\njob = \"look\"\nthen = { hours = 20, days = 3 }\n"
		on := days(rapid.SampledFrom([]float64{-1, day.Draw(rt, "set on")}).Draw(rt, "set"))
		w.settings = []Setting{{ID: 1, Name: SettingSchedule, Scope: ForKind, Text: text, At: on}}
	}
	if rapid.Bool().Draw(rt, "sold") {
		w.stand(Retired, day.Draw(rt, "sold on"))
	}
	w.rides = until(w.rides, func(r worldRide) bool { return r.at <= w.today })
	return w
}

// Whether a stop held the bike at an instant is told from the case of today as
// from all that was known then.
func TestThePastIsWhatWasKnownThen(t *testing.T) {
	var stopped, went int
	rapid.Check(t, func(rt *rapid.T) {
		w := pastWorld(t, rt)
		c := w.build()
		p := past{c: &c, s: Default(), ago: w.ago()}
		for range 20 {
			at := Instant(rapid.Int64Range(int64(days(0.5)), int64(w.today)).Draw(rt, "at"))
			if rapid.Bool().Draw(rt, "at a cut") {
				at = max(days(0.5), rapid.SampledFrom(w.cuts()).Draw(rt, "cut")+Instant(rapid.IntRange(-1, 1).Draw(rt, "off")))
			}
			if at > w.today {
				continue
			}
			got, err := p.held(at)
			require.NoError(t, err)
			require.Equal(t, w.holdAt(at).Held, got, "at %v of %v", float64(at-days(0))/Day, w.today)
			stopped, went = stopped+boolInt(got), went+boolInt(!got)
		}
	})
	assert.Greater(t, stopped, 20)
	assert.Greater(t, went, 20)
}

func TestThePastSeesThroughWhatCameLaterInTheSpan(t *testing.T) {
	unchecked := func() *world { // a first check of bolts that is missed by day 10
		w := newWorld(t, 30)
		w.bike.Fleet = true
		w.fit("guide-bolts", days(1))
		return w.ride(2, Dry, hours(3)).ride(10, Dry, hours(9))
	}
	held := func(w *world, day float64) bool {
		c := w.build()
		p := past{c: &c, s: Default(), ago: w.ago()}
		is, err := p.held(days(day))
		require.NoError(t, err)
		require.Equal(t, w.holdAt(days(day)).Held, is, "on day %g", day)
		return is
	}
	w := unchecked()
	assert.False(t, held(w, 9))
	assert.True(t, held(w, 11))
	w.stand(Retired, 12)
	assert.True(t, held(w, 11), "sold a day later")
	w = unchecked()
	w.happened(Crashed, 1.5, nil)
	assert.True(t, held(w, 9), "a crash, and no frame to look at")
}
