package rig

import (
	"bytes"
	"path"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/tkrajina/gpxgo/gpx"

	"pawl/wear"
)

func TestSeasonIsTheSameEachTime(t *testing.T) {
	a, b := Season(), Season()
	require.Equal(t, a, b)
	for _, i := range []int{0, len(a.Outings) / 2, len(a.Outings) - 1} {
		assert.Equal(t, a.Outings[i].Bytes(), b.Outings[i].Bytes())
	}
}

func TestSeasonIsOfAUsefulSize(t *testing.T) {
	c := Season()
	rides, seen := map[string]int{}, map[string]bool{}
	for _, o := range c.Outings {
		rides[o.Bike]++
		assert.False(t, seen[o.File], o.File)
		seen[o.File] = true
		assert.Equal(t, o.Bike, path.Dir(o.File))
		assert.GreaterOrEqual(t, o.Spec.Minutes, 42.0)
		assert.LessOrEqual(t, o.Spec.Minutes, 210.0)
		assert.True(t, o.Spec.Start.Before(c.Today))
		assert.EqualValues(t, o.Spec.Mass, massOf(c, o.Bike))
	}
	require.Len(t, rides, 4)
	for _, bike := range []string{"coach", "hire-3", "rain"} {
		assert.InDelta(t, 38, rides[bike], 8, bike)
	}
	assert.Less(t, rides["junior"], 25)
}

func massOf(c *Centre, name string) float64 {
	i := slices.IndexFunc(c.Bikes, func(b CentreBike) bool { return b.Bike.Name == name })
	return c.Bikes[i].Bike.RiderMass + c.Bikes[i].Bike.Mass
}

// Two rides of one bike must not overlap, or one would be taken for the other's twin.
func TestRidesOfABikeDoNotOverlap(t *testing.T) {
	end := map[string]time.Time{}
	for _, o := range Season().Outings {
		assert.True(t, o.Spec.Start.After(end[o.Bike]), o.File)
		end[o.Bike] = o.Spec.Start.Add(4 * time.Hour)
	}
}

func TestSeasonHasBothFormats(t *testing.T) {
	c := Season()
	for _, o := range c.Outings[:12] {
		data := o.Bytes()
		if o.Format == wear.FIT {
			assert.Equal(t, ".FIT", string(data[8:12]), o.File)
			continue
		}
		file, err := gpx.ParseBytes(data)
		require.NoError(t, err, o.File)
		assert.Positive(t, file.GetTrackPointsNo())
		assert.False(t, bytes.Contains(data, []byte("cadence")), o.File)
	}
}

func TestActsAreDatedWhole(t *testing.T) {
	c := Season()
	first := map[string]wear.Instant{}
	for _, o := range c.Outings {
		if _, seen := first[o.Bike]; !seen {
			first[o.Bike] = wear.At(o.Spec.Start)
		}
	}
	for i, a := range c.Acts {
		n := 0
		for _, set := range []bool{a.Reading != nil, a.Look != nil, a.SignOff != nil} {
			if set {
				n++
			}
		}
		assert.Equal(t, 1, n, "act %d", i)
		assert.Greater(t, a.At, first[a.Bike])
		assert.LessOrEqual(t, a.At, wear.At(c.Today))
		assert.True(t, i == 0 || a.At >= c.Acts[i-1].At, "act %d is out of order", i)
		assert.Equal(t, a.Fits != nil, a.SignOff != nil && a.SignOff.Job == "change")
	}
}

// acts of one part and job of a bike, in order of time.
func acts(c *Centre, bike, kind, job string) (list []Act) {
	for _, a := range c.Acts {
		is := a.Reading != nil && job == "measure" || a.Look != nil && job == "look" || a.SignOff != nil && a.SignOff.Job == job
		if a.Bike == bike && a.Kind == kind && is {
			list = append(list, a)
		}
	}
	return list
}

// What the demo is to show must be there to be found.
func TestSeasonTellsItsStories(t *testing.T) {
	c := Season()
	last := map[string]Outing{}
	for _, o := range c.Outings {
		last[o.Bike] = o
	}
	final := func(bike, kind, job string) Act {
		list := acts(c, bike, kind, job)
		require.NotEmpty(t, list, "%s %s %s", bike, kind, job)
		return list[len(list)-1]
	}
	chain := final("coach", "chain", "measure").Reading
	assert.Equal(t, 306.4, chain.Length, "the coach's chain is past 0.5 %%")
	assert.InDelta(t, 0.5249, chain.Value, 1e-4)
	assert.Empty(t, acts(c, "coach", "chain", "change"))

	assert.Empty(t, acts(c, "hire-3", "guide-bolts", "check"), "the hire bike's guide bolts were never checked")
	assert.NotEmpty(t, acts(c, "hire-3", "ring-bolts", "check"))

	assert.Equal(t, wear.Mud, last["rain"].Ground)
	assert.Less(t, final("rain", "chain", "clean").At, wear.At(last["rain"].Spec.Start), "it was put away dirty")
	assert.Len(t, acts(c, "rain", "chain", "change"), 1)
	assert.Equal(t, 306.3, final("rain", "chain", "measure").Reading.Length, "the next chain is to be ordered")
	assert.Len(t, acts(c, "rain", "guide", "look"), 1, "after the first ride only")

	for _, kind := range []string{"guide-bolts", "ring-bolts", "crank-bolt", "pedals", "pivot-bolts"} {
		assert.NotEmpty(t, acts(c, "junior", kind, "check"), kind)
	}
	assert.Less(t, final("junior", "chain", "measure").Reading.Value, 0.2)
}

// The workshop's habits keep ahead of the intervals of 25 h and 50 h where it
// does not forget.
func TestWorkshopKeepsAhead(t *testing.T) {
	c := Season()
	for _, check := range []struct {
		bike, kind, job string
		within          float64
	}{
		{"coach", "guide", "look", 25},
		{"coach", "guide-bolts", "check", 25},
		{"coach", "crank-bolt", "check", 50},
		{"hire-3", "guide", "look", 25},
		{"hire-3", "headset", "check", 50},
		{"rain", "axles", "check", 50},
		{"junior", "guide-bolts", "check", 25},
	} {
		done := acts(c, check.bike, check.kind, check.job)
		hours, next := 0.0, 0
		for _, o := range c.Outings {
			if o.Bike != check.bike {
				continue
			}
			for next < len(done) && done[next].At < wear.At(o.Spec.Start) {
				hours, next = 0, next+1
			}
			hours += o.Spec.Minutes / 60
			assert.Less(t, hours, check.within, "%s %s before %s", check.bike, check.kind, o.File)
		}
	}
}

func BenchmarkSeason(b *testing.B) {
	for range b.N {
		c := Season()
		for _, o := range c.Outings {
			b.SetBytes(int64(len(o.Bytes())) * int64(len(c.Outings)))
		}
	}
}
