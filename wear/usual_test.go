package wear

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// rides are n rides that have so much for each that the fixed figures give.
func pairsOf(n int, ratio float64) (list []Pair) {
	for i := range n {
		fixed := 1000 + 100*float64(i%7)
		list = append(list, Pair{fixed, ratio * fixed})
	}
	return list
}

// Few rides say little, many nearly all: the fixed figures are worth ten
// (common practice, no published source).
func TestLearnIsDrawnToTheFixedFigures(t *testing.T) {
	assert.Equal(t, Habit{}, Learn(nil))
	assert.Equal(t, Habit{}, Learn([]Pair{{0, 3}, {math.NaN(), 3}, {3, math.NaN()}, {-1, 1}, {1, math.Inf(1)}}))
	for n, power := range map[int]float64{1: 1. / 11, 10: 0.5, 90: 0.9, 490: 0.98} {
		h := Learn(pairsOf(n, 1.5))
		assert.Equal(t, n, h.Rides)
		assert.InEpsilon(t, math.Pow(1.5, power), h.Of, 1e-12, "%d rides", n)
	}
	assert.InDelta(t, 1, Learn(pairsOf(300, 1)).Of, 1e-12)
	assert.Greater(t, Learn(pairsOf(300, 0)).Of, 0.09, "flat rides: as little as a tenth")
	assert.Less(t, Learn(pairsOf(300, 1e6)).Of, 10.0)
	assert.Equal(t, 1.0, Usual{}.Ratio(Turns))
}

// One odd ride, whatever it says, moves what is usual by no more than its share.
func TestLearnStandsOneOddRide(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(5, 60).Draw(t, "n")
		ratio := rapid.Float64Range(0.3, 3).Draw(t, "ratio")
		odd := Pair{rapid.Float64Range(1, 1e7).Draw(t, "fixed"), rapid.Float64Range(0, 1e9).Draw(t, "recorded")}
		rides := pairsOf(n, ratio)
		sound, with := Learn(rides), Learn(append(rides, odd))
		assert.InDelta(t, 0, math.Log(with.Of/sound.Of), 3.5/float64(n)+0.12, "odd %v", odd)
	})
}

func TestLearnAsksNoOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pair := rapid.Custom(func(t *rapid.T) Pair {
			return Pair{rapid.Float64Range(-1, 1e5).Draw(t, "fixed"), rapid.Float64Range(0, 1e5).Draw(t, "recorded")}
		})
		rides := rapid.SliceOfN(pair, 0, 30).Draw(t, "rides")
		before := slices.Clone(rides)
		want := Learn(rides)
		assert.Equal(t, before, rides, "the list was changed")
		assert.Equal(t, want, Learn(rapid.Permutation(rides).Draw(t, "order")))
	})
}

func TestUsualSays(t *testing.T) {
	all := Set(0).With(Climb).With(Turns).With(Work)
	for _, c := range []struct {
		name  string
		usual Usual
		kind  string
		want  string
	}{
		{"nothing learned", Usual{}, "trail", "estimated as such bikes commonly have it"},
		{"all from the same", Usual{Climb: {1, 214}, Turns: {1, 214}, Work: {1, 214}}, "trail", "estimated as 214 recorded rides of trail bikes have it"},
		{"one ride, no sheet", Usual{Climb: {1, 1}, Turns: {1, 1}, Work: {1, 1}}, "", "estimated as 1 recorded ride of such bikes has it"},
		{"some", Usual{Climb: {1, 214}, Turns: {1, 9}}, "trail", "climb estimated as 214 recorded rides of trail bikes have it; " +
			"turns estimated as 9 recorded rides of trail bikes have it; work as such bikes commonly have it"},
		{"of what was given nothing is said", Usual{Distance: {1, 8}, Climb: {1, 7}, Turns: {1, 7}, Work: {1, 7}}, "trail", "estimated as 7 recorded rides of trail bikes have it"},
	} {
		assert.Equal(t, c.want, c.usual.Say(all, c.kind), c.name)
	}
}
