package wear

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestALookThatSaysUnsafeStops(t *testing.T) {
	for _, kind := range []string{"guide", "guide-bolts", "ring", "fork", "chain", "front-pads", "cushion"} {
		clears := map[string]func(w *world, p *PartCase){
			"good":       func(w *world, p *PartCase) { w.look(p, 3, Good) },
			"watch":      func(w *world, p *PartCase) { w.look(p, 3, Watch) },
			"a new part": func(w *world, p *PartCase) { w.off(p, days(3), Broke); w.fit(kind, days(3)) },
		}
		for name, clear := range clears {
			w := newWorld(t, 10)
			p := w.fit(kind, days(0))
			w.look(p, 1, Good)
			w.look(p, 2, Unsafe)
			f := w.judged(kind, "look")
			assert.Equal(t, Stop, f.Verdict, kind)
			assert.Equal(t, ByLook, f.Basis)
			assert.Contains(t, f.Clears, "good or watch, or fit a new one")
			clear(w, p)
			assert.NotContains(t, verdicts(w), Stop, "%s cleared by %s", kind, name)
		}
	}
}

func TestWhatDoesNotClearUnsafe(t *testing.T) {
	w := newWorld(t, 10)
	guide := w.fit("guide", days(0))
	w.look(guide, 2, Unsafe)
	w.look(guide, 3, Replace)
	w.signoff(guide, 4, "look")
	assert.Equal(t, Stop, w.judged("guide", "look").Verdict)
	assert.Equal(t, Due, w.judged("guide", "change").Verdict)
	w.look(guide, 5, Good)
	guide.Looks[len(guide.Looks)-1].Void = true
	assert.Equal(t, Stop, w.judged("guide", "look").Verdict)
}

func verdicts(w *world) []Verdict {
	var vs []Verdict
	for _, f := range Assess(w.build(), Default()) {
		vs = append(vs, f.Verdict)
	}
	return vs
}

func TestAFirstCheckMissedByFiveHoursStops(t *testing.T) {
	for h, want := range map[float64]Verdict{4.9: Due, 5: Stop, 5.1: Stop} {
		w := newWorld(t, 30)
		bolts := w.fit("guide-bolts", days(0))
		// Two rides of equal length: the check fell due after the first.
		w.ride(1, Dry, hours(h)).ride(2, Dry, hours(h))
		f := w.judged("guide-bolts", "check")
		assert.Equal(t, want, f.Verdict, "%g h", h)
		if want == Stop {
			assert.Equal(t, "check the torque of the guide bolts and sign it off", f.Clears)
		}
		w.signoff(bolts, 3, "check")
		assert.Equal(t, Fine, w.judged("guide-bolts", "check").Verdict)
	}
}

func TestAFirstCheckMissedInShortRides(t *testing.T) {
	for n, want := range map[int]Verdict{9: Fine, 10: Due, 19: Due, 20: Stop} {
		w := newWorld(t, 30)
		w.fit("guide-bolts", days(0))
		for i := range n {
			w.ride(1+float64(i), Dry, hours(0.5))
		}
		assert.Equal(t, want, w.judged("guide-bolts", "check").Verdict, "%d half hours: due at 5 h, stop at 10", n)
	}
}

func TestDependentWorkMissedStopsToo(t *testing.T) {
	w := newWorld(t, 30)
	bolts := w.fit("crank-bolt", Ever)
	w.ride(1, Dry, hours(1))
	w.signoff(bolts, 2, "check")
	w.fit("bottom-bracket", days(3))
	w.ride(4, Dry, hours(6)).ride(5, Dry, hours(6))
	f := w.judged("crank-bolt", "check")
	assert.Equal(t, Stop, f.Verdict)
	assert.Contains(t, f.Reasons[0].Text, "bottom-bracket-1 was fitted")
}

func TestABikeThatCameWithItsPartsIsNotStoppedByFirstChecks(t *testing.T) {
	w := newWorld(t, 30)
	w.fit("guide-bolts", Ever)
	w.ride(1, Dry, hours(10)).ride(2, Dry, hours(10))
	assert.Equal(t, Due, w.judged("guide-bolts", "check").Verdict)
}

func TestAHiredBikeStopsAtTwiceTheIntervalOfASafetyInspection(t *testing.T) {
	for _, c := range []struct {
		kind, job string
		h         float64
	}{{"guide-bolts", "check", 50}, {"frame", "look", 100}, {"headset", "check", 100}} {
		for _, fleet := range []bool{false, true} {
			for step, stop := range map[float64]bool{-0.1: false, 0: true, 0.1: true} {
				w := newWorld(t, 30)
				w.bike.Fleet = fleet
				p := w.fit(c.kind, Ever)
				w.ride(0, Dry, hours(1))
				w.signoff(p, 1, c.job)
				w.ride(2, Dry, hours(c.h+step))
				f := w.judged(c.kind, c.job)
				assert.Equal(t, stop && fleet, f.Verdict == Stop, "%s fleet %v at %g h", c.kind, fleet, c.h+step)
				w.signoff(p, 3, c.job)
				assert.Equal(t, Fine, w.judged(c.kind, c.job).Verdict)
			}
		}
	}
}

func TestAHiredBikeIsNotStoppedByServices(t *testing.T) {
	w := newWorld(t, 2000)
	w.bike.Fleet = true
	w.fit("fork", days(0))
	w.fit("brake-fluid", days(0))
	w.ride(1, Dry, hours(900))
	assert.NotContains(t, verdicts(w), Stop)
}

func TestACrashStopsUntilTheFrameWasLookedAt(t *testing.T) {
	w := newWorld(t, 30)
	frame := w.fit("frame", Ever)
	bar := w.fit("dropper", Ever)
	w.ride(1, Dry, hours(1))
	w.look(frame, 2, Good)
	w.off(bar, days(5), Crash)
	f := w.judged("frame", "look")
	require.Equal(t, Stop, f.Verdict)
	assert.Equal(t, "look at the frame for cracks and record what you saw", f.Clears)
	assert.Contains(t, f.Caution, "carbon")
	w.look(frame, 6, Good)
	assert.Equal(t, Fine, w.judged("frame", "look").Verdict)
}

func TestEveryStopSaysWhatClearsIt(t *testing.T) {
	w := newWorld(t, 5000)
	w.bike.Fleet = true
	for _, k := range Default().Kinds() {
		p := w.fit(k.Name, days(0))
		w.look(p, 1, Unsafe)
		if k.Measurable() == Elongation {
			w.read(p, 2, 1.2)
		} else if k.Measurable() != "" {
			w.read(p, 2, 0.1)
		}
	}
	w.ride(3, Mud, never).ride(4, Mud, never)
	fs := Assess(w.build(), Default())
	stops := 0
	for _, f := range fs {
		assert.Equal(t, f.Verdict == Stop, f.Clears != "", "%s %s", f.Part, f.Job)
		if f.Verdict >= Due {
			assert.GreaterOrEqual(t, f.Share, 1.0, "%s %s", f.Part, f.Job)
			assert.NotEmpty(t, f.Reasons, "%s %s", f.Part, f.Job)
			assert.Equal(t, w.today, *f.Date.P50)
		}
		if f.Verdict == Stop {
			stops++
		}
	}
	assert.Greater(t, stops, len(Default().Kinds()))
	assert.True(t, slices.IsSortedFunc(fs, byUrgency))
}

// What came with the bike was not fitted by anybody here.
func TestWhatCameWithTheBikeIsToldSo(t *testing.T) {
	for _, came := range []bool{true, false} {
		w := newWorld(t, 30)
		w.fit("guide-bolts", days(1)).Stays[0].Came = came
		w.ride(2, Dry, hours(3))
		f := w.judged("guide-bolts", "check")
		require.NotEmpty(t, f.Reasons)
		want := "since it was fitted"
		if came {
			want = "since it came with the bike"
		}
		assert.Contains(t, f.Reasons[0].Text, want)
	}
}
