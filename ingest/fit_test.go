package ingest

import (
	"errors"
	"maps"
	"math"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every real file is taken, or refused or no ride with a reason.
func TestFITRealFiles(t *testing.T) {
	files := realFITs(t)
	var taken, noRide, refusals int
	for _, name := range slices.Sorted(maps.Keys(files)) {
		tracks, err := readFIT(files[name], Options{})
		var no *NotRideError
		var bad *RefusedError
		switch {
		case err == nil:
			taken++
			assert.NotEmpty(t, tracks, name)
		case errors.As(err, &no):
			noRide++
			assert.Contains(t, no.Why, "not a ride", name)
		case errors.As(err, &bad):
			refusals++
			assert.NotEmpty(t, bad.Hint, name)
		default:
			t.Errorf("%s: %v", name, err)
		}
		for _, tr := range tracks {
			checkTrack(t, name, tr)
		}
		t.Logf("%s: %d tracks, %v", name, len(tracks), err)
	}
	t.Logf("%d files: %d taken, %d no rides, %d refused", len(files), taken, noRide, refusals)
	assert.Equal(t, []int{15, 35, 5}, []int{taken, noRide, refusals})
}

// checkTrack asserts what every track promises.
func checkTrack(t testing.TB, name string, tr *Track) {
	t.Helper()
	require.LessOrEqual(t, tr.Start, tr.End, name)
	for i, s := range tr.Samples {
		require.False(t, i > 0 && s.T <= tr.Samples[i-1].T, "%s: sample %d", name, i)
		require.True(t, s.T >= tr.Start && s.T <= tr.End, "%s: sample %d", name, i)
		require.False(t, math.Abs(s.Lat) > 90 || math.Abs(s.Lon) > 180, "%s: sample %d", name, i)
		require.Equal(t, math.IsNaN(s.Lat), math.IsNaN(s.Lon), "%s: sample %d", name, i)
	}
	last := tr.Start
	for _, p := range tr.Pauses {
		require.True(t, p.From >= last && p.To > p.From && p.To <= tr.End, "%s: pause %v", name, p)
		last = p.To
	}
	for _, s := range tr.Shifts {
		require.True(t, s.T >= tr.Start && s.T <= tr.End, "%s: shift %v", name, s)
	}
}

// The device's own totals of three real rides, and what else those files hold.
func TestFITRealRides(t *testing.T) {
	files := realFITs(t)
	for _, c := range []struct {
		name                   string
		points                 int
		km, climb, turns, work float64
		timer                  float64 // s without pauses
		pauses, shifts         int
		sensors                []uint8
		offset                 int32
	}{
		{"tormoder/bpg/garmin.fit", 8823, 66.80226, 268, 8420, 1721435, 8789, 35, 0, []uint8{120, 11, 35, 40}, -18000},
		{"tormoder/dcrainmaker/Edge810-Vector-2013-08-16-15-35-10.fit", 4700, 41.33938, 514, 6751, 1296229, 4700, 1, 0, []uint8{120, 11, 123}, 0},
		{"tormoder/python-fitparse/garmin-edge-500-activitiy.fit", 10671, 92.62234, 541, math.NaN(), math.NaN(), 10641, 47, 0, nil, 0},
		{"muktihari/from_official_sdk/activity_lowbattery.fit", 3976, 28.15669, 381, 4959, 549905, 3975, 1, 0, []uint8{120, 11, 1, 35, 40}, -21600},
		{"muktihari/from_official_sdk/WithGearChangeData.fit", 1979, math.NaN(), math.NaN(), math.NaN(), math.NaN(), 1978, 0, 37, nil, -21600},
	} {
		tr := oneTrack(t, files[c.name])
		assert.Len(t, tr.Samples, c.points, c.name)
		equalOrAbsent(t, c.km*1000, tr.Totals.Distance, c.name)
		equalOrAbsent(t, c.climb, tr.Totals.Climb, c.name)
		equalOrAbsent(t, c.turns, tr.Totals.Turns, c.name)
		equalOrAbsent(t, c.work, tr.Totals.Work, c.name)
		var paused int64
		for _, p := range tr.Pauses {
			paused += p.To - p.From
		}
		assert.InDelta(t, c.timer, float64(tr.End-tr.Start-paused)/1000, 1.5, c.name)
		assert.Len(t, tr.Pauses, c.pauses, c.name)
		assert.Len(t, tr.Shifts, c.shifts, c.name)
		var types []uint8
		for _, s := range tr.Sensors {
			types = append(types, s.Type)
		}
		assert.Equal(t, c.sensors, types, c.name)
		assert.Equal(t, c.offset, tr.Offset, c.name)
	}
}

func equalOrAbsent(t testing.TB, want, got float64, name string) {
	t.Helper()
	if math.IsNaN(want) {
		assert.True(t, math.IsNaN(got), "%s: %v is not absent", name, got)
		return
	}
	assert.InDelta(t, want, got, 1e-6, name)
}

// A triathlon gives its cycling leg, wherever the device wrote the sessions.
func TestFITTriathlon(t *testing.T) {
	files := realFITs(t)
	var legs []*Track
	for _, name := range []string{"triathlon_summary_first.fit", "triathlon_summary_last.fit"} {
		tr := oneTrack(t, files["muktihari/from_garmin_forums/"+name])
		assert.Equal(t, 2, tr.Leg)
		assert.Equal(t, "cycling", tr.Sport)
		assert.Equal(t, "Bike", tr.Profile)
		last := tr.Samples[len(tr.Samples)-1]
		assert.InDelta(t, tr.Totals.Distance, last.Dist, 1, "the odometer counts from the leg's start")
		assert.Len(t, tr.Samples, 1566)
		legs = append(legs, tr)
	}
	sameSamples(t, "first and last", legs[0].Samples, legs[1].Samples)
	assert.Equal(t, legs[0].Totals.Distance, legs[1].Totals.Distance)
}

// tormoder/fit accumulates compressed distances over all files of a process, so
// a file that holds them must read the same however often and beside whatever
// else. The real one is a run by a device whose clock was not set.
func TestFITCompressedDistance(t *testing.T) {
	files := realFITs(t)
	run := files["tormoder/python-fitparse/compressed-speed-distance.fit"]
	_, err := readFIT(run, Options{})
	assert.EqualError(t, err, "a running activity, not a ride")
	ride := fitPackedRide(300)
	other := files["tormoder/misc/2015-10-13-08-43-15.fit"]
	triathlon := files["muktihari/from_garmin_forums/triathlon_summary_first.fit"]
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for range 3 {
				p := walkFIT(run)
				f, flaw := p.decode()
				assert.Equal(t, fitWhole, flaw)
				assert.InDelta(t, 10248.67, lastDist(f), 0.1, "the session's own total")
				assert.InDelta(t, 299*7.5, oneTrack(t, ride).Samples[299].Dist, 0.1)
				assert.Len(t, oneTrack(t, other).Samples, 221)
				assert.Len(t, oneTrack(t, triathlon).Samples, 1566)
			}
		})
	}
	wg.Wait()
}

// fitPackedRide is a ride at 7.5 m/s whose records hold compressed speed and
// distance.
func fitPackedRide(n int) []byte {
	var m fitMaker
	fitID(&m, fileActivity)
	m.define(1, 20, fitField{253, 4, baseUint32}, fitField{8, 3, 0x0D})
	for i := range n {
		speed, dist := 750, 120*i
		m.data(1, day0+uint32(i), byte(speed), byte(speed>>8)|byte(dist<<4), byte(dist>>4))
	}
	fitSessionOf(&m, 2, no8, day0, day0+uint32(n), uint32(n)*1000)
	return m.file()
}
