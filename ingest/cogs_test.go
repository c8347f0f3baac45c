package ingest

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/wear"
)

// shifted is the one real ride with recorded gear changes in the test data of
// the FIT libraries: a 40-tooth ring (the device says 22) and eleven cogs.
func shifted(t *testing.T) (*Track, wear.Gearing) {
	t.Helper()
	names, tracks := realRides(t)
	k := slices.IndexFunc(names, func(n string) bool { return strings.Contains(n, "WithGearChangeData.fit") })
	require.GreaterOrEqual(t, k, 0)
	return tracks[names[k]], wear.Gearing{Ring: 40, Cogs: []int{11, 13, 15, 17, 19, 21, 24, 27, 31, 35, 40}}
}

// reducing is a reducer that has done all its sums, to look into.
func reducing(t *Track) *reducer {
	samples, breaks := inOrder(t.Samples, t.Breaks)
	r := &reducer{track: t, model: Model{}.filled(), samples: samples}
	r.columns.lay(new([]float64), len(samples))
	r.clock(tidyPauses(t.Pauses), breaks)
	r.moving = sum(r.dt)
	r.sums()
	return r
}

// agreement is how inferred cogs stand to recorded ones.
type agreement struct {
	right, near, known float64 // s on the right cog, on it or the next, on any
	pedalled           float64 // s
	turns, true        []float64
}

// agree compares cog by cog and second by second.
func agree(r *reducer, g wear.Gearing) agreement {
	a := agreement{turns: make([]float64, len(g.Cogs)), true: make([]float64, len(g.Cogs))}
	recorded := recordedCogs(r, len(g.Cogs))
	for i, cog := range recorded {
		if i > 0 && r.samples[i].Cadence > 0 && cog >= 0 {
			a.pedalled += r.dt[i]
			a.true[cog] += r.turns[i]
		}
	}
	for i, metres := range r.steady() {
		on := g.Fold(wear.Gears{ByDevelopment: []wear.Gear{{Bin: wear.DevelopmentBin(metres), Turns: 1}}})
		cog := slices.Index(on.Turns, 1)
		if cog < 0 || recorded[i] < 0 {
			continue
		}
		a.known += r.dt[i]
		a.turns[cog] += r.turns[i]
		a.right += r.dt[i] * truth(cog == recorded[i])
		a.near += r.dt[i] * truth(cog-recorded[i] <= 1 && recorded[i]-cog <= 1)
	}
	return a
}

// recordedCogs is the cog of every sample, by the gear changes; -1 before the first.
func recordedCogs(r *reducer, cogs int) []int {
	list, next, now := make([]int, len(r.samples)), 0, -1
	for i := range list {
		for shifts := r.shifts(); next < len(shifts) && shifts[next].T <= r.samples[i].T; next++ {
			now = cogs - int(shifts[next].Rear)
		}
		list[i] = now
	}
	return list
}

// off is by how much the shares of the turns per cog differ, all of them together.
func (a agreement) off() (off float64) {
	for i := range a.turns {
		off += math.Abs(a.turns[i]/sum(a.turns) - a.true[i]/sum(a.true))
	}
	return off
}

// byEvents is the circumference at which the median of development × cog / ring
// is met, with the recorded cogs.
func byEvents(r *reducer, g wear.Gearing) float64 {
	var list []float64
	recorded := recordedCogs(r, len(g.Cogs))
	for i, metres := range r.steady() {
		if recorded[i] >= 0 {
			list = append(list, metres*float64(g.Cogs[recorded[i]])/float64(g.Ring))
		}
	}
	slices.Sort(list)
	return list[len(list)/2]
}

// A real ride: without its gear changes, the cogs are told rightly for 92 % of
// 86 % of the pedalled time, and the wheel as they tell it.
func TestCogsOfARealRide(t *testing.T) {
	track, g := shifted(t)
	r := reducing(track)
	truth := byEvents(r, g)
	g.Wheel = truth
	a := agree(r, g)
	t.Logf("wheel %.4f m, lag %.1f s; right %.1f %%, or next %.1f %%, of %.1f %% of the pedalled time; shares off by %.1f %%",
		g.Wheel, r.lag(), 100*a.right/a.known, 100*a.near/a.known, 100*a.known/a.pedalled, 100*a.off())
	assert.GreaterOrEqual(t, a.right/a.known, 0.92)
	assert.GreaterOrEqual(t, a.near/a.known, 0.97)
	assert.GreaterOrEqual(t, a.known/a.pedalled, 0.86)
	assert.LessOrEqual(t, a.off(), 0.065)

	out := Reduce(track, Model{})
	found, err := wear.FindWheel([]wear.Ridden{{Gears: out.Gears.ByDevelopment, Ring: g.Ring, Cogs: g.Cogs}}, 2.105)
	require.NoError(t, err)
	t.Logf("wheel found without the gear changes: %.4f m, %+.2f %%", found, 100*(found/truth-1))
	assert.InEpsilon(t, truth, found, 0.005)

	// The same from the stored histograms, the way the book has them.
	g.Wheel = found
	told, silent := g.Fold(out.Gears.Told()), g.Fold(wear.Gears{ByDevelopment: out.Gears.ByDevelopment})
	assert.Positive(t, told.Recorded)
	assert.Zero(t, silent.Recorded)
	toldAll, _ := told.Sum()
	silentAll, _ := silent.Sum()
	off := 0.0
	for i := range g.Cogs {
		off += math.Abs(float64(told.Turns[i])/float64(toldAll) - float64(silent.Turns[i])/float64(silentAll))
	}
	t.Logf("shares from the histogram off by %.1f %%, %.1f %% of the turns on no cog", 100*off, 100*float64(silent.Lost)/float64(silentAll))
	assert.LessOrEqual(t, off, 0.065)
}

// What the device took the gears for is kept, for the user to be told.
func TestRecordedTeethAreKept(t *testing.T) {
	track, _ := shifted(t)
	teeth := map[int]int{}
	for _, g := range Reduce(track, Model{}).Gears.Teeth {
		number, z := wear.BinTeeth(g.Bin)
		teeth[number] = z
	}
	assert.Equal(t, map[int]int{0: 22, 3: 31, 4: 27, 5: 24, 6: 21, 7: 19, 8: 17, 9: 15, 10: 13, 11: 11}, teeth)
}

// noisy lets a rig's ride be recorded as satellites and a cadence sensor do: the
// speed late and trembling, the cadence trembling (measured on the real ride:
// 0.08 m/s and 1.5 turns a minute from second to second on even ground).
func noisy(track *Track, seed uint64) *Track {
	rng, late := rand.New(rand.NewPCG(seed, 9)), 0.0
	for i := range track.Samples {
		s := &track.Samples[i]
		late += (s.Speed - late) / 2
		s.Speed, s.Dist = max(0, late+0.08*rng.NormFloat64()), nan
		if s.Cadence > 0 {
			s.Cadence = math.Round(s.Cadence + 1.5*rng.NormFloat64())
		}
	}
	return track
}

// Mountain rides on a 10–51 cassette with a shift about every 20 s, with the
// noise of a wheel sensor and with that of a satellite receiver.
func TestCogsOfMountainRides(t *testing.T) {
	for seed := uint64(1); seed <= 4; seed++ {
		spec := rig.Full(seed)
		spec.Minutes = 110
		ride := rig.Make(spec)
		g := wear.Gearing{Ring: ride.Spec.Ring, Cogs: ride.Spec.Cogs, Wheel: ride.Spec.Wheel}
		each := ride.Truth.Moving / float64(len(ride.Changes))
		require.Less(t, each, 25., "seconds from shift to shift")
		for name, make := range map[string]func(*Track) *Track{
			"wheel":     func(track *Track) *Track { return track },
			"satellite": func(track *Track) *Track { return noisy(track, seed) },
		} {
			tracks, err := readFIT(ride.FIT(), Options{})
			require.NoError(t, err)
			track := make(tracks[0])
			a := agree(reducing(track), g)
			found, err := wear.FindWheel([]wear.Ridden{{Gears: Reduce(track, Model{}).Gears.ByDevelopment, Ring: g.Ring, Cogs: g.Cogs}}, 2.236)
			require.NoError(t, err)
			t.Logf("%-9s %d: a shift every %.0f s, right %.1f %% of %.1f %%, shares off by %.1f %%, wheel %+.2f %%",
				name, seed, each, 100*a.right/a.known, 100*a.known/a.pedalled, 100*a.off(), 100*(found/g.Wheel-1))
			assert.GreaterOrEqual(t, a.right/a.known, 0.95)
			assert.GreaterOrEqual(t, a.known/a.pedalled, 0.78)
			assert.InEpsilon(t, g.Wheel, found, 0.005)
		}
	}
}
