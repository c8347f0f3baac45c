package ingest

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/ingest/rig"
	"pawl/wear"
)

// Pieces of TCX files made by hand.
const (
	tcxHead = `<?xml version="1.0" encoding="UTF-8"?>` + "\n" + `<TrainingCenterDatabase xmlns="urn:tcx"><Activities>`
	tcxTail = `</Activities></TrainingCenterDatabase>`
)

// clockAt is a time so many seconds into the morning.
func clockAt(s int) string { return morning.Add(time.Duration(s) * time.Second).Format(time.RFC3339) }

// tp is a track point at so many seconds.
func tp(s int, within string) string {
	return "<Trackpoint><Time>" + clockAt(s) + "</Time>" + within + "</Trackpoint>"
}

// onMeridian is a position of a tenth of a thousandth of a degree each, about 11 m.
func onMeridian(i int) string {
	return fmt.Sprintf("<Position><LatitudeDegrees>%.4f</LatitudeDegrees><LongitudeDegrees>7.5</LongitudeDegrees></Position>",
		46+float64(i)/10_000)
}

// riddenTCX is a track of n points, one each 4 s, from so many seconds on.
func riddenTCX(from, n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(tp(from+4*i, onMeridian(i)))
	}
	return "<Track>" + b.String() + "</Track>"
}

func lapTCX(within string) string { return `<Lap StartTime="` + clockAt(0) + `">` + within + `</Lap>` }

func activityTCX(sport, within string) string {
	return `<Activity Sport="` + sport + `"><Id>` + clockAt(0) + `</Id>` + within + `</Activity>`
}

func wrapTCX(activities ...string) string {
	return tcxHead + strings.Join(activities, "") + tcxTail
}

func readOneTCX(t *testing.T, text string) *Track {
	t.Helper()
	tracks, _, format, err := Read([]byte(text), Options{})
	require.NoError(t, err)
	require.Equal(t, wear.TCX, format)
	require.Len(t, tracks, 1)
	return tracks[0]
}

func TestTCXFields(t *testing.T) {
	tr := readOneTCX(t, wrapTCX(`<Activity Sport="Biking"><Id>2024-05-01T10:00:00.250+02:00</Id>
		<Lap StartTime="2024-05-01T10:00:00.250+02:00"><TotalTimeSeconds>4.5</TotalTimeSeconds><DistanceMeters>20</DistanceMeters>
		<MaximumSpeed>99</MaximumSpeed><Cadence>77</Cadence><Notes>of the lap</Notes><Track>
		<Trackpoint><Time>2024-05-01T10:00:00.250+02:00</Time>
			<Position><LatitudeDegrees>46.0</LatitudeDegrees><LongitudeDegrees>7.5</LongitudeDegrees></Position>
			<AltitudeMeters>812,5</AltitudeMeters><DistanceMeters>0</DistanceMeters>
			<HeartRateBpm><Value>120</Value></HeartRateBpm><Cadence>255</Cadence>
			<Extensions><q:TPX xmlns:q="urn:q"><q:Speed>4.5</q:Speed><q:RunCadence>88</q:RunCadence><q:Watts>210</q:Watts></q:TPX></Extensions>
		</Trackpoint>
		<Trackpoint><Time>2024-05-01T08:00:04.75Z</Time><DistanceMeters>20</DistanceMeters><Cadence>81</Cadence>
			<Extensions><TPX xmlns="urn:other"><Watts>not known</Watts><Time>1999-01-01T00:00:00Z</Time></TPX></Extensions></Trackpoint>
		</Track></Lap>
		<Notes>
			Round the lake
			and back</Notes>
		<Creator><Name>head unit</Name><UnitId>4012345678</UnitId><ProductID>3122</ProductID></Creator></Activity>`))
	ms := morning.UnixMilli()
	nan := math.NaN()
	assert.Equal(t, fmt.Sprint([]Sample{
		{T: ms + 250, Lat: 46, Lon: 7.5, Alt: 812.5, Dist: 0, Speed: 4.5, Cadence: nan, Power: 210},
		{T: ms + 4750, Lat: nan, Lon: nan, Alt: nan, Dist: 20, Speed: nan, Cadence: 81, Power: nan},
	}), fmt.Sprint(tr.Samples))
	assert.Equal(t, int32(7200), tr.Offset)
	assert.Equal(t, "Round the lake", tr.Title)
	assert.Equal(t, wear.Sensor{Name: "head unit", Serial: 4012345678, Product: 3122}, tr.Device)
	assert.Equal(t, []any{20.0, 4.5}, []any{tr.Totals.Distance, tr.Totals.Moving})
	assert.Equal(t, []any{ms + 250, ms + 4750}, []any{tr.Start, tr.End})
	assert.Empty(t, tr.Warnings)
}

func TestTCXActivitiesAreLegs(t *testing.T) {
	text := wrapTCX(
		activityTCX("Running", lapTCX(riddenTCX(0, 9))),
		activityTCX("Biking", lapTCX(riddenTCX(1_000, 9))),
		`<MultiSportSession><Id>x</Id><FirstSport>`+activityTCX("Other", lapTCX(riddenTCX(2_000, 9)))+`</FirstSport><NextSport>`+
			activityTCX("Mountain Biking", lapTCX(riddenTCX(3_000, 9)))+`</NextSport></MultiSportSession>`,
	)
	tracks, _, _, err := Read([]byte(text), Options{})
	require.NoError(t, err)
	require.Len(t, tracks, 3)
	for i, leg := range []int{1, 2, 3} {
		assert.Equal(t, leg, tracks[i].Leg)
		assert.Equal(t, morning.UnixMilli()+int64(leg)*1_000_000, tracks[i].Start)
		assert.Len(t, tracks[i].Samples, 9)
	}
	assert.Empty(t, tracks[0].Warnings)
	assert.Equal(t, []string{"sport not named"}, tracks[1].Warnings)
	assert.Equal(t, "mountain biking", tracks[2].Sport)
}

// Between two tracks of a lap the timer stood; at the end of a lap it ran on,
// unless nothing was recorded for long.
func TestTCXLapsAndPauses(t *testing.T) {
	text := wrapTCX(activityTCX("Biking",
		lapTCX(riddenTCX(0, 10)+riddenTCX(96, 10))+ // to 36 s, then from 96 to 132 s
			lapTCX(riddenTCX(136, 10))+ // to 172 s
			lapTCX("<Track></Track>")+
			lapTCX(riddenTCX(172, 10))+ // its first point is the last of the lap before
			lapTCX(riddenTCX(1000, 10))))
	tr := readOneTCX(t, text)
	ms := morning.UnixMilli()
	assert.Equal(t, []Pause{{ms + 36_000, ms + 96_000}, {ms + 208_000, ms + 1_000_000}}, tr.Pauses)
	assert.Equal(t, []int{10, 39}, tr.Breaks)
	assert.Len(t, tr.Samples, 49)
	out := Reduce(tr, Model{})
	assert.Equal(t, int64(36+112+36)*1000, out.Recorded[wear.Moving])
}

func TestTCXSumsOfLaps(t *testing.T) {
	lap := func(seconds, metres, within string) string {
		text := ""
		if seconds != "" {
			text += "<TotalTimeSeconds>" + seconds + "</TotalTimeSeconds>"
		}
		if metres != "" {
			text += "<DistanceMeters>" + metres + "</DistanceMeters>"
		}
		return lapTCX(text + within)
	}
	nan := math.NaN()
	for name, c := range map[string]struct {
		laps            string
		seconds, metres float64
	}{
		"two":                      {lap("36", "99", riddenTCX(0, 10)) + lap("40", "101", riddenTCX(40, 10)), 76, 200},
		"an empty lap says none":   {lap("36", "99", riddenTCX(0, 10)) + lap("", "", ""), 36, 99},
		"a lap says nothing":       {lap("36", "99", riddenTCX(0, 10)) + lap("", "", riddenTCX(40, 10)), nan, nan},
		"a lap says only its time": {lap("36", "99", riddenTCX(0, 10)) + lap("40", "", riddenTCX(40, 10)), 76, nan},
		"zeros":                    {lap("0", "0", riddenTCX(0, 10)), nan, nan},
		"nonsense":                 {lap("-5", "1e300", riddenTCX(0, 10)), nan, nan},
		"time from start to end":   {lap("100", "", "<Track>"+tp(0, onMeridian(0))+tp(50, onMeridian(0))+tp(100, onMeridian(9))+"</Track>"), nan, nan},
	} {
		tr := readOneTCX(t, wrapTCX(activityTCX("Biking", c.laps)))
		assert.Equal(t, fmt.Sprint(c.seconds, c.metres), fmt.Sprint(tr.Totals.Moving, tr.Totals.Distance), name)
	}
}

// What real devices and sites write that is no plain ride outdoors.
func TestTCXOddities(t *testing.T) {
	pulse := func(n int) string {
		var b strings.Builder
		for i := range n {
			b.WriteString(tp(4*i, "<HeartRateBpm><Value>120</Value></HeartRateBpm>"))
		}
		return "<Track>" + b.String() + "</Track>"
	}
	trainer := func() string {
		var b strings.Builder
		for i := range 400 {
			b.WriteString(tp(i, fmt.Sprintf("<DistanceMeters>%d</DistanceMeters><Cadence>80</Cadence>", 8*i)))
		}
		return "<Track>" + b.String() + "</Track>"
	}()
	for name, c := range map[string]struct {
		text              string
		samples, warnings int
		warning           string
		load              wear.Load // its first four: m, m, m, s, as far as recorded
	}{
		"no positions": {
			wrapTCX(activityTCX("Biking", lapTCX(trainer))), 400, 1,
			"no places: if it was indoors, mark it trainer or rollers",
			wear.Load{wear.Distance: 319_200, wear.Moving: 399_000, wear.Turns: 532_000},
		},
		"heart rate only": {
			wrapTCX(activityTCX("Biking", lapTCX(pulse(101)))), 101, 1,
			"heart rate only: neither places, speed nor cadence", wear.Load{wear.Moving: 400_000},
		},
		"sums only": {
			wrapTCX(activityTCX("Biking", lapTCX("<TotalTimeSeconds>3600</TotalTimeSeconds><DistanceMeters>20000</DistanceMeters>"))), 0, 0,
			"", wear.Load{wear.Distance: 2_000_000, wear.Moving: 3_600_000},
		},
		"points that only tell the time": {
			wrapTCX(activityTCX("Biking", lapTCX(strings.Replace(riddenTCX(0, 101), "</Trackpoint>", "</Trackpoint>"+tp(2, ""), 1)))), 101, 0,
			"", wear.Load{wear.Moving: 400_000, wear.Distance: 111_163},
		},
		"no sport": {
			wrapTCX(activityTCX("", lapTCX(riddenTCX(0, 101)))), 101, 1, "sport not named",
			wear.Load{wear.Moving: 400_000, wear.Distance: 111_163},
		},
		"zoneless": {
			strings.ReplaceAll(wrapTCX(activityTCX("Biking", lapTCX(riddenTCX(0, 101)))), "Z<", "<"), 101, 1,
			"times without a zone are taken as UTC", wear.Load{wear.Moving: 400_000, wear.Distance: 111_163},
		},
		"half a position": {
			wrapTCX(activityTCX("Biking", lapTCX(riddenTCX(0, 101)+"<Track>"+tp(404, "<Position><LatitudeDegrees>46</LatitudeDegrees></Position>")+"</Track>"))),
			101, 0, "", wear.Load{wear.Moving: 400_000, wear.Distance: 111_163},
		},
		"a bare ampersand": {
			wrapTCX(activityTCX("Biking", lapTCX(riddenTCX(0, 101))+"<Notes>mud & stones</Notes>")), 101, 0, "",
			wear.Load{wear.Moving: 400_000, wear.Distance: 111_163},
		},
		"a track point never closed": {
			wrapTCX(activityTCX("Biking", lapTCX(strings.Replace(riddenTCX(0, 101), "</Trackpoint>", "", 1)))), 101, 0, "",
			wear.Load{wear.Moving: 400_000, wear.Distance: 111_163},
		},
	} {
		t.Run(name, func(t *testing.T) {
			tr := readOneTCX(t, c.text)
			assert.Len(t, tr.Samples, c.samples)
			require.Len(t, tr.Warnings, c.warnings, "%v", tr.Warnings)
			if c.warning != "" {
				assert.Equal(t, c.warning, tr.Warnings[0])
			}
			load := Reduce(tr, Model{}).Recorded
			for _, q := range []wear.Quantity{wear.Distance, wear.Moving, wear.Turns} {
				assert.InDelta(t, c.load[q], load[q], 1_500, q.String())
			}
		})
	}
}

func TestTCXThatAreNoRides(t *testing.T) {
	for name, c := range map[string]struct{ text, why string }{
		"course": {`<TrainingCenterDatabase><Courses><Course><Name>x</Name><Lap><DistanceMeters>9</DistanceMeters></Lap>` +
			riddenTCX(0, 9) + `</Course></Courses></TrainingCenterDatabase>`, "a course, not a ride"},
		"workout":          {`<TrainingCenterDatabase><Workouts><Workout Sport="Biking"><Name>4x4</Name></Workout></Workouts></TrainingCenterDatabase>`, "a workout plan, not a ride"},
		"nothing":          {wrapTCX(), "no activity in it, so no ride"},
		"run":              {wrapTCX(activityTCX("Running", lapTCX(riddenTCX(0, 9)))), "a run, not a ride of a bike"},
		"run and swim":     {wrapTCX(activityTCX("Running", lapTCX(riddenTCX(0, 9))), activityTCX("Swimming", lapTCX(""))), "a run and a swim, not a ride of a bike"},
		"unheard-of":       {wrapTCX(activityTCX("Parkour &amp; &#34;more&#34;", lapTCX(riddenTCX(0, 9)))), `sport "Parkour & \"more\"", not a ride of a bike`},
		"empty":            {wrapTCX(activityTCX("Biking", lapTCX("<TotalTimeSeconds>0</TotalTimeSeconds>"))), "an activity without points or totals, not a ride of a bike"},
		"one point":        {wrapTCX(activityTCX("Biking", lapTCX(riddenTCX(0, 1)))), "an activity without points or totals, not a ride of a bike"},
		"strength workout": {wrapTCX(activityTCX("Other", lapTCX("<TotalTimeSeconds>900</TotalTimeSeconds><DistanceMeters>0</DistanceMeters>"))), "an activity without a named sport, a place or a distance, not a ride of a bike"},
	} {
		t.Run(name, func(t *testing.T) {
			tracks, _, format, err := Read([]byte(c.text), Options{})
			require.EqualError(t, err, c.why)
			var not *NotRideError
			require.ErrorAs(t, err, &not)
			assert.Equal(t, wear.TCX, format)
			assert.Empty(t, tracks)
		})
	}
}

func TestTCXRefused(t *testing.T) {
	ride := wrapTCX(activityTCX("Biking", lapTCX("<TotalTimeSeconds>1600</TotalTimeSeconds>"+riddenTCX(0, 400))))
	var many, backward strings.Builder
	for i := range maxLegs + 1 {
		many.WriteString(activityTCX("Biking", lapTCX(riddenTCX(1_000*i, 2))))
	}
	for i := range 50 {
		backward.WriteString(tp(-i, onMeridian(i)))
	}
	for name, c := range map[string]struct{ text, why, hint string }{
		"cut in half":          {ride[:len(ride)/2], "the file is cut short: it ends in the middle, after 199 points: 13 of 27 minutes can be read", fetchAgain + orSalvage},
		"cut at the last byte": {ride[:len(ride)-1], "the file is cut short: it ends in the middle, after 400 points: 27 of 27 minutes can be read", fetchAgain + orSalvage},
		"cut before it starts": {tcxHead, "the file is cut short: it ends before its first activity", fetchAgain},
		"cut before a point":   {tcxHead + `<Activity Sport="Biking"><Lap>`, "the file is cut short: it ends in the middle, after 0 points: no point of a ride is whole", fetchAgain},
		"too deep":             {tcxHead + strings.Repeat("<a>", maxDepth), "not a TCX that can be read: elements nested too deeply", tcxAgain},
		"too many attributes":  {"<TrainingCenterDatabase " + strings.Repeat("a=b ", maxTag/4) + "/>", "not a TCX that can be read: a tag of more than 128 kB", fetchAgain},
		"too many points":      {tcxHead + strings.Repeat("<Trackpoint/>", maxPoints+1), "1000001 track points, more than the 1000000 that one file may hold", splitFile},
		"too many activities":  {wrapTCX(many.String()), "201 activities in one file, more than 200", splitFile},
		"backwards":            {wrapTCX(activityTCX("Biking", lapTCX("<Track>"+backward.String()+"</Track>"))), "the times run backwards at 49 points of 50", "export the ride again from the device or site it came from"},
		"clock not set":        {strings.ReplaceAll(ride, "2024-", "1989-"), "its times are of 1989: the device's clock was not set", withoutTimes},
	} {
		t.Run(name, func(t *testing.T) {
			tracks, err := readTCX([]byte(c.text), Options{})
			require.EqualError(t, err, c.why)
			var refusal *RefusedError
			require.ErrorAs(t, err, &refusal)
			assert.Equal(t, c.hint, refusal.Hint)
			assert.Empty(t, tracks)
		})
	}
}

func TestTCXSalvage(t *testing.T) {
	ride := wrapTCX(
		activityTCX("Biking", lapTCX("<TotalTimeSeconds>80</TotalTimeSeconds><DistanceMeters>200</DistanceMeters>"+riddenTCX(-4_000, 20))),
		activityTCX("Biking", lapTCX("<TotalTimeSeconds>1600</TotalTimeSeconds><DistanceMeters>4000</DistanceMeters>"+riddenTCX(0, 400))),
	)
	cut := ride[:strings.Index(ride, clockAt(804))+25] // within the point of 804 s
	tracks, err := readTCX([]byte(cut), Options{Salvage: true})
	require.NoError(t, err)
	require.Len(t, tracks, 2)
	assert.Equal(t, []string{"76 seconds", "13 of 27 minutes"}, []string{tracks[0].Salvaged, tracks[1].Salvaged})
	assert.InDelta(t, 80, tracks[0].Totals.Moving, 0)
	assert.Len(t, tracks[1].Samples, 201)
	assert.True(t, math.IsNaN(tracks[1].Totals.Moving) && math.IsNaN(tracks[1].Totals.Distance), "the sums go beyond the cut")
	assert.Contains(t, tracks[1].Warnings[0], "the file is cut short")

	_, err = readTCX([]byte(cut), Options{})
	require.EqualError(t, err, "the file is cut short: it ends in the middle, after 221 points: 2 rides can be read")
	_, err = readTCX([]byte(tcxHead+activityTCX("Running", lapTCX(riddenTCX(0, 9)))), Options{Salvage: true})
	require.ErrorContains(t, err, "a run, not a ride of a bike")
}

// A TCX without times is spread over the hours given, as a GPX is, where it
// holds one outing.
func TestTCXWithoutTimes(t *testing.T) {
	on := wear.At(morning)
	bare := func(text string) string {
		for {
			before, rest, found := strings.Cut(text, "<Time>")
			if !found {
				return text
			}
			_, after, _ := strings.Cut(rest, "</Time>")
			text = before + after
		}
	}
	one := activityTCX("Biking", lapTCX(bare(riddenTCX(0, 101))))
	tracks, err := readTCX([]byte(wrapTCX(one)), Options{On: &on, Hours: 0.1})
	require.NoError(t, err)
	assert.Equal(t, []int64{int64(on), int64(on) + 360_000}, []int64{tracks[0].Start, tracks[0].End})
	assert.Empty(t, tracks[0].Pauses)
	_, err = readTCX([]byte(wrapTCX(one)), Options{})
	require.EqualError(t, err, "no times in it")
	_, err = readTCX([]byte(wrapTCX(one, one)), Options{On: &on, Hours: 0.1})
	require.EqualError(t, err, "no times in it")
}

// UTF-16 and byte order marks change nothing.
func TestTCXCodings(t *testing.T) {
	plain := string(rig.Make(rig.Spec{Seed: 4, Minutes: 5, Cadence: true}).TCX())
	want := readOneTCX(t, plain)
	for name, text := range map[string]string{"UTF-8 with a mark": "\xEF\xBB\xBF" + plain, "UTF-16": utf16LE(plain)} {
		assert.Equal(t, fmt.Sprint(want.Samples), fmt.Sprint(readOneTCX(t, text).Samples), name)
	}
}

// utf16LE is a text in UTF-16 with its mark.
func utf16LE(s string) string {
	out := []byte{0xFF, 0xFE}
	for _, u := range utf16.Encode([]rune(s)) {
		out = append(out, byte(u), byte(u>>8))
	}
	return string(out)
}
