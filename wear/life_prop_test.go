package wear

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// someUnits are the lives of up to thirty parts, of any cause and way of being known.
func someUnits(t *rapid.T) []Unit {
	units := make([]Unit, rapid.IntRange(5, 30).Draw(t, "n"))
	for i := range units {
		u := Unit{Load: rapid.Float64Range(1, 1e6).Draw(t, "load"), Cause: Worn}
		switch rapid.IntRange(0, 5).Draw(t, "how") {
		case 0:
			u.Cause = rapid.SampledFrom([]Cause{"", Crash, Early, Lost, Sold}).Draw(t, "cause")
		case 1:
			u.Found, u.Good = true, u.Load*rapid.Float64Range(0, 1).Draw(t, "good")
		case 2:
			u.Entry = u.Load * rapid.Float64Range(0, 0.9).Draw(t, "entry")
		}
		units[i] = u
	}
	return units
}

// fitted is the part life of some units; those that tell nothing are passed over.
func fitted(t *rapid.T, units []Unit) LifeResult {
	r, err := PartLife(units)
	var lack *LifeError
	if errors.As(err, &lack) {
		t.Skip(lack.Why)
	}
	require.NoError(t, err)
	return r
}

// figures are all numbers of a result.
func (r LifeResult) figures() []float64 {
	list := []float64{r.Shape, r.Scale, r.ShapeErr, r.ScaleErr, r.LogLik, r.Median.At, r.Median.From, r.Median.To, r.Prior.Median, r.Prior.LogSD}
	if r.B10 != nil {
		list = append(list, r.B10.At, r.B10.From, r.B10.To)
	}
	return list
}

// No figure is ever none or endless, every interval holds its estimate, and no
// other parameters nearby are likelier.
func TestPartLifeIsAlwaysAFigure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		units := someUnits(t)
		r := fitted(t, units)
		for i, v := range r.figures() {
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "figure %d is %g", i, v)
		}
		bands := []LifeBand{r.Median}
		if r.B10 != nil {
			bands = append(bands, *r.B10)
			require.Less(t, r.B10.At, r.Median.At)
		}
		for _, b := range bands {
			require.Less(t, b.From, b.At)
			require.True(t, b.To == 0 || b.To > b.At)
		}
		f := &lifeFit{obs: observe(units)}
		for _, d := range [][2]float64{{1.01, 1}, {0.99, 1}, {1, 1.01}, {1, 0.99}, {1.01, 1.01}, {0.99, 1.01}} {
			require.LessOrEqual(t, f.at(math.Log(r.Scale*d[0]), r.Shape*d[1]).logLik, r.LogLik+1e-9, d)
		}
	})
}

// Without the intervals the other figures are the same.
func TestPlainLifeIsPartLifeWithoutIntervals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		units := someUnits(t)
		want := fitted(t, units)
		got, _, err := plainLife(units)
		require.NoError(t, err)
		want.Median, want.B10, want.Notes = LifeBand{At: want.Median.At}, nil, got.Notes
		require.Equal(t, want, got)
	})
}

// The unit of the loads does not matter: k times the loads, k times the lives.
func TestScalingLoadsScalesLives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		units := someUnits(t)
		r := fitted(t, units)
		k := rapid.Float64Range(0.001, 1000).Draw(t, "k")
		scaled := slices.Clone(units)
		for i := range scaled {
			scaled[i].Load, scaled[i].Good, scaled[i].Entry = k*units[i].Load, k*units[i].Good, k*units[i].Entry
		}
		s := fitted(t, scaled)
		require.InEpsilon(t, r.Shape, s.Shape, 1e-6)
		require.InEpsilon(t, k*r.Scale, s.Scale, 1e-6)
		require.InEpsilon(t, k*r.Median.At, s.Median.At, 1e-6)
		require.InDelta(t, k*r.Median.From, s.Median.From, 1e-5*k*r.Median.At)
		require.InDelta(t, r.Prior.LogSD, s.Prior.LogSD, 1e-5)
	})
}

// Of the same shape, a part that is seen to last longer never shortens life,
// and neither does a failure that turns out to have been none.
func TestMoreCensoringNeverShortensLife(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		units := someUnits(t)
		r := fitted(t, units)
		shape := rapid.Float64Range(0.5, 8).Draw(t, "shape")
		was := (&lifeFit{obs: observe(units)}).scale(shape)
		more := append(slices.Clone(units), Unit{Load: rapid.Float64Range(1, 1e6).Draw(t, "running")})
		require.GreaterOrEqual(t, (&lifeFit{obs: observe(more)}).scale(shape), was-1e-9)
		i := rapid.IntRange(0, len(units)-1).Draw(t, "i")
		if units[i].failed() && r.Failures > lifeFailures {
			spared := slices.Clone(units)
			spared[i].Cause = Sold
			require.GreaterOrEqual(t, (&lifeFit{obs: observe(spared)}).scale(shape), was-1e-9)
		}
	})
}

// The order of the units changes no bit of the result.
func TestOrderOfUnitsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		units := someUnits(t)
		r := fitted(t, units)
		for i := range units {
			units[i].Name = ""
		}
		require.Equal(t, r, fitted(t, rapid.Permutation(units).Draw(t, "order")))
	})
}

// Wear found at looks ever closer to it comes to the same as wear seen to come.
func TestCloseLooksComeToExactEnds(t *testing.T) {
	exact := lifeSet(t, "nist_8_2_2_1")
	want, err := PartLife(exact)
	require.NoError(t, err)
	last := math.Inf(1)
	for _, width := range []float64{0.2, 0.02, 0.002} {
		units := slices.Clone(exact)
		for i := range units {
			if units[i].failed() {
				units[i].Found, units[i].Good = true, units[i].Load*(1-width/2)
				units[i].Load *= 1 + width/2
			}
		}
		r, err := PartLife(units)
		require.NoError(t, err)
		off := math.Abs(math.Log(r.Scale/want.Scale)) + math.Abs(math.Log(r.Shape/want.Shape))
		assert.Less(t, off, last/2, "width %g", width)
		last = off
	}
	assert.Less(t, last, 1e-4)
}

// The 90 % interval holds the truth in about nine of ten samples, also where few
// parts have failed; a third or so of them are sold on. Fixed seed.
func TestIntervalCovers(t *testing.T) {
	for _, n := range []int{8, 12, 25} {
		held, samples := coverage(n)
		t.Logf("%d parts: %.1f %% of %d intervals of 90 %% hold the median", n, 100*held, samples)
		assert.InDelta(t, 0.915, held, 0.035)
	}
}

// coverage is the share of the intervals of the median that hold it, of samples
// of n parts that carry one.
func coverage(n int) (share float64, samples int) {
	const shape, scale = 2.5, 480_000.0
	truth := scale * math.Pow(math.Ln2, 1/shape)
	draw := rand.New(rand.NewPCG(7, uint64(n)))
	held := 0
	for range 600 {
		units := make([]Unit, n)
		for i := range units {
			life, sold := scale*math.Pow(draw.ExpFloat64(), 1/shape), 300_000+600_000*draw.Float64()
			if units[i] = (Unit{Load: min(life, sold), Cause: Worn}); sold < life {
				units[i].Cause = Sold
			}
		}
		r, err := PartLife(units)
		if err != nil {
			continue // too few failed
		}
		samples++
		held += boolInt(r.Median.From <= truth && (truth <= r.Median.To || r.Median.To == 0))
	}
	return float64(held) / float64(samples), samples
}

// Student's t, 95 %: any table.
func TestStudent(t *testing.T) {
	for df, want := range map[float64]float64{5: 2.015, 10: 1.812, 20: 1.725, 60: 1.671, 1e9: 1.645} {
		assert.InDelta(t, want, student95(df), 0.003, "%g degrees", df)
	}
}

func BenchmarkPartLife(b *testing.B) {
	draw := rand.New(rand.NewPCG(1, 2))
	units := make([]Unit, 500)
	for i := range units {
		life := 480_000 * math.Pow(draw.ExpFloat64(), 1/2.5)
		units[i] = Unit{Load: life, Cause: Worn}
		if i%2 == 0 {
			units[i].Found, units[i].Good, units[i].Load = true, 0.8*life, 1.1*life
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := PartLife(units); err != nil {
			b.Fatal(err)
		}
	}
}
