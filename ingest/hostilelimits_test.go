package ingest

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// fitOf is a FIT of an activity with n messages of a kind, all the same.
func fitOf(mesg uint16, n int, fields []fitField, values ...any) func() []byte {
	return func() []byte {
		var m fitMaker
		fitID(&m, fileActivity)
		m.define(3, mesg, fields...)
		from := len(m.body)
		m.data(3, values...)
		m.body = append(m.body, bytes.Repeat(m.body[from:], n-1)...)
		return m.file()
	}
}

// overlappingLegs is a FIT of 255 sessions each of which has all gear changes.
func overlappingLegs() []byte {
	var m fitMaker
	fitID(&m, fileActivity)
	fitPoints(&m, day0, 600)
	for i := range uint32(maxFITParts) {
		fitSessionOf(&m, 2, 8, day0+2*i, day0+50_000, 50_000_000)
	}
	m.define(3, 21, fitField{253, 4, baseUint32}, fitField{0, 1, 0}, fitField{3, 4, baseUint32})
	for i := range uint32(maxFITEvents) {
		m.data(3, day0+1_000+i/100, byte(43), i)
	}
	return m.file()
}

// noise are so many bytes that do not shrink, without one that ends a text.
func noise(n int) []byte {
	r := rand.New(rand.NewPCG(1, 2))
	b := make([]byte, n)
	for i := range b {
		b[i] = byte('?' + r.IntN(64))
	}
	return b
}

// filled repeats s between head and tail up to so many bytes.
func filled(size int, head, s, tail string) []byte {
	return []byte(head + strings.Repeat(s, (size-len(head)-len(tail))/len(s)) + tail)
}

// goodRows is a table of n rows of about 80 bytes, in the form with most work.
func goodRows(n int) []byte {
	var b bytes.Buffer
	b.WriteString("date,bike,km,odometer,climb,hours,note\n")
	for i := range n {
		fmt.Fprintf(&b, "2024-%02d-%02d,bike number %d,%d.5,\"%d.5\",900,1:30,\"in, \"\"wet\"\" and cold\"\n", 1+i/28%4, 1+i%28, i, 20+i%50, i)
	}
	return b.Bytes()
}

// Files at the limits of their format, with as few points as they can have.
func TestFilesAtTheLimitsTakeLittleMemory(t *testing.T) {
	if raced {
		t.Skip("too large for the race detector")
	}
	when := fitField{253, 4, baseUint32}
	latin := `<?xml version="1.0" encoding="ISO-8859-1"?><gpx><trk><name>`
	for _, c := range []struct {
		name   string
		data   func() []byte
		points uint64 // of a ride, or rows of a table
		taken  bool
	}{
		{"records of 2 bytes", fitOf(20, maxFITPoints, []fitField{{4, 1, baseUint8}}, byte(80)), maxFITPoints, false},
		{"sessions", fitOf(18, maxFITOthers-1, []fitField{when}, day0), 0, false},
		{"sessions in parts", func() []byte { return bytes.Repeat(fitOf(18, 2, []fitField{when}, day0)(), 128) }, 0, false},
		{"laps that tormoder keeps", fitOf(19, maxFITKeptOthers-1, []fitField{when}, day0), 0, false},
		{"events that tormoder keeps", fitOf(21, maxFITKeptOthers-1, []fitField{when, {0, 1, 0}, {1, 1, 0}}, day0, byte(0), byte(0)), 0, false},
		{"devices that tormoder keeps", fitOf(23, maxFITKeptOthers-1, []fitField{when, {27, 100, baseString}}, day0, strings.Repeat("x", 99)+"\x00"), 0, false},
		{"laps", fitOf(19, 200_000, []fitField{when}, day0), 0, false},
		{"devices", fitOf(23, maxFITOthers-1, []fitField{when, {27, 20, baseString}}, day0, strings.Repeat("x", 20)), 0, false},
		{"events", fitOf(21, maxFITOthers-1, []fitField{when, {0, 1, 0}, {1, 1, 0}}, day0, byte(0), byte(0)), 0, false},
		{"shifts", fitOf(21, maxFITOthers-1, []fitField{when, {0, 1, 0}, {3, 4, baseUint32}}, day0, byte(43), day0), 0, false},
		{"shifts in all of many sessions", overlappingLegs, 600, false},
		{"heart beats", fitOf(78, maxFITOthers-1, []fitField{{0, 20, baseUint16}}, strings.Repeat("x", 20)), 0, false},
		{"unknown messages", fitOf(65000, 130_000, []fitField{{0, 250, 13}}, strings.Repeat("x", 250)), 0, false},
		{"records that tormoder keeps", fitOf(20, maxFITKept, []fitField{when}, day0), maxFITKept, false},
		{"elements", func() []byte { return filled(maxBytes, "<gpx>", "<a/>", "") }, 0, false},
		{"attributes", func() []byte { return filled(maxBytes, "<gpx>", "<a "+strings.Repeat("b=c ", maxTag/4-10)+"/>", "") }, 0, false},
		{"waypoints", func() []byte { return filled(maxBytes, "<gpx>", "<wpt/>", "") }, 0, false},
		{"tracks", func() []byte { return filled(maxBytes, "<gpx>", "<trk/>", "") }, 0, false},
		{"tracks just allowed", func() []byte { return filled(gpxParts*6, "<gpx>", "<trk/>", "") }, 0, false},
		{"segments just allowed", func() []byte { return filled(gpxParts*9, "<gpx><trk>", "<trkseg/>", "") }, 0, false},
		{"long prefixes", func() []byte { return filled(maxBytes, "<gpx>", "<"+strings.Repeat("p", 70)+":trk/>", "") }, 0, false},
		{"segments", func() []byte { return filled(maxBytes, "<gpx><trk>", "<trkseg/>", "") }, 0, false},
		{"broken", func() []byte { return filled(maxBytes, "<gpx>", "<a><", "") }, 0, false},
		{"Latin-1", func() []byte { return filled(maxBytes, latin, "\xE9", "") }, 0, false},
		{"a little Latin-1", func() []byte { return filled(13<<20, latin, "\xE9", "") }, 0, false},
		{"UTF-16", func() []byte { return []byte(utf16LE(string(filled(10<<20, "<gpx>", "<wpt/>", "")))) }, 0, false},
		{"control characters", func() []byte { return filled(maxBytes, "<gpx>", "\x01", "") }, 0, false},
		{"some control characters", func() []byte { return filled(maxBytes/2, "<gpx>", "\x01", "") }, 0, false},
		{"gzip of noise", func() []byte { return zipped(t, append([]byte("<gpx>"), noise(19<<20)...)) }, 0, false},
		{"gzip of Latin-1 noise", func() []byte { return zipped(t, append([]byte(latin), noise(13<<20)...)) }, 0, false},
		{"gzip of many", func() []byte {
			return copies(t, 3, zipped(t, append(noiseTags(300_000), strings.Repeat("<wpt/>", 2<<20)...)))
		}, 0, false},
		{"beside many", func() []byte { return manyBeside(t, filled(maxBytes, string(noiseTags(1<<20)), "<wpt/>", "")) }, 0, false},
		{"good rows", func() []byte { return goodRows(maxTableRows) }, maxTableRows, true},
		{"good rows in gzip", func() []byte { return zipped(t, goodRows(maxTableRows)) }, maxTableRows, true},
		{"rows of an old spreadsheet", func() []byte { return filled(maxTable/2, "date,km\n", "\x80\n", "") }, 0, false},
		{"few long rows", func() []byte {
			return filled(maxTable, "date,km\n", "2024-04-03,\""+strings.Repeat("x,", maxTableLine/3)+"\",1\n", "")
		}, 0, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			files, peak := hostileRun(t, c.data, c.points)
			for _, f := range files {
				var refusal *RefusedError
				var not *NotRideError
				require.Equal(t, c.taken, f.Err == nil, "%v", f.Err)
				require.True(t, c.taken || errors.As(f.Err, &refusal) || errors.As(f.Err, &not), "%v", f.Err)
			}
			t.Logf("%d MB at most for %d points", peak>>20, c.points)
			assert.LessOrEqual(t, peak, heapBase+heapPoint*c.points)
		})
	}
}

// noiseTags begins a GPX with so many bytes that do not shrink.
func noiseTags(n int) []byte {
	var b bytes.Buffer
	b.WriteString("<gpx>")
	hex := fmt.Sprintf("%x", noise(n/2))
	for ; len(hex) > 100; hex = hex[100:] {
		b.WriteString("<a/>" + hex[:100])
	}
	return b.Bytes()
}

// manyBeside is an archive of as many files as it may have, the last a large one.
func manyBeside(tb testing.TB, large []byte) []byte {
	files := make([]entry, maxEntries)
	for i := range files {
		files[i].name = fmt.Sprintf("%0100d", i)
	}
	files[maxEntries-1].data = large
	return bundleOf(tb, files...)
}
