package ingest

import (
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pawl/wear"
)

func TestParseStamp(t *testing.T) {
	for text, want := range map[string]string{
		"2024-05-01T08:00:00Z":           "2024-05-01T08:00:00Z",
		" 2024-05-01T08:00:00Z\n":        "2024-05-01T08:00:00Z",
		"2024-05-01T10:00:00+02:00":      "2024-05-01T08:00:00Z",
		"2024-05-01T10:00:00.250+02:00":  "2024-05-01T08:00:00.25Z",
		"2024-05-01T04:30:00,5-0330":     "2024-05-01T08:00:00.5Z",
		"2024-05-01T10:00:00+02":         "2024-05-01T08:00:00Z",
		"2024-05-01t08:00:00.123456789z": "2024-05-01T08:00:00.123Z",
		"2024-05-01 08:00:00":            "2024-05-01T08:00:00Z",
		"2024-02-29T23:59:60Z":           "2024-03-01T00:00:00Z",
		"1901-12-13T20:45:52.2073437Z":   "1901-12-13T20:45:52.207Z",
		"2024-04-30T24:00:00Z":           "2024-05-01T00:00:00Z",
		"2024-05-01":                     "",
		"2024-05-01T08:00":               "",
		"2024-13-01T08:00:00Z":           "",
		"2024-05-01T25:00:00Z":           "",
		"2024-05-01T08:00:00 CEST":       "",
		"2024-05-01T08:00:00+2":          "",
		"2024-05-01T08:00:00+99:00":      "",
		"20x4-05-01T08:00:00Z":           "",
		"-024-05-01T08:00:00Z":           "",
		"":                               "",
	} {
		got, ok := parseStamp(text)
		if want == "" {
			assert.False(t, ok, text)
			continue
		}
		require.True(t, ok, text)
		moment, err := time.Parse(time.RFC3339Nano, want)
		require.NoError(t, err)
		assert.Equal(t, moment.UnixMilli(), got.t, text)
	}
}

// The standard library's own reader is the second opinion.
func TestParseStampAgreesWithTheStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ms := rapid.Int64Range(0, 4_000_000_000_000).Draw(t, "ms")
		zone := time.FixedZone("", 60*rapid.IntRange(-12*60, 14*60).Draw(t, "minutes east"))
		text := time.UnixMilli(ms).In(zone).Format("2006-01-02T15:04:05.000Z07:00")
		got, ok := parseStamp(text)
		require.True(t, ok, text)
		assert.Equal(t, ms, got.t, text)
		_, offset := time.UnixMilli(ms).In(zone).Zone()
		assert.Equal(t, int32(offset), got.offset, text)
	})
}

func readOne(t *testing.T, text string, o Options) *Track {
	t.Helper()
	tracks, _, _, err := Read([]byte(text), o)
	require.NoError(t, err)
	require.Len(t, tracks, 1)
	return tracks[0]
}

func seconds8(track *Track) []int64 {
	var list []int64
	for _, s := range track.Samples {
		list = append(list, (s.T-morning.UnixMilli())/1000)
	}
	return list
}

func TestOffsetIsKept(t *testing.T) {
	track := readOne(t, wrap(north(0, "<time>2024-05-01T13:30:00+05:30</time>")+north(1, "<time>2024-05-01T13:30:04+05:30</time>")), Options{})
	assert.Equal(t, int32(5*3600+1800), track.Offset)
	assert.Equal(t, morning.UnixMilli(), track.Start)
	assert.Equal(t, morning.UnixMilli()+4000, track.End)
}

func TestTimesOutOfOrder(t *testing.T) {
	sound := func(from, n int) string {
		var b strings.Builder
		for i := range n {
			b.WriteString(north(from+i, stampAfter(from+i)))
		}
		return b.String()
	}
	segment := "</trkseg><trkseg>"
	t.Run("one point leaps ahead", func(t *testing.T) {
		track := readOne(t, wrap(sound(0, 2)+north(2, stampAfter(999_999))+sound(3, 2)), Options{})
		assert.Equal(t, []int64{0, 1, 3, 4}, seconds8(track))
		assert.Equal(t, []string{"left out 1 point: the time runs backwards"}, track.Warnings)
	})
	t.Run("one point falls back", func(t *testing.T) {
		track := readOne(t, wrap(sound(0, 3)+north(3, stampAfter(-50))+sound(4, 2)), Options{})
		assert.Equal(t, []int64{0, 1, 2, 4, 5}, seconds8(track))
	})
	t.Run("the same second twice", func(t *testing.T) {
		track := readOne(t, wrap(sound(0, 2)+north(2, stampAfter(1))+sound(3, 1)), Options{})
		assert.Equal(t, []int64{0, 1, 3}, seconds8(track))
		assert.Empty(t, track.Warnings)
	})
	t.Run("segments in the wrong order", func(t *testing.T) {
		track := readOne(t, wrap(sound(10, 3)+segment+sound(0, 3)), Options{})
		assert.Equal(t, []int64{0, 1, 2, 10, 11, 12}, seconds8(track))
		assert.Equal(t, []int{3}, track.Breaks)
	})
	t.Run("a segment twice", func(t *testing.T) {
		track := readOne(t, wrap(sound(0, 5)+segment+sound(0, 5)+segment+sound(3, 4)), Options{})
		assert.Equal(t, []int64{0, 1, 2, 3, 4, 5, 6}, seconds8(track))
		assert.Equal(t, []string{"left out 7 points: the file has that time twice"}, track.Warnings)
	})
	t.Run("some without", func(t *testing.T) {
		track := readOne(t, wrap(sound(0, 2)+north(2, "")+north(3, "<time>soon</time>")+sound(4, 2)), Options{})
		assert.Equal(t, []int64{0, 1, 4, 5}, seconds8(track))
		assert.Equal(t, []string{"left out 2 of 6 points: no time"}, track.Warnings)
	})
}

func TestOutings(t *testing.T) {
	trk := func(sport string, from int) string {
		return "<trk><type>" + sport + "</type><trkseg>" + north(0, stampAfter(from)) + north(1, stampAfter(from+60)) + "</trkseg></trk>"
	}
	file := func(trks ...string) []byte {
		return []byte(`<gpx version="1.1">` + strings.Join(trks, "") + `</gpx>`)
	}
	const hour = 3600
	for name, c := range map[string]struct {
		data []byte
		legs []int
	}{
		"lunch between":       {file(trk("", 0), trk("", 3*hour)), []int{0}},
		"just under":          {file(trk("", 0), trk("", 4*hour+59)), []int{0}},
		"just as long":        {file(trk("", 0), trk("", 4*hour+60)), []int{0, 1}},
		"three days":          {file(trk("", 48*hour), trk("", 0), trk("", 24*hour)), []int{0, 1, 2}},
		"a walk between":      {file(trk("cycling", 0), trk("Hiking", hour), trk("cycling", 2*hour)), []int{0, 2}},
		"kinds of riding":     {file(trk("Mountain_Biking", 0), trk("ride", hour)), []int{0}},
		"unknown words ride":  {file(trk("9", 0), trk("Runde", hour)), []int{0}},
		"a ride with a run":   {file(trk("bike run", 0)), []int{0}},
		"trail run then bike": {file(trk("trail_running", 0), trk("", hour)), []int{1}},
	} {
		tracks, _, _, err := Read(c.data, Options{})
		require.NoError(t, err, name)
		var legs []int
		for _, track := range tracks {
			legs = append(legs, track.Leg)
		}
		assert.Equal(t, c.legs, legs, name)
	}
}

func TestIndoorSportIsSeen(t *testing.T) {
	text := strings.Replace(wrap(riddenGPX(3)), "<trkseg>", "<type>VirtualRide</type><trkseg>", 1)
	assert.True(t, readOne(t, text, Options{}).Indoor)
	assert.False(t, readOne(t, wrap(riddenGPX(3)), Options{}).Indoor)
}

func TestTimesAreSpreadByDistance(t *testing.T) {
	on := wear.At(morning)
	text := wrap(north(0, "") + north(1, "") + north(4, "") + "</trkseg><trkseg>" + north(10, "") + north(12, ""))
	track := readOne(t, text, Options{On: &on, Hours: 1})
	assert.Equal(t, morning.UnixMilli(), track.Start)
	assert.Equal(t, morning.UnixMilli()+3_600_000, track.End)
	assert.Equal(t, []int{3}, track.Breaks)
	assert.Contains(t, track.Warnings, "no times in the file: spread evenly over the hours given")
	// Six equal steps of the meridian: 1, 3 and 2; the way between segments is not known.
	for i, sixths := range []float64{0, 1, 4, 4, 6} {
		assert.InDelta(t, sixths/6*3_600_000, float64(track.Samples[i].T-track.Start), 2)
	}

	timed := readOne(t, wrap(riddenGPX(3)), Options{On: &on, Hours: 5})
	assert.Equal(t, morning.UnixMilli()+8000, timed.End, "the file's own times win")
}

func TestForeignUnitsAreLeftOut(t *testing.T) {
	build := func(field func(i int) string) string {
		var b strings.Builder
		for i := range 200 { // 11.1 m each 4 s
			b.WriteString(north(i, stampAfter(4*i)+"<extensions>"+field(i)+"</extensions>"))
		}
		return wrap(b.String())
	}
	number := func(tag string, v float64) string {
		return "<" + tag + ">" + strconv.FormatFloat(v, 'f', -1, 64) + "</" + tag + ">"
	}
	for name, c := range map[string]struct {
		field func(i int) string
		kept  bool
	}{
		"metres since the start": {func(i int) string { return number("distance", 11.1*float64(i)) }, true},
		"kilometres":             {func(i int) string { return number("distance", 0.0111*float64(i)) }, false},
		"way of the step":        {func(i int) string { return number("distance", 11+float64(i%2)) }, false},
		"m/s":                    {func(int) string { return number("speed", 2.8) }, true},
		"km/h":                   {func(int) string { return number("speed", 10.0) }, false},
	} {
		track := readOne(t, build(c.field), Options{})
		s := track.Samples[100]
		assert.Equal(t, c.kept, !math.IsNaN(s.Dist) || !math.IsNaN(s.Speed), name)
		assert.Equal(t, c.kept, len(track.Warnings) == 0, name)
	}
}
