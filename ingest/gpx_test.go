package ingest

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// moduleDir is where a pinned module lies, so that its own test files can be
// read there: none of them is kept here.
func moduleDir(tb testing.TB, module string) string {
	tb.Helper()
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", module).Output()
	require.NoError(tb, err, module)
	dir := strings.TrimSpace(string(out))
	require.NotEmpty(tb, dir, "go mod download %s", module)
	return dir
}

// realGPX are the bytes of gpxgo's own test files by name, decompressed.
func realGPX(tb testing.TB) map[string][]byte {
	tb.Helper()
	paths, err := filepath.Glob(filepath.Join(moduleDir(tb, "github.com/tkrajina/gpxgo"), "test_files", "*"))
	require.NoError(tb, err)
	files := map[string][]byte{}
	for _, path := range paths {
		raw, err := os.ReadFile(path)
		require.NoError(tb, err)
		data, _, err := unzipped(raw)
		require.NoError(tb, err)
		files[filepath.Base(path)] = data
	}
	require.GreaterOrEqual(tb, len(files), 14)
	return files
}

// wrap makes a GPX 1.1 of what stands within a track's one segment.
func wrap(points string) string {
	return `<?xml version="1.0" encoding="UTF-8"?>` + "\n" +
		`<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk><name>loop</name><trkseg>` +
		points + `</trkseg></trk></gpx>`
}

// north is a point: so many tenths of a thousandth of a degree, about 11 m each, up the meridian.
func north(i int, within string) string {
	return fmt.Sprintf(`<trkpt lat="%.4f" lon="7.5">%s</trkpt>`, 46+float64(i)/10_000, within)
}

// stampAfter is a time element, so many seconds into the morning of 1 May 2024.
func stampAfter(s int) string {
	return "<time>" + morning.Add(time.Duration(s)*time.Second).Format(time.RFC3339) + "</time>"
}

var morning = time.Date(2024, 5, 1, 8, 0, 0, 0, time.UTC)

// ridden is a sound ride of n points, one each 4 s.
func riddenGPX(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(north(i, stampAfter(4*i)))
	}
	return b.String()
}

func TestRealGPXFilesEndInAReason(t *testing.T) {
	want := map[string]string{ // "" = taken
		"Mojstrovka.gpx":                                "its times are of 1901: the device's clock was not set",
		"cerknicko-without-times.gpx":                   "no times in it",
		"file.gpx":                                      "",
		"gpx-without-root-attributes.gpx":               "its times are of 1901: the device's clock was not set",
		"gpx-without-xml-declaration.gpx":               "its times are of 1901: the device's clock was not set",
		"gpx1.0_with_all_fields.gpx":                    "fewer than two points with a time, not a ride",
		"gpx1.1_with_all_fields.gpx":                    "fewer than two points with a time, not a ride",
		"gpx1.1_with_extensions.gpx":                    "fewer than two points with a time, not a ride",
		"gpx_with_garmin_extension.gpx":                 "waypoints only, not a ride",
		"graphhopper.gpx.gz":                            "no times in it",
		"iso8859-1encoded.gpx":                          "waypoints only, not a ride",
		"korita-zbevnica.gpx":                           "",
		"visnjan.gpx":                                   "",
		"gpx1.1_with_extensions_without_namespaces.gpx": "waypoints only, not a ride",
	}
	for name, data := range realGPX(t) {
		t.Run(name, func(t *testing.T) {
			tracks, hash, format, err := Read(data, Options{})
			why, known := want[name]
			require.True(t, known, "a file that this table does not know")
			assert.Equal(t, wear.GPX, format)
			assert.NotZero(t, hash)
			if why == "" {
				require.NoError(t, err)
				require.NotEmpty(t, tracks)
				return
			}
			require.EqualError(t, err, why)
			assert.Empty(t, tracks)
		})
	}
}

// Two readers that share no code but the names of fields must see the same.
func TestStreamingReaderAgreesWithGpxgo(t *testing.T) {
	both := 0
	files := realGPX(t)
	files["extensions"] = []byte(wrap(north(0, `<ele>812.5</ele>`+stampAfter(0)+
		`<extensions><a:TrackPointExtension xmlns:a="urn:a"><a:cad>81</a:cad><a:speed>3.5</a:speed></a:TrackPointExtension>`+
		`<power>210</power><b:distance xmlns:b="urn:b">0</b:distance></extensions>`) + north(1, stampAfter(4))))
	for name, data := range files {
		text, err := plainXML(data)
		require.NoError(t, err, name)
		points := countTags(text, "trkpt")
		byLibrary := gpxgoFile(text, points)
		streamed, err := streamGPX(text)
		require.NoError(t, err, name)
		if byLibrary == nil || points == 0 || !gpxgoSuits(text, points) {
			continue
		}
		both++
		assert.Equal(t, byLibrary.points, streamed.points, name)
		assert.Equal(t, points, streamed.points, name)
		assert.Equal(t, byLibrary.creator, streamed.creator, name)
		require.Len(t, streamed.tracks, len(byLibrary.tracks), name)
		for i := range byLibrary.tracks {
			sameTrack(t, byLibrary.tracks[i], streamed.tracks[i])
		}
	}
	assert.GreaterOrEqual(t, both, 3, "files that both read")
}

func sameTrack(t *testing.T, want, got gpxTrack) {
	t.Helper()
	assert.Equal(t, want.title, got.title)
	assert.Equal(t, want.sport, got.sport)
	require.Len(t, got.segments, len(want.segments))
	for i := range want.segments {
		require.Len(t, got.segments[i], len(want.segments[i]))
		for j := range want.segments[i] {
			require.Equal(t, fmt.Sprint(want.segments[i][j]), fmt.Sprint(got.segments[i][j]))
		}
	}
}

func TestGpxgoReadsWhatIsPlain(t *testing.T) {
	plain, err := plainXML([]byte(wrap(riddenGPX(3))))
	require.NoError(t, err)
	assert.True(t, gpxgoSuits(plain, 3))
	assert.False(t, gpxgoSuits(plain, gpxgoPoints+1))
	assert.NotNil(t, gpxgoFile(plain, 3))
	for name, text := range map[string]string{
		"an offset":            wrap(north(0, `<time>2024-05-01T10:00:00+02:00</time>`)),
		"a fraction":           wrap(north(0, `<time>2024-05-01T10:00:00.250Z</time>`)),
		"the file's own sport": `<gpx version="1.1"><metadata><type>hiking</type></metadata><trk/></gpx>`,
		"speed in GPX 1.0":     `<gpx version="1.0"><trk><trkseg><trkpt lat="1" lon="1"><speed>3</speed></trkpt></trkseg></trk></gpx>`,
		"size":                 wrap(strings.Repeat(" ", gpxgoBytes)),
		"many elements":        wrap(strings.Repeat("<a/>", gpxgoTags)),
	} {
		assert.False(t, gpxgoSuits([]byte(text), 1), name)
	}
	for name, text := range map[string]string{
		"an error":            wrap(`<trkpt lat="x" lon="7">` + stampAfter(0) + `</trkpt>`),
		"a latitude left out": wrap(`<trkpt lon="7">` + stampAfter(0) + `</trkpt>`),
		"no time":             wrap(north(0, "")),
	} {
		text, err := plainXML([]byte(text))
		require.NoError(t, err)
		assert.Nil(t, gpxgoFile(text, countTags(text, "trkpt")), name)
	}
}

// Each file holds the same two points in some way that has been seen to break a reader.
func TestGPXAsRealFilesHaveIt(t *testing.T) {
	sound := north(0, "<ele>500</ele>"+stampAfter(0)) + north(1, "<ele>501</ele>"+stampAfter(4))
	utf16 := func(s string) string {
		out := "\xFF\xFE"
		for _, c := range []byte(s) {
			out += string([]byte{c, 0})
		}
		return out
	}
	for name, text := range map[string]string{
		"plain":               wrap(sound),
		"byte order mark":     "\xEF\xBB\xBF" + wrap(sound),
		"UTF-16":              utf16(strings.Replace(wrap(sound), "UTF-8", "UTF-16", 1)),
		"UTF-16 in name only": strings.Replace(wrap(sound), "UTF-8", "UTF-16", 1),
		"unknown encoding":    strings.Replace(wrap(sound), "UTF-8", "x-none-such", 1),
		"offset":              wrap(north(0, "<ele>500</ele><time>2024-05-01T13:30:00+05:30</time>") + north(1, "<ele>501</ele><time>2024-05-01T13:30:04+0530</time>")),
		"no zone":             strings.ReplaceAll(wrap(sound), "Z</time>", "</time>"),
		"space for T":         strings.ReplaceAll(wrap(sound), "01T", "01 "),
		"bare ampersand":      strings.Replace(wrap(sound), "loop", "up & down", 1),
		"control character":   strings.Replace(wrap(sound), "loop", "lo\x01op", 1),
		"bad UTF-8":           strings.Replace(wrap(sound), "loop", "lo\xFFop", 1),
		"stray tag in a name": strings.Replace(wrap(sound), "loop", "1 < 2", 1),
		"bad character code":  strings.Replace(wrap(sound), "loop", "&#0;", 1),
		"prefix":              strings.NewReplacer("</", "</g:", "<?", "<?", "<", "<g:").Replace(wrap(sound)),
		"single quotes":       strings.ReplaceAll(wrap(sound)[strings.Index(wrap(sound), "<gpx"):], `"`, `'`),
		"no end of a point":   strings.Replace(wrap(sound), "</trkpt><trkpt", "<trkpt", 1),
		"comma":               strings.NewReplacer("46.0", "46,0", "500<", "500,0<").Replace(wrap(sound)),
		"two files in one":    wrap(north(0, "<ele>500</ele>"+stampAfter(0))) + wrap(north(1, "<ele>501</ele>"+stampAfter(4))),
		"GPX 1.0":             strings.ReplaceAll(strings.Replace(wrap(sound), `version="1.1"`, `version="1.0"`, 1), "GPX/1/1", "GPX/1/0"),
		"zeros behind":        wrap(sound) + strings.Repeat("\x00", 512),
	} {
		t.Run(name, func(t *testing.T) {
			tracks, _, format, err := Read([]byte(text), Options{})
			require.NoError(t, err)
			assert.Equal(t, wear.GPX, format)
			require.Len(t, tracks, 1)
			s := tracks[0].Samples
			require.Len(t, s, 2)
			assert.Equal(t, morning.UnixMilli(), s[0].T)
			assert.Equal(t, morning.UnixMilli()+4000, s[1].T)
			assert.InDelta(t, 46.0001, s[1].Lat, 1e-9)
			assert.InDelta(t, 500.0, s[0].Alt, 1e-9)
			assert.InDelta(t, 501.0, s[1].Alt, 1e-9)
		})
	}
}

func TestGPXFieldsAreToleratedOneByOne(t *testing.T) {
	text := wrap(
		north(0, stampAfter(0)+`<ele>oops</ele><extensions><cad>90</cad><power>NaN</power></extensions>`) +
			north(1, stampAfter(4)+`<ele>1e9</ele><extensions><cad>255</cad><power>99999</power></extensions>`) +
			`<trkpt lat="91" lon="7.5">` + stampAfter(8) + `<extensions><p:PowerInWatts>180</p:PowerInWatts></extensions></trkpt>` +
			`<trkpt lat="0" lon="0">` + stampAfter(12) + `<extensions><speed>120</speed></extensions></trkpt>` +
			north(4, stampAfter(16)+`<ele>640</ele><extensions><speed>5.5</speed></extensions>`))
	tracks, _, _, err := Read([]byte(text), Options{})
	require.NoError(t, err)
	require.Len(t, tracks, 1)
	s := tracks[0].Samples
	require.Len(t, s, 5)
	nan := math.NaN()
	same := func(want float64, got float64) { t.Helper(); assert.Equal(t, fmt.Sprint(want), fmt.Sprint(got)) }
	same(90, s[0].Cadence)
	same(nan, s[0].Alt)
	same(nan, s[0].Power)
	same(nan, s[1].Alt)
	same(nan, s[1].Cadence)
	same(nan, s[1].Power)
	same(nan, s[2].Lat)
	same(180, s[2].Power)
	same(nan, s[3].Lat)
	same(nan, s[3].Speed)
	same(640, s[4].Alt)
	same(5.5, s[4].Speed)
}
