package store

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/wear"
)

func drawNewest(t *rapid.T) newest {
	at := func() wear.Instant { return wear.Instant(rapid.Int64Range(int64(first), int64(last)-1).Draw(t, "at")) }
	text := func() string { return rapid.String().Draw(t, "text") }
	figure := func() float64 {
		return rapid.Float64().Filter(func(v float64) bool { return !math.IsNaN(v) }).Draw(t, "figure")
	}
	n := newest{declined: rapid.Bool().Draw(t, "declined")}
	for range rapid.IntRange(0, 3).Draw(t, "readings") {
		r := wear.Reading{At: at(), Of: wear.ReadingOf(text()), Value: figure(), Tool: text(), Length: figure(),
			Pitches: rapid.IntRange(0, 200).Draw(t, "pitches"), Note: text(), Which: text(), Doubtful: rapid.Bool().Draw(t, "doubtful"), Plate: figure()}
		if rapid.Bool().Draw(t, "gauge") {
			r.Gauge = &wear.Gauge{In: figure(), Out: figure(), Points: rapid.IntRange(0, 3).Draw(t, "points")}
		}
		for range rapid.IntRange(0, 3).Draw(t, "places") {
			r.Places = append(r.Places, figure())
		}
		n.readings = append(n.readings, r)
	}
	for range rapid.IntRange(0, 3).Draw(t, "looks") {
		n.looks = append(n.looks, wear.Look{At: at(), Word: wear.Word(text()), Note: text()})
	}
	for range rapid.IntRange(0, 3).Draw(t, "sign-offs") {
		n.signOffs = append(n.signOffs, wear.SignOff{At: at(), Job: text(), Witness: rapid.Bool().Draw(t, "witness"),
			Torque: figure(), Fitted: wear.ID(rapid.Uint64().Draw(t, "fitted"))})
	}
	return n
}

// What is packed comes back; cut short anywhere it is an error, or as if nothing was kept.
func TestNewestComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := drawNewest(t)
		packed := packNewest(n)
		if packed == nil {
			require.Empty(t, slices.Concat(n.signOffs))
			return
		}
		have, err := (&Tx{}).unpackNewest(packed)
		require.NoError(t, err)
		require.Equal(t, packed, packNewest(have))
		require.Equal(t, len(n.readings), len(have.readings))
		for i := range n.readings {
			require.Equal(t, n.readings[i], have.readings[i])
		}
		require.ElementsMatch(t, n.looks, have.looks)
		require.ElementsMatch(t, n.signOffs, have.signOffs)
		_, err = (&Tx{}).unpackNewest(packed[:rapid.IntRange(0, len(packed)-1).Draw(t, "cut")])
		require.Error(t, err)
	})
}

func FuzzNewest(f *testing.F) {
	f.Add([]byte{newestVersion, 0, 0, 0, 1, 2, 1, 'x', 3})
	f.Add([]byte{newestVersion, 1, 255, 255, 255, 255, 15})
	f.Fuzz(func(t *testing.T, raw []byte) {
		if n, err := (&Tx{}).unpackNewest(raw); err == nil && len(n.readings)+len(n.looks)+len(n.signOffs) > 0 {
			again, err := (&Tx{}).unpackNewest(packNewest(n))
			require.NoError(t, err)
			assert.Len(t, again.signOffs, len(n.signOffs))
		}
	})
}
