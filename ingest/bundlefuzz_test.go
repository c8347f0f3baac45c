package ingest

import (
	"archive/zip"
	"bytes"
	"errors"
	"path"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/wear"
)

// fileInMemory is a bundle that needs no disk.
type fileInMemory struct{ *bytes.Reader }

func (fileInMemory) Close() error { return nil }

// reasoned fails unless an error is one of the two kinds, and a refusal says
// what to do.
func reasoned(t *testing.T, err error) {
	t.Helper()
	var no *NotRideError
	var bad *RefusedError
	switch {
	case errors.As(err, &no):
		require.NotEmpty(t, no.Why)
	case errors.As(err, &bad):
		require.NotEmpty(t, bad.Why)
		require.NotEmpty(t, bad.Hint)
	default:
		t.Fatalf("an error of no kind: %v", err)
	}
}

// throughBundle reads all of a zip archive and asserts what holds of any.
func throughBundle(t *testing.T, raw []byte) {
	b := &bundle{file: fileInMemory{bytes.NewReader(raw)}}
	if err := b.list(int64(len(raw))); err != nil {
		reasoned(t, err)
		return
	}
	require.NotEmpty(t, b.entries)
	labels := map[string]bool{}
	for _, e := range b.entries {
		require.False(t, labels[e.label], "%q twice", e.label)
		labels[e.label] = true
		harmless(t, e.label)
		data, flaw, err := e.read()
		if err != nil {
			reasoned(t, err)
			continue
		}
		require.LessOrEqual(t, uint64(len(data)), e.zip.UncompressedSize64)
		require.LessOrEqual(t, int64(len(data)), growthLimit(int64(len(raw))))
		throughRead(t, data, flaw)
	}
}

func harmless(t *testing.T, label string) {
	require.NotEmpty(t, label)
	require.False(t, path.IsAbs(label), "%q", label)
	require.NotContains(t, strings.Split(label, "/"), "..")
	require.NotContains(t, label, `\`)
	for _, r := range label {
		require.True(t, unicode.IsPrint(r), "%q", label)
	}
}

// throughRead reads with and without salvage: with it never less comes out, and
// what comes out without is whole.
func throughRead(t *testing.T, raw []byte, flaw *RefusedError) {
	plain, sum, format, err := readFrom(raw, flaw, Options{})
	if format == wear.Table {
		return // it has rows, not tracks
	}
	checkTaken(t, plain, err)
	deep, again, _, deepErr := readFrom(raw, flaw, Options{Salvage: true})
	checkTaken(t, deep, deepErr)
	require.Equal(t, sum, again)
	for _, tr := range plain {
		require.Empty(t, tr.Salvaged)
	}
	if err != nil {
		reasoned(t, err)
		return
	}
	require.Nil(t, flaw)
	require.NoError(t, deepErr)
	require.Len(t, deep, len(plain))
	for _, tr := range deep {
		require.Empty(t, tr.Salvaged, "a whole file was salvaged")
	}
}

func fuzzRides(f *testing.F) [][]byte {
	ride := rig.Make(rig.Spec{Seed: 3, Minutes: 0.3, Odometer: true})
	return [][]byte{ride.FIT(), ride.GPX(), fitRide(3), []byte(wrap(riddenGPX(3))), nil}
}

// Archives as they are, and ones made of a name, a method and packed bytes that
// the directory tells the truth of. Run it with -fuzzminimizetime 1x.
func FuzzZip(f *testing.F) {
	rides := fuzzRides(f)
	for i, ride := range rides {
		raw := bundleOf(f, entry{"a/b.fit", ride}, entry{"../c.gpx", rides[(i+1)%len(rides)]}, entry{".hidden", nil})
		f.Add(raw, "ride.fit", deflated(f, ride), uint16(zip.Deflate), uint32(len(ride)))
		f.Add(raw[:len(raw)-9], "..\\x\x1b", ride, uint16(zip.Store), uint32(len(ride)))
		f.Add(bundleOf(f, entry{"z.gz", zipped(f, ride)}), "z.zip", raw, uint16(zip.Store), uint32(len(raw)))
	}
	f.Fuzz(func(t *testing.T, raw []byte, name string, packed []byte, method uint16, size uint32) {
		if len(raw) > 1<<20 || len(packed) > 1<<20 || len(name) > 1<<15 {
			return
		}
		throughBundle(t, raw)
		throughBundle(t, rawEntry(t, zip.FileHeader{Name: strings.TrimRight(name, "/"), Method: method, UncompressedSize64: uint64(size)}, packed))
	})
}

// Gzip files as they are, and cut ones around what is given.
func FuzzGzip(f *testing.F) {
	for _, ride := range fuzzRides(f) {
		f.Add(zipped(f, ride), ride, uint16(len(ride)/3))
		f.Add(append(zipped(f, ride), zipped(f, ride)...), ride[:len(ride)/2], uint16(5))
		f.Add(zipped(f, zipped(f, ride)), ride, uint16(0))
	}
	f.Fuzz(func(t *testing.T, raw, data []byte, cut uint16) {
		if len(raw) > 1<<20 || len(data) > 1<<20 {
			return
		}
		throughRead(t, raw, nil)
		throughRead(t, append([]byte("\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\xff"), raw...), nil)
		packed := zipped(t, data)
		throughRead(t, packed[:max(len(packed)-int(cut), 0)], nil)
		if isGzip(data) {
			return
		}
		tracks, sum, format, err := read(data, Options{})
		packedTracks, packedSum, packedFormat, packedErr := read(packed, Options{})
		assert.Equal(t, err, packedErr)
		assert.Equal(t, sum, packedSum)
		assert.Equal(t, format, packedFormat)
		assert.Len(t, packedTracks, len(tracks))
	})
}
