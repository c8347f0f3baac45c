package ingest

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"pawl/ingest/rig"
	"pawl/wear"
)

// entry is a file for a bundle.
type entry struct {
	name string
	data []byte
}

// bundleOf makes a zip archive of entries, in their order.
func bundleOf(tb testing.TB, entries ...entry) []byte {
	tb.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, e := range entries {
		w, err := z.CreateHeader(&zip.FileHeader{Name: e.name, Method: zip.Deflate})
		require.NoError(tb, err)
		if !strings.HasSuffix(e.name, "/") {
			_, err = w.Write(e.data)
			require.NoError(tb, err)
		}
	}
	require.NoError(tb, z.Close())
	return b.Bytes()
}

// rawEntry makes a zip archive of one entry whose header says what it likes.
func rawEntry(tb testing.TB, h zip.FileHeader, packed []byte) []byte {
	tb.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	h.CompressedSize64 = uint64(len(packed))
	w, err := z.CreateRaw(&h)
	require.NoError(tb, err)
	_, err = w.Write(packed)
	require.NoError(tb, err)
	require.NoError(tb, z.Close())
	return b.Bytes()
}

// gpxRide is a GPX of so many points of its own day.
func gpxRide(day, points int) []byte {
	var b strings.Builder
	for k := range points {
		b.WriteString(north(k, stampAfter(86_400*day+4*k)))
	}
	return []byte(wrap(b.String()))
}

// handed runs the pipeline over a file of these bytes.
func handed(tb testing.TB, raw []byte, o Options) []File {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), "rides")
	require.NoError(tb, os.WriteFile(path, raw, 0o600))
	var files []File
	require.NoError(tb, Run(tb.Context(), []string{path}, o, oneBike, func(f File) error {
		f.Path = strings.TrimPrefix(f.Path, filepath.Dir(path)+"/")
		files = append(files, f)
		return nil
	}))
	return files
}

func paths(files []File) (list []string) {
	for _, f := range files {
		list = append(list, f.Path)
	}
	return list
}

// A bundle gives what its files would give by themselves, in its order.
func TestABundleIsReadFileByFile(t *testing.T) {
	defer goleak.VerifyNone(t)
	fit := rig.Make(rig.Spec{Seed: 5, Minutes: 3, Odometer: true}).FIT()
	gpx := gpxRide(1, 30)
	raw := bundleOf(t,
		entry{"2026/", nil}, entry{"2026/b.fit", fit}, entry{"2026/a.gpx.gz", zipped(t, gpx)},
		entry{"__MACOSX/2026/._b.fit", []byte("x")}, entry{"2026/.DS_Store", []byte("x")}, entry{".git/c.gpx", gpx},
		entry{"readme.txt", []byte("my rides")}, entry{`win\d.gpx`, gpxRide(2, 30)},
	)
	var grown []int
	got := handed(t, raw, Options{Opened: func(more int) { grown = append(grown, more) }})
	assert.Equal(t, []string{"rides/2026/b.fit", "rides/2026/a.gpx.gz", "rides/readme.txt", "rides/win/d.gpx"}, paths(got))
	assert.Equal(t, []int{3}, grown)
	for i, alone := range [][]byte{fit, zipped(t, gpx), nil, gpxRide(2, 30)} {
		if alone == nil {
			var not *NotRideError
			require.ErrorAs(t, got[i].Err, &not)
			continue
		}
		require.NoError(t, got[i].Err)
		want := handed(t, alone, Options{})[0]
		want.Path = got[i].Path
		assert.Equal(t, want, got[i])
	}
}

func TestBundlesAmongFiles(t *testing.T) {
	defer goleak.VerifyNone(t)
	dir := put(t, map[string]string{
		"1.gpx": string(gpxRide(1, 9)), "5.gpx": string(gpxRide(5, 9)),
		"2.zip":       string(bundleOf(t, entry{"2", gpxRide(2, 9)}, entry{"3", gpxRide(3, 9)}, entry{"3a", gpxRide(3, 8)})),
		"4-not-a.txt": string(bundleOf(t, entry{"4", gpxRide(4, 9)})),
		"6.zip":       "no zip at all",
	})
	files, errs := Find([]string{dir})
	require.Empty(t, errs)
	require.Len(t, files, 5)
	all, done := len(files), 0
	require.NoError(t, Run(t.Context(), files, Options{Opened: func(more int) { all += more }}, oneBike, func(f File) error {
		done++
		assert.LessOrEqual(t, done, all, "more done than there are")
		if !strings.HasSuffix(f.Path, "6.zip") {
			assert.NoError(t, f.Err, f.Path)
		}
		return nil
	}))
	assert.Equal(t, 7, done)
	assert.Equal(t, done, all)
}

func TestNamesInABundleAreHarmless(t *testing.T) {
	gpx := gpxRide(1, 9)
	long := strings.Repeat("é", 300)
	for name, want := range map[string]string{
		"../../etc/passwd.gpx":       "etc/passwd.gpx",
		"/abs/olute.gpx":             "abs/olute.gpx",
		`..\..\up.gpx`:               "up.gpx",
		`C:\rides\a.gpx`:             "C:/rides/a.gpx",
		"a/./b/../c.gpx":             "a/c.gpx",
		"\x1b[2J\x07\r\n\x00new.gpx": "?[2J????new.gpx",
		"\u202egpx.fdp":              "?gpx.fdp",
		"b\x81cher.gpx":              "bücher.gpx",
		long + ".gpx":                "…" + strings.Repeat("é", 196) + ".gpx",
		"..":                         "?",
		"":                           "?",
	} {
		got := handed(t, bundleOf(t, entry{name, gpx}), Options{})
		require.Len(t, got, 1, "%q", name)
		assert.NoError(t, got[0].Err, "%q", name)
		assert.Equal(t, "rides/"+want, got[0].Path, "%q", name)
		assert.Len(t, got[0].Rides, 1)
	}
}

// The same name twice hides nothing: both are read.
func TestNamesTwiceInABundle(t *testing.T) {
	got := handed(t, bundleOf(t, entry{"a.gpx", gpxRide(1, 9)}, entry{"b/../a.gpx", gpxRide(2, 9)}, entry{"a.gpx", gpxRide(3, 9)}), Options{})
	assert.Equal(t, []string{"rides/a.gpx", "rides/a.gpx (no. 2 of that name)", "rides/a.gpx (no. 3 of that name)"}, paths(got))
	starts := map[wear.Instant]bool{}
	for _, f := range got {
		require.NoError(t, f.Err)
		starts[f.Rides[0].Start] = true
	}
	assert.Len(t, starts, 3)
}

// deflated packs data as a zip archive does.
func deflated(tb testing.TB, data []byte) []byte {
	tb.Helper()
	var b bytes.Buffer
	w, err := flate.NewWriter(&b, flate.DefaultCompression)
	require.NoError(tb, err)
	_, err = w.Write(data)
	require.NoError(tb, err)
	require.NoError(tb, w.Close())
	return b.Bytes()
}

// copies is an archive of n files of these bytes.
func copies(tb testing.TB, n int, data []byte) []byte {
	tb.Helper()
	packed, sum := deflated(tb, data), crc32.ChecksumIEEE(data)
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := range n {
		w, err := z.CreateRaw(&zip.FileHeader{Name: fmt.Sprint(i), Method: zip.Deflate, CRC32: sum,
			CompressedSize64: uint64(len(packed)), UncompressedSize64: uint64(len(data))})
		require.NoError(tb, err)
		_, err = w.Write(packed)
		require.NoError(tb, err)
	}
	require.NoError(tb, z.Close())
	return b.Bytes()
}

// What is wrong with one file costs that file; the one behind it counts.
func TestFilesOfABundleThatAreRefused(t *testing.T) {
	gpx := gpxRide(1, 400)
	packed, sum := deflated(t, gpx), crc32.ChecksumIEEE(gpx)
	header := func(h zip.FileHeader) zip.FileHeader {
		h.Name = "a"
		if h.CRC32 == 0 {
			h.CRC32 = sum
		}
		if h.UncompressedSize64 == 0 {
			h.UncompressedSize64 = uint64(len(gpx))
		}
		return h
	}
	for name, c := range map[string]struct {
		raw       []byte
		why, hint string
	}{
		"encrypted":    {rawEntry(t, header(zip.FileHeader{Method: zip.Deflate, Flags: 1}), packed), "encrypted in the zip archive", "unpack the archive with its password, then import the folder"},
		"Deflate64":    {rawEntry(t, header(zip.FileHeader{Method: 9}), packed), "packed in the zip archive by Deflate64, which pawl does not read", unpackHere},
		"unknown":      {rawEntry(t, header(zip.FileHeader{Method: 77}), packed), "packed in the zip archive by method 77, which pawl does not read", unpackHere},
		"large":        {rawEntry(t, header(zip.FileHeader{Method: zip.Deflate, UncompressedSize64: maxBytes + 1}), packed), "40 MB in the zip archive, more than the 40 MB that a ride file may hold", splitFile},
		"huge":         {rawEntry(t, header(zip.FileHeader{Method: zip.Deflate, UncompressedSize64: 1 << 62}), packed), "4398046511104 MB in the zip archive, more than the 40 MB that a ride file may hold", splitFile},
		"bomb":         {bundleOf(t, entry{"a", make([]byte, maxBytes)}), "grows more than 100-fold when it is unpacked, which no ride file does", bombHint},
		"gzip bomb":    {bundleOf(t, entry{"a", zipped(t, make([]byte, maxBytes+1))}), "grows more than 100-fold when it is decompressed, which no ride does", bombHint},
		"nested":       {bundleOf(t, entry{"a", bundleOf(t, entry{"b", gpx})}), "a zip archive within a zip archive", unpackFirst},
		"nested, gzip": {bundleOf(t, entry{"a", zipped(t, bundleOf(t, entry{"b", gpx}))}), "a zip archive", unpackFirst},
		"gzip twice":   {bundleOf(t, entry{"a", zipped(t, zipped(t, gpx))}), "a gzip file within a gzip file", "decompress it once by hand, then import the result"},
		"checksum":     {rawEntry(t, header(zip.FileHeader{Method: zip.Deflate, CRC32: 1}), packed), "damaged in the zip archive: its checksum is wrong: 27 minutes can be read", "fetch the archive again" + orSalvage},
		"cut":          {rawEntry(t, header(zip.FileHeader{Method: zip.Deflate}), packed[:len(packed)/2]), "damaged in the zip archive: ", "fetch the archive again" + orSalvage},
		"says less":    {rawEntry(t, header(zip.FileHeader{Method: zip.Deflate, UncompressedSize64: 10_000}), packed), "damaged in the zip archive: it is longer than the directory says: ", "fetch the archive again" + orSalvage},
		"says more":    {rawEntry(t, header(zip.FileHeader{Method: zip.Deflate, UncompressedSize64: 100_000}), packed), "damaged in the zip archive: it is cut short: 27 minutes can be read", "fetch the archive again" + orSalvage},
		"garbage":      {rawEntry(t, header(zip.FileHeader{Method: zip.Deflate}), []byte("\xff\xff\xff")), "damaged in the zip archive: flate: corrupt input before offset 1", "fetch the archive again"},
		"empty":        {bundleOf(t, entry{"a", nil}), "the file is empty", copyAgain},
	} {
		t.Run(name, func(t *testing.T) {
			got := handed(t, c.raw, Options{})
			require.Len(t, got, 1)
			var refusal *RefusedError
			require.ErrorAs(t, got[0].Err, &refusal)
			assert.Contains(t, refusal.Why, c.why)
			assert.Equal(t, c.hint, refusal.Hint)
			assert.Empty(t, got[0].Rides)
		})
	}
}

func TestOneBadFileOfABundleCostsNoOther(t *testing.T) {
	raw := bundleOf(t, entry{"1", gpxRide(1, 9)}, entry{"2", []byte("marker-of-the-second")}, entry{"3", gpxRide(3, 9)})
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	require.NoError(t, err)
	at, err := z.File[1].DataOffset()
	require.NoError(t, err)
	raw[at] ^= 0xFF
	got := handed(t, raw, Options{})
	require.Len(t, got, 3)
	assert.NoError(t, got[0].Err)
	assert.ErrorContains(t, got[1].Err, "damaged in the zip archive")
	assert.NoError(t, got[2].Err)
}

func TestBundlesThatAreRefused(t *testing.T) {
	gpx := gpxRide(1, 400)
	sound := bundleOf(t, entry{"a", gpx}, entry{"b", gpx})
	var many bytes.Buffer
	z := zip.NewWriter(&many)
	for i := range maxEntries + 1 {
		_, err := z.CreateHeader(&zip.FileHeader{Name: fmt.Sprint(i)})
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	for name, c := range map[string]struct {
		raw []byte
		why string
	}{
		"cut in half":     {sound[:len(sound)/2], "a damaged zip archive: its directory is missing or cut"},
		"cut at the end":  {sound[:len(sound)-1], "a damaged zip archive: its directory is missing or cut"},
		"header only":     {[]byte("PK\x03\x04"), "a damaged zip archive: its directory is missing or cut"},
		"many files":      {many.Bytes(), "a zip archive of 20001 files, more than 20000"},
		"large directory": {longDirectory(t), "a zip archive with a directory of more than 4 MB"},
		"overlapping":     {overlapping(t, gpx, 9), "a zip archive whose files overlap, as none does that was not made to harm"},
		"slow bomb":       {slowBomb(t, 200), "a zip archive that grows more than 100-fold when it is unpacked"},
	} {
		t.Run(name, func(t *testing.T) {
			got := handed(t, c.raw, Options{})
			require.Len(t, got, 1)
			assert.Equal(t, "rides", got[0].Path)
			var refusal *RefusedError
			require.ErrorAs(t, got[0].Err, &refusal)
			assert.Contains(t, refusal.Why, c.why)
			assert.NotEmpty(t, refusal.Hint)
		})
	}
	for why, raw := range map[string][]byte{
		"a zip archive without files in it":           bundleOf(t, entry{"a/", nil}, entry{".b", gpx}),
		"a document or spreadsheet, not a ride file":  bundleOf(t, entry{"[Content_Types].xml", nil}, entry{"xl/a.xml", gpx}),
		"a document or spreadsheet, not a ride file ": bundleOf(t, entry{"mimetype", []byte("application/x")}, entry{"content.xml", gpx}),
		"a zip archive without files in it ":          bundleOf(t),
	} {
		got := handed(t, raw, Options{})
		require.Len(t, got, 1)
		var not *NotRideError
		require.ErrorAs(t, got[0].Err, &not)
		assert.Equal(t, strings.TrimSpace(why), not.Why)
	}
}

// longDirectory has few files, and comments that make up for it.
func longDirectory(tb testing.TB) []byte {
	tb.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := range maxDirectory/60_000 + 1 {
		_, err := z.CreateHeader(&zip.FileHeader{Name: fmt.Sprint(i), Comment: strings.Repeat("c", 60_000)})
		require.NoError(tb, err)
	}
	require.NoError(tb, z.Close())
	return b.Bytes()
}

// overlapping is an archive of n entries that all lie in the same bytes.
func overlapping(tb testing.TB, data []byte, n int) []byte {
	tb.Helper()
	one := bundleOf(tb, entry{"a", data})
	start := bytes.Index(one, []byte("PK\x01\x02"))
	end := bytes.Index(one, []byte("PK\x05\x06"))
	directory, tail := bytes.Repeat(one[start:end], n), bytes.Clone(one[end:])
	binary.LittleEndian.PutUint16(tail[8:], uint16(n))
	binary.LittleEndian.PutUint16(tail[10:], uint16(n))
	binary.LittleEndian.PutUint32(tail[12:], uint32(len(directory)))
	return append(append(one[:start:start], directory...), tail...)
}

// slowBomb is an archive of n files each of which stays just below what is
// asked about.
func slowBomb(tb testing.TB, n int) []byte { return copies(tb, n, make([]byte, freeGrowth)) }

func TestABundleCanBeInterruptedAndTakenUpAgain(t *testing.T) {
	defer goleak.VerifyNone(t)
	var list []entry
	for i := range 40 {
		list = append(list, entry{fmt.Sprintf("%02d.gpx.gz", i), zipped(t, gpxRide(i, 20))})
	}
	path := filepath.Join(t.TempDir(), "rides.zip")
	require.NoError(t, os.WriteFile(path, bundleOf(t, list...), 0o600))
	book := map[wear.Hash]bool{}
	ctx, cancel := context.WithCancel(t.Context())
	err := Run(ctx, []string{path}, Options{}, oneBike, func(f File) error {
		book[f.Hash] = true
		if len(book) == 7 {
			cancel()
		}
		return nil
	})
	require.ErrorIs(t, err, context.Canceled)
	require.Len(t, book, 7)

	known, read := 0, 0
	o := Options{Known: func(h wear.Hash) bool { return book[h] }}
	require.NoError(t, Run(t.Context(), []string{path}, o, oneBike, func(f File) error {
		require.NoError(t, f.Err)
		if f.Known {
			known++
			assert.Empty(t, f.Rides)
			assert.True(t, book[f.Hash])
			return nil
		}
		read++
		assert.Len(t, f.Rides, 1)
		return nil
	}))
	assert.Equal(t, 7, known)
	assert.Equal(t, 33, read)
}

// What is whole in a file that its bundle damaged counts when that is asked for.
func TestSalvageFromABundle(t *testing.T) {
	ride := rig.Make(rig.Spec{Seed: 5, Minutes: 30, Odometer: true}).FIT()
	packed := deflated(t, ride)
	h := zip.FileHeader{Name: "a.fit", Method: zip.Deflate, CRC32: crc32.ChecksumIEEE(ride), UncompressedSize64: uint64(len(ride))}
	raw := rawEntry(t, h, packed[:len(packed)*3/5])
	got := handed(t, raw, Options{})
	require.Len(t, got, 1)
	assert.ErrorContains(t, got[0].Err, "damaged in the zip archive: ")
	assert.ErrorContains(t, got[0].Err, " minutes can be read")
	got = handed(t, raw, Options{Salvage: true})
	require.NoError(t, got[0].Err)
	require.Len(t, got[0].Rides, 1)
	assert.True(t, got[0].Rides[0].Salvaged)
	notes := strings.Join(got[0].Rides[0].Notes, "\n")
	assert.Contains(t, notes, "damaged in the zip archive")
	assert.Contains(t, notes, "from a damaged file: ")
	whole := handed(t, ride, Options{})[0].Rides[0]
	part := got[0].Rides[0].Total()[wear.Distance]
	assert.Positive(t, part)
	assert.Less(t, part, whole.Total()[wear.Distance])
}

func TestABundleThatIsClosedIsSaid(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("root may read everything")
	}
	path := filepath.Join(t.TempDir(), "a.zip")
	require.NoError(t, os.WriteFile(path, bundleOf(t, entry{"a", gpxRide(1, 9)}), 0))
	var errs []error
	require.NoError(t, Run(t.Context(), []string{path}, Options{}, oneBike, func(f File) error { errs = append(errs, f.Err); return nil }))
	require.Len(t, errs, 1)
	assert.ErrorContains(t, errs[0], "no permission to read")
	var refusal *RefusedError
	assert.True(t, errors.As(errs[0], &refusal))
}

// However a file is cut, it gives no byte more than the directory says.
func TestNoFileGivesMoreThanItsDirectorySays(t *testing.T) {
	packed := deflated(t, gpxRide(1, 30))
	for n := 1; n < len(packed); n++ {
		all, _ := drain(flate.NewReader(bytes.NewReader(packed[:n])), 1<<20)
		if len(all) == 0 {
			continue
		}
		raw := rawEntry(t, zip.FileHeader{Name: "a", Method: zip.Deflate, UncompressedSize64: uint64(len(all) - 1)}, packed[:n])
		b := &bundle{file: fileInMemory{bytes.NewReader(raw)}}
		require.NoError(t, b.list(int64(len(raw))))
		data, why := b.entries[0].unpack()
		require.NotEmpty(t, why)
		require.Equal(t, all[:len(all)-1], data, "%d bytes", n)
	}
}
