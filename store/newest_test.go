package store

import (
	"math"
	"path/filepath"
	"slices"
	"testing"
	"time"

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

// An older book keeps none of them, and tells the same by all facts: that pads which
// are off were measured says how long the next ones last.
func TestABriefCaseOfABookWithoutNewest(t *testing.T) {
	b := At(filepath.Join(t.TempDir(), "book"), Options{Zone: "UTC"})
	at := func(day int) wear.Instant { return wear.At(time.Date(2026, 3, day, 12, 0, 0, 0, time.UTC)) }
	require.NoError(t, b.Update(t.Context(), func(tx *Tx) error {
		tx.Begin("test", "", "")
		bike, err := tx.AddBike(wear.Bike{Name: "Ridge"})
		require.NoError(t, err)
		for i := range 2 {
			p, err := tx.AddPart(wear.Part{Kind: "rear-pads"})
			require.NoError(t, err)
			require.NoError(t, tx.AddStay(wear.Stay{Part: p.ID, Host: bike.ID, From: at(1 + 10*i), To: []wear.Instant{at(11), wear.Never}[i]}))
			for k := range 3 {
				_, err = tx.AddReading(wear.Reading{Part: p.ID, At: at(2 + 10*i + 2*k), Of: wear.Lining, Value: 4 - float64(k), Tool: "caliper"})
				require.NoError(t, err)
			}
		}
		for n := range 20 {
			r := wear.Ride{ID: wear.RideID{byte(n), 1}, Bike: bike.ID, Start: at(1+n) + 1, Recorded: wear.Load{wear.Moving: 7_200_000, wear.Braking: 500_000}}
			_, err := tx.AddRide(r, wear.Gears{})
			require.NoError(t, err)
		}
		want, err := tx.Case(bike.ID, at(25))
		require.NoError(t, err)
		for _, kept := range []bool{true, false} {
			if !kept {
				require.NoError(t, tx.bolt.DeleteBucket(bktNewest))
			}
			have, err := tx.CaseToAssess(bike.ID, at(25))
			require.NoError(t, err)
			require.Equal(t, wear.Assess(want, wear.Default()), wear.Assess(have, wear.Default()), "kept: %v", kept)
		}
		return nil
	}))
}

// Whether work was due when it was declined, parts tell that were worked on again
// since: the sealant's time began afresh with the tyre's.
func TestABriefCaseOfDeclinedWork(t *testing.T) {
	b := At(filepath.Join(t.TempDir(), "book"), Options{Zone: "UTC"})
	at := func(day int) wear.Instant { return wear.At(time.Date(2026, 1, day, 12, 0, 0, 0, time.UTC)) }
	require.NoError(t, b.Update(t.Context(), func(tx *Tx) error {
		tx.Begin("test", "", "")
		bike, err := tx.AddBike(wear.Bike{Name: "Ridge"})
		require.NoError(t, err)
		add := func(kind string, stays ...wear.Stay) wear.ID {
			p, err := tx.AddPart(wear.Part{Kind: kind})
			require.NoError(t, err)
			for _, s := range stays {
				s.Part, s.Host = p.ID, bike.ID
				require.NoError(t, tx.AddStay(s))
			}
			return p.ID
		}
		tyre := add("rear-tyre", wear.Stay{From: at(1), To: wear.Never})
		sealant := add("rear-sealant", wear.Stay{From: at(1), To: at(100)}, wear.Stay{From: at(120), To: wear.Never})
		for _, s := range []wear.SignOff{
			{Part: tyre, At: at(60), Job: "change"}, {Part: sealant, At: at(99), Job: "top-up", Declined: true}, {Part: tyre, At: at(110), Job: "change"},
		} {
			_, err := tx.AddSignOff(s)
			require.NoError(t, err)
		}
		want, err := tx.Case(bike.ID, at(150))
		require.NoError(t, err)
		have, err := tx.CaseToAssess(bike.ID, at(150))
		require.NoError(t, err)
		findings := wear.AssessOnly(want, wear.Default(), wear.Due)
		require.True(t, slices.ContainsFunc(findings, func(f wear.Finding) bool { return f.PartID == sealant }))
		require.Equal(t, findings, wear.AssessOnly(have, wear.Default(), wear.Due))
		return nil
	}))
}
