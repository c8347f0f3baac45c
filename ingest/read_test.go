package ingest

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

func zipped(tb testing.TB, data []byte) []byte {
	tb.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	_, err := z.Write(data)
	require.NoError(tb, err)
	require.NoError(tb, z.Close())
	return b.Bytes()
}

func TestWrongInputIsRefusedWithAHint(t *testing.T) {
	ride := wrap(riddenGPX(400))
	now := wear.At(morning)
	backward := func() string {
		var b strings.Builder
		for i := range 50 {
			b.WriteString(north(i, stampAfter(-i)))
		}
		return wrap(b.String())
	}()
	for name, c := range map[string]struct {
		raw       string
		why, hint string
	}{
		"empty":                {"", "the file is empty", copyAgain},
		"zeros":                {strings.Repeat("\x00", 100), "the file holds nothing but zeros or spaces", copyAgain},
		"zip":                  {"PK\x03\x04rest", "a zip archive", "unpack it first, then import the folder"},
		"web page":             {"<!DOCTYPE html><html><body><gpx></body>", "a web page, not a ride file", "log in to the site and download the file again"},
		"web page of old":      {"\n<HTML>", "a web page, not a ride file", "log in to the site and download the file again"},
		"KML":                  {"<kml/>", "a KML file: it keeps no times of a ride", "export the ride as FIT or GPX"},
		"cut in half":          {ride[:len(ride)/2], "the file is cut short: it ends in the middle, after 199 points: 13 minutes can be read", fetchAgain + orSalvage},
		"cut at the last byte": {ride[:len(ride)-1], "the file is cut short: it ends in the middle, after 400 points: 27 minutes can be read", fetchAgain + orSalvage},
		"cut before it starts": {"<gpx version='1.1'><trk>", "the file is cut short: it ends before its first track point", fetchAgain},
		"gzip cut":             {string(zipped(t, []byte(ride))[:200]), "the gzip file is cut short: no point of a ride is whole", copyAgain},
		"gzip of a gzip":       {string(zipped(t, zipped(t, []byte(ride)))), "a gzip file within a gzip file", "decompress it once by hand, then import the result"},
		"no times":             {wrap(north(0, "") + north(1, "")), "no times in it", withoutTimes},
		"clock not set":        {wrap(north(0, "<time>1989-12-31T23:59:59Z</time>")), "its times are of 1989: the device's clock was not set", withoutTimes},
		"from the future":      {wrap(north(0, stampAfter(86_401)) + north(1, stampAfter(86_402))), "it starts on 2024-05-02, in the future: the device's clock was wrong", clockHint},
		"backwards":            {backward, "the times run backwards at 49 points of 50", "export the ride again from the device or site it came from"},
		"places nowhere":       {wrap(`<trkpt lat="943.1" lon="NaN"/><trkpt lat="-943" lon="14"/>`), "none of its 2 points is at a place on earth", "export the ride again from the device or site it came from"},
		"too deep":             {"<gpx>" + strings.Repeat("<a>", maxDepth), "not a GPX that can be read: elements nested too deeply", "export the ride again, best as FIT"},
		"too many attributes":  {"<gpx " + strings.Repeat("a=b ", maxTag/4) + "/>", "not a GPX that can be read: a tag of more than 128 kB", fetchAgain},
		"too many points":      {"<gpx>" + strings.Repeat("<trkpt/>", maxPoints+1), "1000001 track points, more than the 1000000 that one file may hold", splitFile},
		"too many outings":     {manyOutings(maxLegs + 1), "201 outings in one file, more than 200", splitFile},
		"too large":            {strings.Repeat(" ", maxBytes+1), "40 MB, more than the 40 MB that a ride file may hold", splitFile},
		"gzip bomb":            {string(zipped(t, make([]byte, maxBytes+1))), "grows more than 100-fold when it is decompressed, which no ride does", bombHint},
	} {
		t.Run(name, func(t *testing.T) {
			tracks, hash, _, err := Read([]byte(c.raw), Options{Now: now})
			require.EqualError(t, err, c.why)
			assert.Empty(t, tracks)
			assert.NotZero(t, hash)
			var refusal *RefusedError
			require.ErrorAs(t, err, &refusal)
			assert.Equal(t, c.hint, refusal.Hint)
		})
	}
}

func TestStrangersAreNoRides(t *testing.T) {
	for name, c := range map[string]struct{ raw, why string }{
		"text":        {"Dear diary", "not a ride file"},
		"one bracket": {"<", "not a ride file"},
		"picture":     {"\xFF\xD8\xFF\xE0", "a picture, not a ride file"},
		"other XML":   {"<?xml version='1.0'?><!-- a --><feed>", "XML, but neither GPX nor TCX: its root is <feed>"},
	} {
		t.Run(name, func(t *testing.T) {
			_, _, _, err := Read([]byte(c.raw), Options{})
			require.EqualError(t, err, c.why)
			var stranger *NotRideError
			require.ErrorAs(t, err, &stranger)
			assert.Equal(t, knownFormats, stranger.Hint)
		})
	}
}

// manyOutings are so many days of two points each.
func manyOutings(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(north(0, stampAfter((i-n)*86_400)) + north(1, stampAfter((i-n)*86_400+10)) + "</trkseg><trkseg>")
	}
	return wrap(b.String())
}

func TestSoundFilesThatAreNoRides(t *testing.T) {
	walk := strings.Replace(wrap(riddenGPX(3)), "<trkseg>", "<type>Walking</type><trkseg>", 1)
	for name, c := range map[string]struct{ text, why string }{
		"route":          {`<gpx><rte><rtept lat="1" lon="2"/></rte></gpx>`, "a route, not a ride"},
		"waypoints":      {`<gpx><wpt lat="1" lon="2"/></gpx>`, "waypoints only, not a ride"},
		"nothing":        {`<gpx><trk><trkseg/></trk></gpx>`, "no track in it, so no ride"},
		"one point":      {wrap(north(0, stampAfter(0))), "fewer than two points with a time, not a ride"},
		"walk":           {walk, "a walk, not a ride of a bike"},
		"run of a file":  {strings.Replace(wrap(riddenGPX(3)), "<trk>", "<metadata><type>Running</type></metadata><trk>", 1), "a run, not a ride of a bike"},
		"said elsewhere": {strings.Replace(wrap(riddenGPX(3)), "<trk>", "<metadata><extensions><o:activity>trail run</o:activity></extensions></metadata><trk>", 1), "a run, not a ride of a bike"},
	} {
		_, _, _, err := Read([]byte(c.text), Options{})
		require.EqualError(t, err, c.why, name)
		var not *NotRideError
		assert.ErrorAs(t, err, &not, name)
	}
}

func TestWhatIsGivenForTimesIsChecked(t *testing.T) {
	on := wear.At(morning)
	text := []byte(wrap(north(0, "") + north(10_000, "")))
	for _, o := range []Options{{}, {On: &on}, {Hours: 2}, {On: &on, Hours: -1}, {On: &on, Hours: 1e6}} {
		_, _, _, err := Read(text, o)
		assert.EqualError(t, err, "no times in it")
	}
	_, _, _, err := Read(text, Options{On: &on, Hours: 0.1})
	assert.EqualError(t, err, "111 km in 0.1 hours: no bike is that fast")
	_, _, _, err = Read([]byte(wrap(north(0, "")+north(0, ""))), Options{On: &on, Hours: 1})
	assert.EqualError(t, err, "fewer than two places, not a ride")
}

func TestGzipChangesNothing(t *testing.T) {
	plain := []byte(wrap(riddenGPX(20)))
	want, hash, format, err := Read(plain, Options{})
	require.NoError(t, err)
	got, zippedHash, zippedFormat, err := Read(zipped(t, plain), Options{})
	require.NoError(t, err)
	assert.Equal(t, fmt.Sprint(want[0].Samples), fmt.Sprint(got[0].Samples))
	assert.Equal(t, hash, zippedHash)
	assert.Equal(t, format, zippedFormat)
	sum := sha256.Sum256(plain)
	assert.Equal(t, sum[:12], hash[:])
	assert.NotEqual(t, rideID(sum, 0), rideID(sum, 1))
}

func TestAPanicCostsOneFile(t *testing.T) {
	broken := func([]byte, Options) ([]*Track, error) {
		var none []int
		_ = none[len(none)]
		return nil, nil
	}
	tracks, err := guarded(broken, nil, Options{})
	assert.Nil(t, tracks)
	require.ErrorContains(t, err, "the reader broke on this file")
	var refusal *RefusedError
	assert.True(t, errors.As(err, &refusal))
}
