package ingest

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"pawl/wear"
)

// rides makes tracks of the activities that are rides of a bike. counted is the
// number of the file's points as its bytes show them. An activity keeps its
// number as leg, whatever the others are.
func (f *tcxFile) rides(o Options, counted int) ([]*Track, error) {
	var tracks []*Track
	var others []string
	notes := f.notes(counted)
	if len(f.activities) > 1 {
		o.On = nil // one time cannot be that of several outings
	}
	for i, a := range f.activities {
		if what := a.otherwise(); what != "" {
			others = append(others, what)
			continue
		}
		t, err := a.track(o, f.cut && i == len(f.activities)-1)
		var not *NotRideError
		if err != nil && !errors.As(err, &not) {
			return nil, err
		}
		if t == nil {
			others = append(others, "an activity without points or totals")
			continue
		}
		t.Leg = i
		t.Warnings = append(slices.Clone(notes), t.Warnings...)
		tracks = append(tracks, t)
	}
	if len(tracks) == 0 {
		return nil, notRide("%s, not a ride of a bike", strings.Join(unique(others), " and "))
	}
	return tracks, nil
}

// unnamed reports a sport that nobody named: devices write Other for whatever
// is neither running nor riding in their menu.
func (a *tcxActivity) unnamed() bool { return a.sport == "" || strings.EqualFold(a.sport, "other") }

// otherwise says what an activity is that is no ride of a bike, "" where it is
// one. The standard has Running, Biking and Other; some programs write other
// words for riding.
func (a *tcxActivity) otherwise() string {
	switch what := otherSport(a.sport); {
	case what != "":
		return what
	case a.unnamed() && a.telling == 0 && math.IsNaN(a.metres.total()):
		return "an activity without a named sport, a place or a distance"
	case a.unnamed():
		return ""
	}
	for _, w := range wordsOf(a.sport) {
		if rideWords[w] {
			return ""
		}
	}
	return fmt.Sprintf("sport %q", clipped(a.sport))
}

// track makes a track of one activity, nil where there is nothing to sum. Where
// its file was cut within it, the sums of its laps do not count.
func (a *tcxActivity) track(o Options, cut bool) (*Track, error) {
	nan := math.NaN()
	t := &Track{
		Format: wear.TCX, Sport: lowered(a.sport), Indoor: indoorSport(a.sport),
		Offset: a.offset, Device: a.device, Title: a.title(), Warnings: a.notesOf(),
		Totals: Totals{Distance: a.metres.total(), Climb: nan, Descent: nan, Moving: a.seconds.total(), Turns: nan, Work: nan},
	}
	if cut {
		t.Totals.Distance, t.Totals.Moving = nan, nan
	}
	parts, notes, err := inTime(a.parts, o)
	if err != nil {
		return nil, err
	}
	t.Warnings = append(t.Warnings, notes...)
	a.parts = nil
	t.join(parts)
	if len(t.Samples) < 2 {
		return t.ofTotals(a.start), nil
	}
	t.Start, t.End = t.Samples[0].T, t.Samples[len(t.Samples)-1].T
	t.doubt()
	if !parts[0].made {
		t.fillIn()
	}
	return t, nil
}

// notesOf are what a reader of the ride must know.
func (a *tcxActivity) notesOf() (notes []string) {
	if a.unnamed() {
		notes = append(notes, "sport not named")
	}
	if a.zoneless > 0 {
		notes = append(notes, "times without a zone are taken as UTC")
	}
	switch {
	case a.points == 0:
	case a.telling == 0:
		notes = append(notes, "heart rate only: neither places, speed nor cadence")
	case a.located == 0:
		notes = append(notes, "no places: if it was indoors, mark it trainer or rollers")
	}
	return notes
}

// join lays the tracks of the laps end to end. Between two tracks of a lap the
// timer stood still; from lap to lap it ran on, unless the gap is long.
func (t *Track) join(parts []gpxSegment) {
	points := 0
	for _, s := range parts {
		points += len(s.samples)
	}
	t.Samples = make([]Sample, 0, points)
	for i, s := range parts {
		if i > 0 && (s.lap == parts[i-1].lap || s.start()-parts[i-1].end() > longestStep*1000) {
			t.Breaks = append(t.Breaks, len(t.Samples))
			t.Pauses = append(t.Pauses, Pause{parts[i-1].end(), s.start()})
		}
		t.Samples = append(t.Samples, s.samples...)
	}
}

// ofTotals is the track of an activity that has nothing but sums, nil where it
// has not even these.
func (t *Track) ofTotals(start int64) *Track {
	if start == noTime || math.IsNaN(t.Totals.Distance) && math.IsNaN(t.Totals.Moving) {
		return nil
	}
	t.Samples, t.Breaks, t.Pauses = nil, nil, nil
	t.Start, t.End = start, start
	if !math.IsNaN(t.Totals.Moving) {
		t.End += int64(1000 * t.Totals.Moving)
	}
	return t
}

// title is the name that somebody gave the activity. The standard's Id is the
// time of its start; some programs write a name there.
func (a *tcxActivity) title() string {
	if a.notes != "" {
		return clipped(a.notes)
	}
	if _, isTime := parseStamp(a.id); isTime {
		return ""
	}
	return clipped(a.id)
}

// clipped is the first line of a text, at most 100 characters of it.
func clipped(s string) string {
	s, _, _ = strings.Cut(strings.TrimSpace(s), "\n")
	kept := []rune(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, s))
	return strings.TrimSpace(string(kept[:min(len(kept), 100)]))
}
