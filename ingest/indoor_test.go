package ingest

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/wear"
)

// month is rides of one bike through their files, every third of them indoors.
func month(t *testing.T, minutes int) []wear.Ride {
	t.Helper()
	var rides []wear.Ride
	for k := range 9 {
		spec := rig.Full(uint64(k + 1))
		spec.Minutes, spec.Indoor = float64(minutes), k%3 == 2
		spec.Start = time.Date(2026, 1, 2+3*k, 10, 0, 0, 0, time.UTC)
		tr := trackOfFile(t, rig.Make(spec).FIT())
		rides = append(rides, RideOf(tr, Reduce(tr, Model{}), wear.Whose{Bike: 1, Rule: wear.Told}))
	}
	return rides
}

// used is what each job of each kind has counted after the rides, on a bike
// that came new with one part of each.
func used(t *testing.T, motor wear.Motor, rides []wear.Ride, kinds ...string) map[string]float64 {
	t.Helper()
	c := wear.Case{
		Bike:  wear.Bike{ID: 1, Name: "winter", Speeds: 12, Motor: motor},
		Today: rides[len(rides)-1].Start + wear.Day, First: rides[0].Start,
	}
	var sums wear.Sums
	for _, r := range rides {
		sums[r.Ground] = sums[r.Ground].Add(r.Sum())
	}
	c.Lines = map[wear.ID]wear.Timeline{1: {{From: wear.Ever, Sums: sums, Ring: 32}}}
	for k, kind := range kinds {
		id := wear.ID(100 + k)
		c.Parts = append(c.Parts, wear.PartCase{
			Part:  wear.Part{ID: id, Kind: kind, Name: kind + "-1"},
			Stays: []wear.Stay{{Part: id, Host: 1, From: wear.Ever, To: wear.Never}},
		})
	}
	found := map[string]float64{}
	for _, f := range wear.Assess(c, wear.Default()) {
		found[f.Kind+" "+f.Job] = f.Used
	}
	return found
}

// A mixed month: the tyre is spared the trainer's kilometres, on rollers the
// rear one is not; chain and bearings turn everywhere.
func TestMixedMonth(t *testing.T) {
	rides := month(t, 50)
	var out, in wear.Load
	for _, r := range rides {
		if r.Ground.Indoor() {
			in = in.Add(r.Total())
			assert.Equal(t, wear.Trainer, r.Ground)
			assert.Contains(t, r.Notes, "indoors: climb does not count, brakes are spared")
			continue
		}
		out = out.Add(r.Total())
	}
	for _, q := range []wear.Quantity{wear.Climb, wear.Descent, wear.Braking} {
		assert.Zero(t, in[q], q)
		assert.Positive(t, out[q], q)
	}
	for _, q := range []wear.Quantity{wear.Distance, wear.Moving, wear.Turns, wear.Work} {
		assert.Positive(t, in[q], q)
	}
	kinds := []string{"rear-tyre", "front-tyre", "chain", "bottom-bracket", "front-pads", "rear-hub", "fork"}
	trainer := used(t, wear.NoMotor, rides, kinds...)
	for k, r := range rides {
		if r.Ground == wear.Trainer {
			rides[k].Ground = wear.Rollers
		}
	}
	rollers := used(t, wear.NoMotor, rides, kinds...)
	km, all := out.SI(wear.Distance), out.SI(wear.Distance)+in.SI(wear.Distance)
	require.Contains(t, trainer, "rear-tyre look")
	assert.InEpsilon(t, km, trainer["rear-tyre look"], 1e-9)
	assert.InEpsilon(t, km, trainer["front-tyre look"], 1e-9)
	assert.InEpsilon(t, all, rollers["rear-tyre look"], 1e-9)
	assert.InEpsilon(t, km, rollers["front-tyre look"], 1e-9)
	for _, found := range []map[string]float64{trainer, rollers} {
		assert.InEpsilon(t, 1.4*out.SI(wear.Turns)+in.SI(wear.Turns), found["chain clean"], 1e-9, "unmarked ground outdoors")
		assert.InEpsilon(t, out.SI(wear.Moving), found["fork lowers"], 1e-9)
	}
	t.Logf("%.0f km outdoors, %.0f km indoors: rear tyre %.0f km", km/1000, in.SI(wear.Distance)/1000, trainer["rear-tyre look"]/1000)
}

// An indoor ride has no lift, whatever the user says of the rest.
func TestNoLiftIndoors(t *testing.T) {
	tr := ride(part{300, 4, 0, nan}, part{600, 4, 0.3, nan}, part{300, 4, 0, nan})
	tr.Indoor = true
	for _, u := range []wear.Uplift{wear.FindUplift, wear.AllUplift} {
		out := Reduce(tr, Model{Uplift: u})
		assert.Empty(t, cutNote(out))
		assert.InDelta(t, 4800, out.Recorded.SI(wear.Distance), 5)
	}
}

// What a mid-drive does is counted once: turns are the crank's own and their
// factor is in wear; work is doubled here, and no job with that factor counts
// work.
func TestMidDriveIsCountedOnce(t *testing.T) {
	rides := month(t, 50)
	own := used(t, wear.NoMotor, rides, "chain", "ring", "cassette", "rear-tyre", "guide")
	mid := used(t, wear.MidMotor, rides, "chain", "ring", "cassette", "rear-tyre", "guide")
	for job, factor := range map[string]float64{"chain clean": 2, "chain measure": 2, "cassette look": 2, "rear-tyre look": 1, "guide look": 1} {
		require.Positive(t, own[job], job)
		assert.InEpsilon(t, factor*own[job], mid[job], 1e-9, job)
	}
	tr := trackOfFile(t, rig.Make(rig.Full(2)).FIT())
	plain, motor := Reduce(tr, Model{}), Reduce(tr, Model{Motor: wear.MidMotor})
	for q := range wear.NQuantities {
		factor := int64(1)
		if q == wear.Work {
			factor = 2
		}
		assert.Equal(t, factor*total(plain)[q], total(motor)[q], q)
		assert.Equal(t, plain.Recorded[q], motor.Recorded[q], "the motor is never recorded")
	}
	for k, g := range motor.Gears.ByDevelopment {
		was := plain.Gears.ByDevelopment[k]
		assert.Equal(t, was.Turns, g.Turns)
		assert.InDelta(t, 2*was.Work, g.Work, 2)
	}
	for _, kind := range wear.Default().Kinds() {
		if kind.MidMotor == 1 {
			continue
		}
		for _, job := range kind.Jobs {
			for _, counts := range [][]wear.Count{job.Interval.First, job.Interval.Then, job.Interval.Soon, job.Interval.Expect} {
				for _, c := range counts {
					assert.NotEqual(t, "J", c.Of.Unit(), "%s %s", kind.Name, job.Name)
				}
			}
		}
	}
}
