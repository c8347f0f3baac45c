package ingest

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/wear"
)

// salvageRide is short, but has what there is in a ride.
func salvageRide(minutes float64) *rig.Ride {
	s := rig.Full(11)
	s.Minutes, s.Pauses, s.Stands = minutes, 1, 1
	return rig.Make(s)
}

// Wherever a file is cut: it is refused without salvage, with it the more is
// left the more counts, and never more than was ridden.
func TestSalvageAtEveryCut(t *testing.T) {
	ride := salvageRide(0.5)
	short := rig.Make(rig.Spec{Seed: 11, Minutes: 0.15, Cadence: true, Power: true})
	for name, file := range map[string][]byte{
		"FIT": ride.FIT(), "GPX": short.GPX(), "FIT in gzip": zipped(t, ride.FIT()),
	} {
		t.Run(name, func(t *testing.T) {
			tracks, _, _, err := Read(file, Options{})
			require.NoError(t, err)
			require.Len(t, tracks, 1)
			c := cutRide{whole: tracks[0], load: Reduce(tracks[0], Model{})}
			for n := 12; n < len(file); n++ {
				c.check(t, file[:n], n)
			}
			assert.Len(t, c.whole.Samples, c.points, "not all came back from the last cut")
		})
	}
}

type cutRide struct {
	whole  *Track
	load   Outcome
	points int // that the longest part so far gave
	moving int64
}

func (c *cutRide) check(t *testing.T, part []byte, n int) {
	_, _, _, err := Read(part, Options{})
	if bytes.HasSuffix(part, []byte("</gpx>")) {
		require.NoError(t, err, "only a line feed is missing")
		return
	}
	require.Error(t, err, "%d bytes", n)
	tracks, _, _, salvageErr := Read(part, Options{Salvage: true})
	if salvageErr != nil {
		require.Zero(t, c.points, "%d bytes give nothing, fewer gave something: %v", n, salvageErr)
		return
	}
	require.Len(t, tracks, 1)
	got := tracks[0]
	if got.Salvaged == "" { // only the wrapping is cut
		require.Len(t, got.Samples, len(c.whole.Samples), "%d bytes", n)
	}
	var refusal *RefusedError
	require.ErrorAs(t, err, &refusal)
	require.Contains(t, refusal.Hint, "--salvage")
	require.Contains(t, refusal.Why, got.Salvaged, "%d bytes", n)

	require.GreaterOrEqual(t, len(got.Samples), c.points, "%d bytes", n)
	c.points = len(got.Samples)
	require.LessOrEqual(t, c.points, len(c.whole.Samples))
	for i, s := range got.Samples[:c.points-1] {
		require.Equal(t, c.whole.Samples[i].T, s.T)
	}
	require.Equal(t, c.whole.Start, got.Start)
	require.LessOrEqual(t, got.End, c.whole.End)
	load := Reduce(got, Model{})
	for _, q := range []wear.Quantity{wear.Distance, wear.Turns, wear.Work, wear.Moving} {
		most := c.load.Recorded[q] + c.load.Estimated[q]
		require.LessOrEqual(t, load.Recorded[q]+load.Estimated[q], most+most/100+1_000, "%v of %d bytes", q, n)
	}
	moving := load.Recorded[wear.Moving]
	require.GreaterOrEqual(t, moving, c.moving, "%d bytes", n)
	c.moving = moving
}

func TestSalvageSaysWhatIsWhole(t *testing.T) {
	ride := rig.Make(rig.Spec{Seed: 4, Minutes: 74, Odometer: true})
	fit, gpx := ride.FIT(), ride.GPX()
	unfinished := bytes.Clone(fit[:len(fit)*61/74])
	copy(unfinished[4:8], []byte{0, 0, 0, 0})
	wrong := bytes.Clone(fit)
	wrong[len(wrong)-1] ^= 1
	for name, c := range map[string]struct {
		raw        []byte
		whole, why string
	}{
		"cut":                {fit[:len(fit)*61/74], "61 of about 74 minutes", "the file is cut: 61 of about 74 minutes are whole"},
		"size 0":             {unfinished, "61 minutes", "the device never finished the file: 61 minutes can be read"},
		"checksum":           {wrong, "74 of 74 minutes", "the checksum is wrong: 74 of 74 minutes can be read"},
		"cut GPX":            {gpx[:len(gpx)/2], "37 minutes", "points: 37 minutes can be read"},
		"checksum in gzip":   {spoilt(zipped(t, gpx)), "74 minutes", "a damaged gzip file: gzip: invalid checksum: 74 minutes can be read"},
		"second part spoilt": {slices.Concat(fit, fit[:8], []byte(".FiT...")), "74 minutes", "part 2 is damaged: its header makes no sense"},
	} {
		_, _, _, err := Read(c.raw, Options{})
		var refusal *RefusedError
		require.ErrorAs(t, err, &refusal, name)
		assert.Contains(t, refusal.Why, c.why, name)
		assert.True(t, strings.HasSuffix(refusal.Hint, orSalvage), name)
		tracks, _, _, err := Read(c.raw, Options{Salvage: true})
		require.NoError(t, err, name)
		require.Len(t, tracks, 1, name)
		assert.Equal(t, c.whole, tracks[0].Salvaged, name)
		r := RideOf(tracks[0], Reduce(tracks[0], Model{}), wear.Whose{Bike: 7, Rule: wear.Told})
		assert.True(t, r.Salvaged)
		assert.Equal(t, "from a damaged file: "+c.whole, r.Notes[len(r.Notes)-1])
	}
}

// spoilt is a gzip file with a wrong checksum.
func spoilt(gz []byte) []byte {
	gz[len(gz)-8] ^= 1
	return gz
}

// A FIT file knows best whether it is whole, whatever the gzip file around it says.
func TestAWholeFileInADamagedOneIsWhole(t *testing.T) {
	fit := salvageRide(1).FIT()
	raw := spoilt(zipped(t, fit))
	_, _, _, err := Read(raw, Options{})
	require.ErrorContains(t, err, "a damaged gzip file")
	tracks, hash, _, err := Read(raw, Options{Salvage: true})
	require.NoError(t, err)
	_, want, _, err := Read(fit, Options{})
	require.NoError(t, err)
	assert.Equal(t, want, hash, "the same ride under the same name")
	assert.Empty(t, tracks[0].Salvaged)
	assert.Contains(t, tracks[0].Warnings, "a damaged gzip file: gzip: invalid checksum")
}

func TestWhatCannotBeSalvaged(t *testing.T) {
	walk := strings.Replace(wrap(riddenGPX(30)), "<trkseg>", "<type>Walking</type><trkseg>", 1)
	for name, c := range map[string]struct {
		raw       []byte
		why       string
		notAtRide bool
	}{
		"header only": {fitRide(20)[:14], "the file is cut, and what is whole in it is an activity without points or totals", false},
		"one point":   {[]byte(wrap(riddenGPX(30))[:280]), "after 1 point: no point of a ride is whole", false},
		"half a walk": {[]byte(walk[:len(walk)/2]), "a walk, not a ride of a bike", true},
		"half a zip":  {bundleOf(t, entry{"a", []byte(walk)})[:100], "a zip archive", false},
	} {
		_, _, _, err := Read(c.raw, Options{Salvage: true})
		require.ErrorContains(t, err, c.why, name)
		var not *NotRideError
		assert.Equal(t, c.notAtRide, errors.As(err, &not), name)
	}
}

// threeLegs is a multi-sport file whose sessions come each after its leg; the
// second leg is of the given sport.
func threeLegs(sport byte) []byte {
	var m fitMaker
	fitID(&m, fileActivity)
	for i, s := range []byte{5, sport, 1} { // swimming, …, running
		from := day0 + uint32(i)*1000
		fitPoints(&m, from, 600)
		fitSessionOf(&m, s, no8, from, from+599, 599_000)
	}
	return m.file()
}

// What belongs to a leg whose session is lost is nobody's.
func TestSalvageOfSeveralSports(t *testing.T) {
	file := threeLegs(2)
	third := len(file) / 3
	_, err := openFIT(file[:third+200], true)
	assert.ErrorContains(t, err, "what is whole in it is a swimming activity", "the ride has no session yet")
	tracks, err := openFIT(file[:2*third+3000], true)
	require.NoError(t, err)
	require.Len(t, tracks, 1)
	assert.Len(t, tracks[0].Samples, 600, "none of the run")
	assert.Equal(t, 1, tracks[0].Leg)

	var m fitMaker
	fitID(&m, fileActivity)
	for i, sport := range []byte{5, 2} {
		fitPoints(&m, day0+uint32(i)*1000, 60)
		m.define(3, 19, fitField{253, 4, baseUint32}, fitField{25, 1, baseEnum}) // lap
		m.data(3, day0+uint32(i)*1000+60, sport)
	}
	laps := m.file()
	_, err = openFIT(laps[:len(laps)-2], true)
	assert.ErrorContains(t, err, "several sports in one file, and what divides them is lost")
}

// Newer devices write the session first: it tells the whole ride, of which only
// a part is there.
func TestSalvageWithTheSessionFirst(t *testing.T) {
	var m fitMaker
	fitID(&m, fileActivity)
	m.define(2, 18, fitField{253, 4, baseUint32}, fitField{2, 4, baseUint32}, fitField{7, 4, baseUint32},
		fitField{8, 4, baseUint32}, fitField{5, 1, baseEnum}, fitField{9, 4, baseUint32})
	m.data(2, day0+3599, day0, uint32(3_599_000), uint32(3_599_000), byte(2), uint32(1_800_000))
	fitPoints(&m, day0, 3600)
	file := m.file()
	tracks, err := openFIT(file[:len(file)/2], true)
	require.NoError(t, err)
	require.Len(t, tracks, 1)
	assert.Equal(t, "30 of 60 minutes", tracks[0].Salvaged)
	assert.Equal(t, tracks[0].Samples[len(tracks[0].Samples)-1].T, tracks[0].End)
	load := Reduce(tracks[0], Model{})
	assert.InDelta(t, 9_000, float64(load.Recorded[wear.Distance])/100, 100, "half of 18 km")

	tracks, err = openFIT(file[:len(file)-2], true)
	require.NoError(t, err)
	assert.Equal(t, 18_000.0, tracks[0].Totals.Distance, "all points: the device's totals count")
}

// The settings say what sport it is before any lap or session does.
func TestSalvageKnowsTheSportFromTheSettings(t *testing.T) {
	var m fitMaker
	fitID(&m, fileActivity)
	m.define(3, 12, fitField{0, 1, baseEnum}) // sport
	m.data(3, byte(1))
	fitPoints(&m, day0, 60)
	file := m.file()
	_, err := openFIT(file[:len(file)-2], true)
	assert.ErrorContains(t, err, "what is whole in it is a running activity")
}

// Points whose time leaps are dropped at the end, and that is said.
func TestLeapsAtTheEnd(t *testing.T) {
	text := wrap(riddenGPX(30) + north(31, stampAfter(4*30+2*86_400)))
	tracks, _, _, err := Read([]byte(text), Options{})
	require.NoError(t, err)
	require.Len(t, tracks, 1)
	assert.Len(t, tracks[0].Samples, 30)
	assert.Contains(t, tracks[0].Warnings, "left out 1 point: the time leaps by more than a day")

	var m fitMaker
	fitID(&m, fileActivity)
	fitPoints(&m, day0, 60)
	fitPoints(&m, day0+1_890_000_000, 1)
	tracks, err = openFIT(m.file()[:len(m.body)+14], true)
	require.NoError(t, err)
	assert.Len(t, tracks[0].Samples, 60)
	assert.Contains(t, tracks[0].Warnings, "1 point whose time leaps by more than a day left out")
}
