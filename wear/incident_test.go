package wear

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestACrashOrRecallStopsTheBikeUntilItWasLookedAt(t *testing.T) {
	for _, what := range []Happening{Crashed, Recalled} {
		w := newWorld(t, 30)
		frame, bar := w.fit("frame", Ever), w.fit("stem-bar-bolts", Ever)
		w.ride(1, Dry, hours(1))
		w.look(frame, 2, Good)
		w.happened(what, 5, nil)
		w.incidents[0].Note = "off the big drop"
		f := w.judged("frame", "look")
		require.Equal(t, Stop, f.Verdict, what)
		assert.Contains(t, f.Reasons[0].Text, "2024-10-09")
		assert.Contains(t, f.Reasons[0].Text, "not looked at since: off the big drop")
		assert.Equal(t, "look at the frame for cracks and record what you saw", f.Clears)
		assert.Contains(t, f.Caution, "carbon goes to a specialist")
		w.look(bar, 6, Good)
		assert.Equal(t, Stop, w.judged("frame", "look").Verdict, "another part was looked at")
		w.look(frame, 6, Watch)
		assert.Equal(t, Fine, w.judged("frame", "look").Verdict)
		w.happened(what, 7, nil)
		assert.Equal(t, Stop, w.judged("frame", "look").Verdict, "once more")
		w.incidents[1].Void = true
		assert.Equal(t, Fine, w.judged("frame", "look").Verdict)
		w.happened(what, 31, nil)
		assert.Equal(t, Fine, w.judged("frame", "look").Verdict, "after the day of the case")
	}
}

func TestACrashOfABikeWithoutAFrameInTheBookStopsToo(t *testing.T) {
	w := newWorld(t, 30)
	w.fit("chain", Ever)
	w.happened(Recalled, 5, nil)
	fs := Assess(w.build(), Default())
	require.Equal(t, Stop, fs[0].Verdict)
	assert.Equal(t, "frame", fs[0].Kind)
	assert.Contains(t, fs[0].Clears, "fit the frame in the book")
	frame := w.fit("frame", Ever)
	assert.Equal(t, Stop, w.judged("frame", "look").Verdict)
	w.look(frame, 6, Good)
	assert.NotContains(t, verdicts(w), Stop)
}

func TestAnIncidentOfOnePartAsksForALookAtIt(t *testing.T) {
	for what, want := range map[Happening]Verdict{Crashed: Stop, Recalled: Stop, Struck: Due, Dropped: Due} {
		for _, kind := range []string{"rear-wheel", "fork", "ring", "cushion"} {
			w := newWorld(t, 30)
			w.fit("frame", Ever)
			p := w.fit(kind, Ever)
			w.happened(what, 5, p)
			f := w.judged(kind, "look")
			assert.Equal(t, want, f.Verdict, "%s of %s", what, kind)
			if what == Crashed {
				assert.Contains(t, f.Caution, "carbon")
			}
			if what == Recalled {
				assert.Contains(t, f.Caution, "the maker's notice")
			}
			assert.Equal(t, Fine, w.judged("frame", "look").Verdict)
			e, err := Explain(w.build(), Default(), p.Part.ID, "look")
			require.NoError(t, err)
			assert.Equal(t, f, e.Finding)
			w.look(p, 5, Good)
			assert.Equal(t, Fine, Worst(Assess(w.build(), Default())), "%s of %s looked at", what, kind)
		}
	}
}

func TestAStrikeAsksForALookAtWheelsAndGuide(t *testing.T) {
	w := newWorld(t, 30)
	kinds := []string{"front-wheel", "rear-wheel", "guide", "frame", "ring"}
	for _, k := range kinds {
		w.fit(k, Ever)
	}
	w.happened(Struck, 5, nil)
	for i, k := range kinds {
		want := Fine
		if i < 3 {
			want = Due
		}
		assert.Equal(t, want, w.judged(k, "look").Verdict, k)
	}
}

// Two drops within 10 h of riding: common practice, no published source.
func TestADroppedChainIsEvidenceWhenItDropsAgain(t *testing.T) {
	for h, want := range map[float64]Verdict{9.9: Due, 10: Due, 10.1: Fine} {
		w := newWorld(t, 30)
		parts := map[string]*PartCase{}
		for _, k := range []string{"ring", "guide", "derailleur-pulleys"} {
			parts[k] = w.fit(k, Ever)
		}
		cut := w.fit("cushion", Ever) // its looks cut the spans where the chain drops
		w.ride(0, Dry, hours(0.1))
		w.signoff(parts["guide"], 1, "look")
		w.happened(Dropped, 5, nil)
		w.look(cut, 5, Good)
		assert.Equal(t, Fine, w.judged("ring", "look").Verdict, "once")
		w.ride(6, Dry, hours(h/2)).ride(7, Mud, hours(h/2))
		w.look(cut, 8, Good)
		w.happened(Dropped, 8, nil)
		for k, p := range parts {
			f := w.judged(k, "look")
			assert.Equal(t, want, f.Verdict, "%s, %g h", k, h)
			if want == Due {
				assert.Contains(t, f.Reasons[0].Text, "dropped at least 2 times within 10 h of riding")
			}
			w.look(p, 9, Good)
			assert.Equal(t, Fine, w.judged(k, "look").Verdict)
		}
	}
}

// Where no fact cuts the span at a drop, its riding counts by the time.
func TestDropsFarApartInOneSpanAreNotTakenTogether(t *testing.T) {
	w := newWorld(t, 100)
	w.fit("ring", Ever)
	for i := range 90 {
		w.ride(float64(i), Dry, hours(0.5))
	}
	w.happened(Dropped, 10, nil)
	w.happened(Dropped, 60, nil)
	assert.Equal(t, Fine, w.judged("ring", "look").Verdict)
	w.happened(Dropped, 66, nil)
	assert.Equal(t, Due, w.judged("ring", "look").Verdict)
}

func TestDaysAreSaidInTheBooksZone(t *testing.T) {
	zone := time.FixedZone("", -7*3600)
	w := newWorld(t, 30)
	w.fit("frame", Ever)
	w.happened(Crashed, 5, nil)
	w.incidents[0].At = EndOfDay(time.Date(2024, 10, 9, 12, 0, 0, 0, zone), zone)
	c := w.build()
	c.Zone = zone
	assert.Contains(t, Assess(c, Default())[0].Reasons[0].Text, "a crash on 2024-10-09")
}

func TestStanding(t *testing.T) {
	status := func(day float64, is Standing) Status { return Status{ID: uint64(day*10) + 1, At: days(day), Is: is} }
	until := status(6, InService)
	until.Until = days(8)
	long := status(5.5, InService)
	long.Until = days(300)
	void := status(9, Retired)
	void.Void = true
	for name, c := range map[string]struct {
		today float64
		list  []Status
		want  Standing
		by    float64 // day of the status that decides; 0 = none
	}{
		"none":                  {10, nil, InService, 0},
		"held":                  {10, []Status{status(5, Held)}, Held, 5},
		"held tomorrow":         {4, []Status{status(5, Held)}, InService, 0},
		"released":              {10, []Status{status(5, Held), status(6, InService)}, InService, 6},
		"released for two days": {7, []Status{status(5, Held), until}, InService, 6},
		"until its last moment": {8, []Status{status(5, Held), until}, InService, 6},
		"the two days are over": {8.01, []Status{status(5, Held), until}, Held, 5},
		"nor does one before":   {8.01, []Status{status(5, Held), long, until}, Held, 5},
		"not even unheld":       {8.01, []Status{long, until}, InService, 0},
		"nor the long one yet":  {7, []Status{until, long}, InService, 6},
		"void":                  {10, []Status{status(5, Held), void}, Held, 5},
		"retired, any order":    {10, []Status{status(9, Retired), status(5, Held)}, Retired, 9},
		"not a standing":        {10, []Status{status(5, "asleep")}, InService, 0},
	} {
		got, s := Case{Today: days(c.today), Statuses: c.list}.Standing()
		assert.Equal(t, c.want, got, name)
		if c.by == 0 {
			assert.Nil(t, s, name)
		} else if assert.NotNil(t, s, name) {
			assert.Equal(t, days(c.by), s.At, name)
		}
	}
}

func TestNothingOfARetiredBikeIsDueAndAHeldOneKeepsItsFindings(t *testing.T) {
	w := newWorld(t, 30)
	guide := w.fit("guide", Ever)
	w.look(guide, 2, Unsafe)
	before := Assess(w.build(), Default())
	require.NotEmpty(t, before)
	w.statuses = []Status{{ID: 1, At: days(3), Is: Held}}
	assert.Equal(t, before, Assess(w.build(), Default()))
	w.statuses = append(w.statuses, Status{ID: 2, At: days(4), Is: Retired})
	assert.Empty(t, Assess(w.build(), Default()))
	_, err := Explain(w.build(), Default(), guide.Part.ID, "look")
	assert.ErrorContains(t, err, `bike "enduro": retired`)
}

func TestAnIntactWitnessMarkCountsAsChecked(t *testing.T) {
	w := newWorld(t, 30)
	bolts := w.fit("guide-bolts", days(0))
	w.ride(1, Dry, hours(2))
	require.Equal(t, Due, w.judged("guide-bolts", "check").Verdict)
	w.signoff(bolts, 2, "check")
	bolts.SignOffs[0].Witness = true
	assert.Equal(t, Fine, w.judged("guide-bolts", "check").Verdict)
	e, err := Explain(w.build(), Default(), bolts.Part.ID, "check")
	require.NoError(t, err)
	assert.Equal(t, "its witness mark was found intact", e.Anchor.Why)

	fork := w.fit("fork", days(0))
	w.ride(3, Dry, hours(60))
	w.signoff(fork, 4, "lowers")
	fork.SignOffs[0].Witness = true
	assert.Equal(t, Due, w.judged("fork", "lowers").Verdict, "a mark says nothing of a service")
}

func TestDeclinedWork(t *testing.T) {
	w := newWorld(t, 80)
	fork := w.fit("fork", days(0))
	w.ride(1, Dry, hours(51))
	w.decline(fork, 2, "lowers")
	f := w.judged("fork", "lowers")
	assert.Equal(t, Fine, f.Verdict)
	assert.Equal(t, []string{"declined on 2024-10-06: asked for again after its next interval"}, f.Notes)
	assert.Zero(t, f.Used)
	w.ride(3, Dry, hours(49.9))
	assert.Equal(t, Fine, w.judged("fork", "lowers").Verdict)
	w.ride(4, Dry, hours(0.1))
	f = w.judged("fork", "lowers")
	assert.Equal(t, Due, f.Verdict, "its next interval is over")
	assert.Contains(t, f.Notes, "declined on 2024-10-06")
	w.decline(fork, 5, "lowers")
	assert.Equal(t, Fine, w.judged("fork", "lowers").Verdict, "declined again")
	w.signoff(fork, 6, "lowers")
	assert.Empty(t, w.judged("fork", "lowers").Notes, "done since")
}

func TestDeclinedDaysEventsReadingsAndLooks(t *testing.T) {
	w := newWorld(t, 400)
	cable := w.fit("cable", days(0))
	w.decline(cable, 370, "change")
	assert.Equal(t, Fine, w.judged("cable", "change").Verdict)
	w.today = days(734)
	assert.Equal(t, Order, w.judged("cable", "change").Verdict)
	w.today = days(735)
	assert.Equal(t, Due, w.judged("cable", "change").Verdict)

	w = newWorld(t, 30)
	chain, ring := w.fit("chain", days(0)), w.fit("ring", Ever)
	w.decline(chain, 1, "measure")
	assert.Equal(t, Fine, w.judged("chain", "measure").Verdict, "not measured when fitted, by choice")
	w.ride(2, Wet, turns(10))
	require.Equal(t, Due, w.judged("chain", "clean").Verdict)
	w.decline(chain, 3, "clean")
	assert.Equal(t, Fine, w.judged("chain", "clean").Verdict)
	w.ride(4, Mud, turns(10))
	assert.Equal(t, Due, w.judged("chain", "clean").Verdict, "another ride in the wet")

	w.read(chain, 5, 0.6)
	require.Equal(t, Due, w.judged("chain", "change").Verdict)
	w.decline(chain, 6, "change")
	f := w.judged("chain", "change")
	assert.Equal(t, Fine, f.Verdict)
	assert.InDelta(t, 0.6, f.Used, 0)
	w.read(chain, 7, 0.61)
	assert.Equal(t, Due, w.judged("chain", "change").Verdict, "a new reading")

	w.look(ring, 8, Replace)
	w.decline(ring, 9, "change")
	assert.Equal(t, Fine, w.judged("ring", "change").Verdict)
	w.look(ring, 10, Replace)
	assert.Equal(t, Due, w.judged("ring", "change").Verdict, "a new look")
}

func TestSafetyWorkCannotBeDeclinedAway(t *testing.T) {
	w := newWorld(t, 100)
	bolts, guide := w.fit("guide-bolts", Ever), w.fit("guide", Ever)
	chain := w.fit("chain", days(0))
	w.bike.Fleet = true
	w.ride(1, Dry, hours(30))
	w.decline(bolts, 2, "check")
	f := w.judged("guide-bolts", "check")
	assert.Equal(t, Due, f.Verdict)
	assert.Contains(t, f.Notes, "declined on 2024-10-06, but safety work stays due")
	w.look(guide, 3, Unsafe)
	w.decline(guide, 4, "look")
	assert.Equal(t, Stop, w.judged("guide", "look").Verdict)
	w.read(chain, 5, 1.1)
	w.decline(chain, 6, "change")
	assert.Equal(t, Stop, w.judged("chain", "change").Verdict, "a stop is no choice")
}

func TestAWheelThatComesBackRestartsNothing(t *testing.T) {
	w := newWorld(t, 120)
	wheel, tyre, sealant := w.fit("rear-wheel", days(0)), w.fit("rear-tyre", days(0)), w.fit("rear-sealant", days(0))
	for _, p := range []*PartCase{wheel, tyre, sealant} {
		w.off(p, days(20), "")
		p.Stays = append(p.Stays, Stay{Part: p.Part.ID, Host: bikeID, From: days(60), To: Never})
	}
	assert.InDelta(t, 120, w.judged("rear-sealant", "top-up").Used, 1e-9, "sealant dries on the shelf too")
	w.off(tyre, days(80), Worn)
	w.fit("rear-tyre", days(80))
	assert.InDelta(t, 40, w.judged("rear-sealant", "top-up").Used, 1e-9, "another tyre on it")
}

func TestAChainThatComesBackInRotationIsNotNew(t *testing.T) {
	w := newWorld(t, 60)
	ring := w.fit("ring", Ever)
	one, two := w.fit("chain", days(0)), w.fit("chain", days(10))
	w.off(one, days(10), "")
	w.off(two, days(20), "")
	one.Stays = append(one.Stays, Stay{Part: one.Part.ID, Host: bikeID, From: days(20), To: Never})
	w.look(ring, 11, Good)
	assert.Equal(t, Fine, w.judged("ring", "look").Verdict)
	slices.Reverse(ring.Looks)
	ring.Looks[0].At = days(9)
	assert.Equal(t, Due, w.judged("ring", "look").Verdict, "looked at before the second chain came")
}

func TestOrderOfIncidentsStatusesAndSettingsDoesNotMatter(t *testing.T) {
	made := func() *world {
		w := fullBike(t)
		for i, what := range []Happening{Dropped, Struck, Dropped, Crashed, Recalled} {
			w.happened(what, 150+float64(i)/4, nil)
			w.happened(what, 160, w.parts[i])
		}
		w.statuses = []Status{{ID: 1, At: days(5), Is: Held}, {ID: 2, At: days(6), Is: InService}, {ID: 3, At: days(6), Is: Held}}
		for i, due := range []string{"0.6", "0.7", "0.8", "0.9"} {
			w.override(float64(100+i/2), chainAt(due, "source = \"no. "+due+"\""))
		}
		return w
	}
	w := made()
	slices.Reverse(w.incidents)
	slices.Reverse(w.statuses)
	slices.Reverse(w.settings)
	assert.Equal(t, Assess(made().build(), Default()), Assess(w.build(), Default()))
	is, _ := w.build().Standing()
	assert.Equal(t, Held, is)
}
