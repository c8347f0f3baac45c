package wear

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A rule per test: each threshold and one step either side.

func TestCountsFallDueAtTheirLimit(t *testing.T) {
	for _, c := range []struct {
		kind, job string
		l         Load // a hundredth of what makes it due, on dry ground
	}{
		{"chain", "clean", turns(250)},
		{"ring", "look", turns(3000)},
		{"frame", "look", Load{Moving: 1_800_000}},
		{"fork", "lowers", Load{Moving: 1_800_000}},
		{"dropper", "service", Load{Moving: 3_600_000}},
		{"rear-tyre", "look", Load{Distance: 500_000}},
		{"rear-pads", "measure", Load{Braking: 25_000}},
		{"front-rotor", "measure", Load{Braking: 120_000}},
	} {
		for n, want := range map[int]Verdict{99: Fine, 100: Due, 101: Due} {
			w := newWorld(t, 90)
			w.fit(c.kind, days(0))
			for i := range n {
				w.ride(1+float64(i)/10, Dry, c.l)
			}
			f := w.judged(c.kind, c.job)
			assert.Equal(t, want, f.Verdict, "%s %s at %d %%", c.kind, c.job, n)
			assert.InDelta(t, float64(n)/100, f.Share, 1e-9)
			assert.Equal(t, ByCount, f.Basis)
		}
	}
}

func TestDaysFallDueAtTheirLimit(t *testing.T) {
	for _, c := range []struct {
		kind, job string
		days      float64
		before    Verdict
	}{
		{"front-sealant", "top-up", 90, Fine}, {"cable", "change", 365, Order}, {"brake-fluid", "change", 365, Order},
		{"fork", "service", 365, Fine}, {"dropper", "service", 365, Fine}, {"headset", "service", 365, Fine},
	} {
		for step, want := range map[float64]Verdict{-1: c.before, 0: Due, 1: Due} {
			w := newWorld(t, c.days+step)
			w.fit(c.kind, days(0))
			f := w.judged(c.kind, c.job)
			assert.Equal(t, want, f.Verdict, "%s %s %+g d", c.kind, c.job, step)
			assert.Equal(t, "days", f.Unit)
		}
	}
}

func TestOfSeveralCountsTheFirstReachedDecides(t *testing.T) {
	w := newWorld(t, 100)
	w.fit("fork", days(0))
	w.ride(1, Dry, hours(201))
	f := w.judged("fork", "service")
	assert.Equal(t, Due, f.Verdict)
	assert.Equal(t, "s", f.Unit)

	w = newWorld(t, 366)
	w.fit("fork", days(0))
	w.ride(300, Dry, hours(20))
	f = w.judged("fork", "service")
	assert.Equal(t, Due, f.Verdict)
	assert.Equal(t, "days", f.Unit)
}

func TestGroundWeighsCounts(t *testing.T) {
	w := newWorld(t, 10)
	w.fit("chain", days(0))
	w.ride(1, Unmarked, turns(10_000)).ride(2, Dusty, turns(1_000)).ride(3, Gritty, turns(100))
	f := w.judged("chain", "clean")
	assert.InDelta(t, 14_000+1_300+250, f.Used, 1e-6)
	assert.Equal(t, Fine, f.Verdict)
}

func TestAWetOrMudRideAsksForTheChainToBeCleaned(t *testing.T) {
	for _, g := range []Ground{Wet, Mud} {
		w := newWorld(t, 10)
		chain := w.fit("chain", days(0))
		w.ride(1, g, turns(10))
		f := w.judged("chain", "clean")
		assert.Equal(t, Due, f.Verdict)
		assert.GreaterOrEqual(t, f.Share, 1.0)
		w.signoff(chain, 2, "clean")
		assert.Equal(t, Fine, w.judged("chain", "clean").Verdict)
	}
}

func TestAWaxedChainHasALongerWay(t *testing.T) {
	w := newWorld(t, 10)
	chain := w.fit("chain", days(0))
	chain.Part.Treated = "wax"
	w.ride(1, Dry, turns(59_999))
	assert.Equal(t, Fine, w.judged("chain", "clean").Verdict)
	w.ride(2, Wet, turns(0.5))
	f := w.judged("chain", "clean")
	assert.Equal(t, Due, f.Verdict, "after a wet ride 25,000")
	assert.InDelta(t, 25_000, f.Limit, 0)
}

func TestFirstChecksAfterEveryFit(t *testing.T) {
	for _, kind := range []string{"ring-bolts", "crank-bolt", "pedals", "caliper-bolts", "axles", "pivot-bolts", "stem-bar-bolts"} {
		w := newWorld(t, 10)
		bolts := w.fit(kind, days(0))
		assert.Equal(t, Fine, w.judged(kind, "check").Verdict, kind)
		w.ride(1, Dry, hours(0.2))
		assert.Equal(t, Due, w.judged(kind, "check").Verdict, "%s after one ride", kind)
		w.signoff(bolts, 2, "check")
		w.ride(3, Dry, hours(49.9))
		assert.Equal(t, Fine, w.judged(kind, "check").Verdict, "%s after the check", kind)
		w.ride(4, Dry, hours(0.1))
		assert.Equal(t, Due, w.judged(kind, "check").Verdict, "%s then every 50 h", kind)
	}
}

func TestGuideBoltsAfterOneLongRideAtTheLatestFiveHours(t *testing.T) {
	w := newWorld(t, 30)
	w.fit("guide-bolts", days(0))
	for i := range 9 {
		w.ride(float64(i+1), Dry, hours(0.5))
	}
	assert.Equal(t, Fine, w.judged("guide-bolts", "check").Verdict, "4.5 h in short rides")
	w.ride(10, Dry, hours(0.5))
	assert.Equal(t, Due, w.judged("guide-bolts", "check").Verdict, "5 h in short rides")

	for l, want := range map[float64]Verdict{0.99: Fine, 1: Due} {
		w = newWorld(t, 30)
		bolts := w.fit("guide-bolts", days(0))
		w.ride(1, Dry, hours(l))
		assert.Equal(t, want, w.judged("guide-bolts", "check").Verdict, "%g h", l)
		w.signoff(bolts, 2, "check")
		w.ride(3, Dry, hours(24.9))
		assert.Equal(t, Fine, w.judged("guide-bolts", "check").Verdict)
		w.ride(4, Dry, hours(0.1))
		assert.Equal(t, Due, w.judged("guide-bolts", "check").Verdict, "then every 25 h")
	}
}

func TestARefitAsksForTheFirstCheckAgain(t *testing.T) {
	w := newWorld(t, 30)
	bolts := w.fit("guide-bolts", days(0))
	w.ride(1, Dry, hours(2))
	w.signoff(bolts, 2, "check")
	w.off(bolts, days(5), "")
	bolts.Stays = append(bolts.Stays, Stay{Part: bolts.Part.ID, Host: bikeID, From: days(6), To: Never})
	assert.Equal(t, Fine, w.judged("guide-bolts", "check").Verdict)
	w.ride(7, Dry, hours(1))
	f := w.judged("guide-bolts", "check")
	assert.Equal(t, Due, f.Verdict)
	assert.Contains(t, f.Reasons[0].Text, "first check")
}

func TestDependentJobsStartAfresh(t *testing.T) {
	for _, c := range []struct{ work, kind, job string }{
		{"ring", "ring-bolts", "check"}, {"ring", "crank-bolt", "check"}, {"ring", "guide", "look"},
		{"crank", "ring-bolts", "check"}, {"crank", "crank-bolt", "check"}, {"crank", "guide", "look"},
		{"bottom-bracket", "ring-bolts", "check"}, {"bottom-bracket", "crank-bolt", "check"}, {"bottom-bracket", "guide", "look"},
		{"guide", "guide-bolts", "check"}, {"shock", "pivot-bolts", "check"}, {"linkage", "pivot-bolts", "check"},
	} {
		w := newWorld(t, 30)
		bolts := w.fit(c.kind, days(0))
		w.ride(1, Dry, hours(1))
		if c.job == "look" {
			w.look(bolts, 2, Good)
		} else {
			w.signoff(bolts, 2, "check")
		}
		w.ride(3, Dry, hours(1))
		assert.Equal(t, Fine, w.judged(c.kind, c.job).Verdict)
		w.fit(c.work, days(4))
		assert.Equal(t, Fine, w.judged(c.kind, c.job).Verdict, "%s fitted, not ridden yet", c.work)
		w.ride(5, Dry, hours(1))
		f := w.judged(c.kind, c.job)
		assert.Equal(t, Due, f.Verdict, "%s after work on %s", c.kind, c.work)
		assert.Contains(t, f.Reasons[0].Text, c.work+"-1 was fitted")
	}
}

func TestOnlyWorkByASpannerStartsDependentJobsAfresh(t *testing.T) {
	for _, c := range []struct {
		work, job string
		want      Verdict
	}{{"bottom-bracket", "check", Fine}, {"bottom-bracket", "service", Due}, {"ring", "look", Fine}} {
		w := newWorld(t, 30)
		other := w.fit(c.work, Ever)
		bolts := w.fit("crank-bolt", days(0))
		w.ride(1, Dry, hours(1))
		w.signoff(bolts, 2, "check")
		w.signoff(other, 3, c.job)
		w.ride(4, Dry, hours(1))
		assert.Equal(t, c.want, w.judged("crank-bolt", "check").Verdict, "%s %s", c.work, c.job)
	}
}

func TestATyreRestartsItsSealant(t *testing.T) {
	w := newWorld(t, 100)
	w.fit("rear-sealant", days(0))
	w.fit("front-tyre", days(60))
	assert.Equal(t, Due, w.judged("rear-sealant", "top-up").Verdict, "another tyre")
	w.fit("rear-tyre", days(60))
	f := w.judged("rear-sealant", "top-up")
	assert.Equal(t, Fine, f.Verdict)
	assert.InDelta(t, 40, f.Used, 1e-9)
}

func TestANewChainAsksForSkipTestAndLooks(t *testing.T) {
	w := newWorld(t, 30)
	old := w.fit("chain", Ever)
	parts := map[string]*PartCase{}
	jobs := map[string]string{"ring": "look", "cassette": "skip-test", "derailleur-pulleys": "look", "drive-idler": "look"}
	for kind := range jobs {
		parts[kind] = w.fit(kind, Ever)
	}
	w.ride(1, Dry, hours(1))
	for kind, job := range jobs {
		assert.Equal(t, Fine, w.judged(kind, job).Verdict, kind)
	}
	w.off(old, days(5), Worn)
	w.fit("chain", days(5))
	for kind, job := range jobs {
		f := w.judged(kind, job)
		assert.Equal(t, Due, f.Verdict, kind)
		assert.Equal(t, "a new chain was fitted", f.Reasons[0].Text)
		if job == "look" {
			w.look(parts[kind], 6, Good)
		} else {
			w.signoff(parts[kind], 6, job)
		}
		assert.Equal(t, Fine, w.judged(kind, job).Verdict, "%s done", kind)
	}
}

func TestARingFittedWithTheChainNeedsNoLook(t *testing.T) {
	w := newWorld(t, 30)
	w.fit("chain", days(5))
	w.fit("ring", days(5))
	assert.Equal(t, Fine, w.judged("ring", "look").Verdict)
}

func TestTheThirdWornChainAsksForALookAtTheRing(t *testing.T) {
	w := newWorld(t, 300)
	ring := w.fit("ring", days(0))
	for i := range 3 {
		c := w.fit("chain", days(float64(i)*50))
		w.off(c, days(float64(i)*50+50), Worn)
	}
	w.look(ring, 149, Good)
	f := w.judged("ring", "look")
	assert.Equal(t, Due, f.Verdict)
	assert.Contains(t, f.Reasons[0].Text, "3 chains were worn out on it")
	w.look(ring, 151, Good)
	assert.Equal(t, Fine, w.judged("ring", "look").Verdict)
}

func TestIndoorRidingSparesParts(t *testing.T) {
	spared := map[Ground]map[string]bool{
		Trainer: {"rear-tyre": true, "front-tyre": true, "rear-pads": true, "fork": true, "cassette": true, "chain": false},
		Rollers: {"rear-tyre": false, "front-tyre": true, "rear-pads": true, "fork": true, "cassette": false, "chain": false},
	}
	jobs := map[string]string{"rear-tyre": "look", "front-tyre": "look", "rear-pads": "measure", "fork": "lowers", "cassette": "look", "chain": "clean"}
	for g, kinds := range spared {
		for kind, is := range kinds {
			w := newWorld(t, 10)
			w.fit(kind, days(0))
			w.ride(1, g, hours(10))
			f := w.judged(kind, jobs[kind])
			assert.Equal(t, is, f.Used == 0, "%s on %s", kind, g)
		}
	}
}

func TestATrainerRideIsNoFirstRideOfWhatItSpares(t *testing.T) {
	w := newWorld(t, 10)
	w.fit("pivot-bolts", days(0))
	w.ride(1, Trainer, hours(20))
	assert.Equal(t, Fine, w.judged("pivot-bolts", "check").Verdict)
}

func TestCountsFromTeeth(t *testing.T) {
	w := newWorld(t, 100)
	ring := w.fit("ring", days(0))
	ring.Part.Teeth = 30
	idler := w.fit("idler", days(0))
	idler.Part.Teeth = 12
	pulleys := w.fit("derailleur-pulleys", days(0))
	cassette := w.fit("cassette", days(0))
	cassette.Part.Cogs = []int{10, 12, 14, 16, 20}
	w.ride(1, Dry, turns(1000))
	w.off(ring, days(2), Worn)
	w.fit("ring", days(2)).Part.Teeth = 34
	w.ride(3, Dry, turns(1000))

	f := w.judged("idler", "look")
	assert.InDelta(t, 1000*30.0/12+1000*34.0/12, f.Used, 1e-6)
	assert.Equal(t, "idler turns", f.Unit)
	assert.NotContains(t, strings.Join(f.Notes, ""), "taken")

	f = w.judged("derailleur-pulleys", "change")
	assert.InDelta(t, 64_000.0/12, f.Used, 1e-6)
	assert.Contains(t, f.Notes, "teeth of "+pulleys.Part.Name+" not given: 12 taken")

	f = w.judged("cassette", "look")
	assert.InDelta(t, 0.2*64_000/14, f.Used, 1e-6)
	assert.Contains(t, f.Notes, "gears not looked at: 20 % of the turns taken to be on the 14")
}

func TestAnUnknownRingIsSaid(t *testing.T) {
	w := newWorld(t, 100)
	w.fit("idler", days(0))
	w.ride(1, Dry, turns(1400))
	f := w.judged("idler", "look")
	assert.InDelta(t, 1400*32.0/14, f.Used, 1e-6)
	assert.Contains(t, f.Notes, "teeth of the ring not known throughout: 32 taken")
}

func TestAMidDriveCountsDouble(t *testing.T) {
	for motor, want := range map[Motor]float64{NoMotor: 1000, HubMotor: 1000, MidMotor: 2000} {
		w := newWorld(t, 10)
		w.bike.Motor = motor
		w.fit("chain", days(0))
		w.ride(1, Dry, turns(1000))
		assert.InDelta(t, want, w.judged("chain", "clean").Used, 1e-9)
	}
}

func TestAServiceIncludesTheSmallerOne(t *testing.T) {
	w := newWorld(t, 100)
	fork := w.fit("fork", days(0))
	w.ride(1, Dry, hours(51))
	require.Equal(t, Due, w.judged("fork", "lowers").Verdict)
	w.signoff(fork, 2, "service")
	assert.Equal(t, Fine, w.judged("fork", "lowers").Verdict)
	w.ride(3, Dry, hours(51))
	w.signoff(fork, 4, "lowers")
	assert.Equal(t, days(2), w.judged("fork", "service").Since, "not the other way round")
}

func TestDeclinedAndVoidSignOffsDoNotCount(t *testing.T) {
	w := newWorld(t, 100)
	fork := w.fit("fork", days(0))
	w.ride(1, Dry, hours(51))
	w.signoff(fork, 0.5, "lowers") // declined before it was due; see TestDeclinedWork
	fork.SignOffs[0].Declined = true
	assert.Equal(t, Due, w.judged("fork", "lowers").Verdict)
	fork.SignOffs[0] = SignOff{ID: 1, At: days(2), Job: "lowers", Void: true}
	assert.Equal(t, Due, w.judged("fork", "lowers").Verdict)
}

func TestHoursGoOnFromBikeToBike(t *testing.T) {
	w := newWorld(t, 100)
	fork := w.fit("fork", days(50))
	other := ID(2)
	fork.Stays = append([]Stay{{Part: fork.Part.ID, Host: other, From: days(0), To: days(40)}}, fork.Stays...)
	c := w.ride(60, Dry, hours(20)).build()
	var s Sums
	s[Dry].Rides, s[Dry].Recorded = 30, hours(35)
	c.Lines[other] = Timeline{{From: Ever}, {From: days(0), Sums: s}, {From: days(40)}}
	for _, f := range Assess(c, Default()) {
		if f.Job == "lowers" {
			assert.InDelta(t, 55*3600, f.Used, 1e-6)
			assert.Equal(t, Due, f.Verdict)
			assert.Equal(t, days(0), f.Since)
		}
	}
}

func TestLackingQuantitiesAreSaid(t *testing.T) {
	w := newWorld(t, 10)
	w.fit("chain", days(0))
	c := w.ride(1, Dry, turns(1000)).build()
	c.Lines[bikeID][1].Sums[Dry].Lacking[Turns] = 2
	f := Assess(c, Default())
	assert.Contains(t, f[len(f)-1].Notes, "turns could not be told for 2 rides: more was ridden than is counted")
}

func TestDataSaysWhatWasRecorded(t *testing.T) {
	for _, c := range []struct {
		rec, est float64
		want     Data
	}{{100, 0, DataRecorded}, {0, 100, DataEstimated}, {100, 100, DataMixed}} {
		w := newWorld(t, 10)
		w.fit("chain", days(0))
		b := w.build()
		b.Lines[bikeID][1].Sums[Dry] = Sum{Rides: 1, Recorded: turns(c.rec), Estimated: turns(c.est)}
		for _, f := range Assess(b, Default()) {
			if f.Job == "clean" {
				assert.Equal(t, c.want, f.Data)
			}
		}
	}
}
