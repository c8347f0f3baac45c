package wear

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// never are loads beyond any count of the schedule.
var never = Load{Distance: 1e10, Moving: 1e11, Turns: 1e11, Braking: 1e9}

func TestACountNeverCondemnsWhatCanBeMeasuredOrLookedAt(t *testing.T) {
	for _, k := range Default().Kinds() {
		if !k.Inspected() {
			continue
		}
		w := newWorld(t, 5000)
		w.fit(k.Name, days(0))
		w.ride(1, Dry, never).ride(4990, Dry, turns(1e6))
		asked := false
		for _, f := range Assess(w.build(), Default()) {
			if f.Act == ActChange {
				assert.Equal(t, Fine, f.Verdict, "%s %s", f.Kind, f.Job)
			}
			asked = asked || f.Act.Inspects() && f.Verdict >= Due
		}
		assert.True(t, asked, "%s: a reading or a look is asked for", k.Name)
	}
}

func TestWhatCanNeitherBeMeasuredNorLookedAtIsChangedByCount(t *testing.T) {
	for _, kind := range []string{"cable", "brake-fluid"} {
		w := newWorld(t, 365)
		w.fit(kind, days(0))
		assert.Equal(t, Due, w.judged(kind, "change").Verdict, kind)
	}
}

func TestExpectedLifeAsksForALookOnce(t *testing.T) {
	for n, want := range map[float64]Verdict{999_999: Fine, 1_000_000: Due} {
		w := newWorld(t, 100)
		ring := w.fit("ring", days(0))
		w.ride(1, Dry, turns(900_000))
		w.look(ring, 2, Good)
		w.ride(3, Dry, turns(n-900_000))
		assert.Equal(t, want, w.judged("ring", "look").Verdict, "%g turns", n)
		assert.Equal(t, Fine, w.judged("ring", "change").Verdict)
		w.ride(4, Dry, turns(10))
		w.look(ring, 5, Good)
		w.ride(6, Dry, turns(10))
		assert.Equal(t, Fine, w.judged("ring", "look").Verdict, "looked at since")
	}
}

func TestAnOpeningFigureCountsForLifeOnly(t *testing.T) {
	w := newWorld(t, 100)
	ring := w.fit("ring", days(0))
	ring.Stays[0].Opening = turns(800_000)
	w.ride(2, Dry, turns(10))
	f := w.judged("ring", "look")
	assert.InDelta(t, 10, f.Used, 1e-9)
	assert.Equal(t, Due, f.Verdict, "800,000 turns on ground unmarked are 1.12 M")
	assert.InDelta(t, 800_000*1.4+10, w.judged("ring", "change").Used, 1e-6)
	w.look(ring, 3, Good)
	assert.Equal(t, Fine, w.judged("ring", "look").Verdict)
}

func TestReadingsAgainstLimits(t *testing.T) {
	for _, c := range []struct {
		kind   string
		speeds int
		fleet  bool
		value  float64
		want   Verdict
	}{
		{"chain", 12, false, 0.49, Fine}, {"chain", 12, false, 0.5, Due}, {"chain", 12, false, 0.51, Due},
		{"chain", 11, false, 0.5, Due}, {"chain", 10, false, 0.5, Fine},
		{"chain", 10, false, 0.74, Fine}, {"chain", 10, false, 0.75, Due}, {"chain", 10, false, 0.76, Due},
		{"chain", 12, false, 1.0, Due}, {"chain", 12, true, 0.99, Due}, {"chain", 12, true, 1.0, Stop}, {"chain", 12, true, 1.01, Stop},
		{"rear-pads", 12, false, 1.1, Fine}, {"rear-pads", 12, false, 1.0, Due}, {"rear-pads", 12, false, 0.6, Due},
		{"rear-pads", 12, false, 0.5, Stop}, {"rear-pads", 12, false, 0.4, Stop},
		{"front-rotor", 12, false, 1.56, Fine}, {"front-rotor", 12, false, 1.55, Due}, {"front-rotor", 12, false, 1.51, Due},
		{"front-rotor", 12, false, 1.5, Stop}, {"front-rotor", 12, false, 1.49, Stop},
		{"rear-tyre", 12, false, 2.1, Fine}, {"rear-tyre", 12, false, 2.0, Due}, {"rear-tyre", 12, false, 1.9, Due},
	} {
		w := newWorld(t, 100)
		w.bike.Speeds, w.bike.Fleet = c.speeds, c.fleet
		p := w.fit(c.kind, days(0))
		w.read(p, 2, c.value)
		f := w.judged(c.kind, "change")
		assert.Equal(t, c.want, f.Verdict, "%s %g, %d-speed, fleet %v", c.kind, c.value, c.speeds, c.fleet)
		assert.Equal(t, ByReading, f.Basis)
		assert.InDelta(t, c.value, f.Used, 0)
		if c.want == Stop {
			assert.NotEmpty(t, f.Clears)
		}
		w.off(p, days(3), Worn)
		w.fit(c.kind, days(3))
		assert.Equal(t, Fine, w.judged(c.kind, "change").Verdict, "a new part clears")
	}
}

func TestTheStampOfARotorGoesBeforeTheDefault(t *testing.T) {
	for v, want := range map[float64]Verdict{1.76: Fine, 1.75: Due, 1.71: Due, 1.7: Stop} {
		w := newWorld(t, 100)
		p := w.fit("rear-rotor", days(0))
		p.Part.Stamp = 1.7
		w.read(p, 2, v)
		assert.Equal(t, want, w.judged("rear-rotor", "change").Verdict, "%g mm", v)
	}
}

func TestTheNewestReadingThatStandsDecides(t *testing.T) {
	w := newWorld(t, 100)
	p := w.fit("chain", days(0))
	w.read(p, 2, 0.6)
	w.read(p, 3, 0.4)
	assert.Equal(t, Fine, w.judged("chain", "change").Verdict)
	p.Readings[1].Void = true
	assert.Equal(t, Due, w.judged("chain", "change").Verdict)
	w.read(p, 2, 0.3) // the same instant, a later id
	assert.Equal(t, Fine, w.judged("chain", "change").Verdict)
}

func TestAChainIsMeasuredWhenFittedThenEvery60000(t *testing.T) {
	w := newWorld(t, 100)
	p := w.fit("chain", days(0))
	f := w.judged("chain", "measure")
	assert.Equal(t, Due, f.Verdict)
	assert.Equal(t, "not measured since it was fitted", f.Reasons[0].Text)
	w.read(p, 0, 0.02)
	assert.Equal(t, Fine, w.judged("chain", "measure").Verdict, "at the instant of the fit")
	w.ride(1, Dry, turns(59_999))
	assert.Equal(t, Fine, w.judged("chain", "measure").Verdict)
	w.ride(2, Dry, turns(1))
	assert.Equal(t, Due, w.judged("chain", "measure").Verdict)
}

func TestMeasuringComesSoonerPastSixtyPerCentOrAfterMud(t *testing.T) {
	for _, c := range []struct {
		value float64
		g     Ground
		limit float64
	}{{0.30, Dry, 60_000}, {0.31, Dry, 30_000}, {0.02, Mud, 30_000}, {0.02, Wet, 60_000}} {
		w := newWorld(t, 100)
		p := w.fit("chain", days(0))
		w.read(p, 1, c.value)
		w.ride(2, c.g, turns(1))
		assert.InDelta(t, c.limit, w.judged("chain", "measure").Limit, 0, "%g %% on %s", c.value, c.g)
	}
}

func TestAWornChainAsksForLooksAtRingAndCassette(t *testing.T) {
	for _, c := range []struct {
		value float64
		limit float64
		want  Verdict
	}{{0.5, 300_000, Fine}, {0.51, 150_000, Fine}, {0.75, 150_000, Fine}, {0.76, 150_000, Due}} {
		w := newWorld(t, 100)
		chain, ring := w.fit("chain", days(0)), w.fit("ring", days(0))
		cassette := w.fit("cassette", days(0))
		w.ride(1, Dry, turns(1000))
		w.read(chain, 2, c.value)
		f := w.judged("ring", "look")
		assert.InDelta(t, c.limit, f.Limit, 0, "%g %%", c.value)
		assert.Equal(t, c.want, f.Verdict, "ring at %g %%", c.value)
		assert.Equal(t, c.want, w.judged("cassette", "look").Verdict, "cassette at %g %%", c.value)
		w.look(ring, 3, Watch)
		w.look(cassette, 3, Good)
		assert.Equal(t, Fine, w.judged("ring", "look").Verdict)
		assert.Equal(t, Fine, w.judged("cassette", "look").Verdict)
		w.read(chain, 4, c.value)
		assert.Equal(t, c.want, w.judged("ring", "look").Verdict, "measured again")
	}
}

func TestLooksDecide(t *testing.T) {
	w := newWorld(t, 100)
	ring := w.fit("ring", days(0))
	w.look(ring, 1, Watch)
	assert.Equal(t, Fine, w.judged("ring", "change").Verdict)
	w.look(ring, 2, Replace)
	f := w.judged("ring", "change")
	assert.Equal(t, Due, f.Verdict)
	assert.Equal(t, ByLook, f.Basis)
	assert.Contains(t, f.Advice, "narrow-wide")
	w.look(ring, 3, Good)
	assert.Equal(t, Fine, w.judged("ring", "change").Verdict)
}

func TestNothingElseIsAskedOfAPartThatIsToBeChanged(t *testing.T) {
	w := newWorld(t, 100)
	chain := w.fit("chain", days(0))
	w.read(chain, 1, 0.6)
	w.ride(2, Dry, turns(70_000))
	assert.Equal(t, Due, w.judged("chain", "change").Verdict)
	f := w.judged("chain", "measure")
	assert.Equal(t, Fine, f.Verdict)
	assert.Contains(t, f.Notes, "not asked for: the part is to be changed")
}

func TestByForecastPastTheLimitMeasuringIsDueAndChangeIsNot(t *testing.T) {
	w := newWorld(t, 100)
	chain := w.fit("chain", days(0))
	w.ride(1, Dry, turns(50_000))
	w.read(chain, 90, 0.28)
	assert.Equal(t, Fine, w.judged("chain", "measure").Verdict)
	w.ride(91, Dry, turns(29_000)).ride(92, Dry, turns(29_000)).ride(93, Dry, turns(100_000))
	w.signoff(chain, 92.5, "clean") // cuts the span
	f := w.judged("chain", "measure")
	require.Equal(t, Due, f.Verdict)
	assert.Contains(t, f.Reasons[len(f.Reasons)-1].Text, "by the forecast come to the limit since the last reading of 0.28 %")
	assert.Equal(t, Order, w.judged("chain", "change").Verdict)
}

func TestABikeThatStandsHasNoDate(t *testing.T) {
	w := newWorld(t, 300)
	w.fit("chain", days(0))
	w.ride(1, Dry, turns(1000))
	f := w.judged("chain", "clean")
	assert.Nil(t, f.Date.P50)
	assert.InDelta(t, 24_000, *f.Left.P50, 1e-6)
	assert.Contains(t, f.Notes, "not ridden in the last 12 weeks: no date")
}

func TestPadsNotMeasuredYetSayWhatBrakingAloneWouldLeave(t *testing.T) {
	for mj, want := range map[float64]string{4: "1.5 mm", 8: "1 mm", 12: "0.5 mm", 40: "0 mm"} {
		w := newWorld(t, 30)
		pads := w.fit("rear-pads", days(0))
		w.ride(1, Dry, Load{Braking: int64(mj * 1e6)})
		f := w.judged("rear-pads", "change")
		assert.Equal(t, Fine, f.Verdict, "a count condemns no pad")
		assert.Contains(t, f.Notes, "going by the braking alone it would read about "+want)
		assert.Equal(t, Due, w.judged("rear-pads", "measure").Verdict)
		w.read(pads, 2, 1.8)
		assert.NotContains(t, strings.Join(w.judged("rear-pads", "change").Notes, ""), "going by")
	}
}

func TestThreadlockedBoltsAreLookedAtFirst(t *testing.T) {
	w := newWorld(t, 30)
	bolts := w.fit("ring-bolts", days(0))
	assert.Contains(t, w.judged("ring-bolts", "check").Advice, "crosswise")
	bolts.Part.Treated = "threadlock"
	assert.Contains(t, w.judged("ring-bolts", "check").Advice, "look at the witness marks")
}
