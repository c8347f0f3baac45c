package wear

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWorkingOrder(t *testing.T) {
	want := []string{
		// The looks that may end it.
		"frame look", "guide look", "front-wheel look", "rear-wheel look", "rear-tyre look",
		// Suspension; headset and bottom bracket.
		"shock service", "fork lowers",
		"headset check", "bottom-bracket check", "bottom-bracket service",
		// Drivetrain: found out, done, cleaned.
		"cassette look", "ring look", "chain measure", "cassette change", "ring change", "chain change", "chain clean",
		// Brakes; wheels and tyres.
		"front-rotor measure", "front-pads measure", "rear-pads measure", "front-pads change", "brake-fluid change",
		"rear-hub check", "rear-hub service", "rear-tyre change", "rear-sealant top-up",
		// What the schedule does not know; bolts; the ride.
		"bell change", "pivot-bolts check", "guide-bolts check", "pedals check", "caliper-bolts check", "cassette skip-test",
	}
	var fs []Finding
	for i, s := range want {
		var kind, name string
		_, err := fmt.Sscan(s, &kind, &name)
		require.NoError(t, err)
		f := planned(ID(i+1), kind, name, ActChange, Due)
		if k := Default().kind(kind); k != nil {
			job, ok := k.Job(name)
			require.True(t, ok, s)
			f.Act, f.Safety = job.Act, job.Safety
		}
		fs = append(fs, f)
	}
	rng := rand.New(rand.NewPCG(6, 6))
	for range 20 {
		rng.Shuffle(len(fs), func(i, j int) { fs[i], fs[j] = fs[j], fs[i] })
		same := slices.Clone(fs)
		assert.Equal(t, want, kindsAndJobs(WorkingOrder(fs)))
		assert.Equal(t, same, fs, "the argument stays as it is")
	}
	assert.Empty(t, WorkingOrder(nil))
}

func kindsAndJobs(fs []Finding) []string {
	var list []string
	for _, f := range fs {
		list = append(list, f.Kind+" "+f.Job)
	}
	return list
}

func TestWorkingOrderOfLikeParts(t *testing.T) {
	first, second := planned(1, "cable", "change", ActChange, Due), planned(2, "cable", "change", ActChange, Due)
	first.Part, second.Part = "cable-2", "cable-10"
	other := planned(3, "frame", "look", ActLook, Stop)
	other.Bike, other.BikeID = "gravel", 2
	assert.Equal(t, []Finding{first, second, other}, WorkingOrder([]Finding{other, second, first}), "bike by bike, names as people count")

	unsafe, chain := planned(4, "ring", "look", ActLook, Stop), planned(5, "frame", "look", ActLook, Due)
	assert.Equal(t, []Finding{unsafe, chain}, WorkingOrder([]Finding{chain, unsafe}), "a look that clears a stop comes first, of whatever part")
}

// Each kind with jobs has its bench: a new one must be given a place.
func TestEveryKindHasItsBench(t *testing.T) {
	families := map[string]bool{}
	for _, k := range Default().Kinds() {
		families[k.Family] = true
		bench, _ := benchOf(k.Family)
		assert.True(t, bench != benchUnknown, "%s has no place in the working order", k.Name)
	}
	seen := map[string]bool{}
	for _, bench := range benches {
		for _, f := range bench {
			assert.True(t, families[f], "%s is no family of the schedule", f)
			assert.False(t, seen[f], "%s has two places", f)
			seen[f] = true
		}
	}
	assert.Empty(t, benches[benchUnknown])
	_, ok := Default().kind("cassette").Job(skipTest)
	assert.True(t, ok)
}
