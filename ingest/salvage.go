package ingest

import (
	"errors"
	"fmt"
	"math"

	"pawl/wear"
)

// orSalvage is what to do about a damaged file of which a part is whole.
const orSalvage = ", or count what is whole: pawl import --salvage FILE"

// wholeOf says how much of a ride is whole, in ms: "61 of 74 minutes", or "61
// minutes" where the total is not known (0).
func wholeOf(whole, total int64) string { return wholeAbout(whole, total, "") }

// wholeAbout is wholeOf with a word that goes before the total.
func wholeAbout(whole, total int64, about string) string {
	unit, name := int64(1000), "second"
	if max(whole, total) >= 120_000 {
		unit, name = 60_000, "minute"
	}
	units := func(ms int64) int { return int(math.Round(float64(ms) / float64(unit))) }
	if total < whole || total == 0 {
		return plural(units(whole), name)
	}
	return fmt.Sprintf("%d of %s%s", units(whole), about, plural(units(total), name))
}

// readable says how much of a damaged file its tracks are.
func readable(tracks []*Track) string {
	switch {
	case len(tracks) == 0:
		return "no point of a ride is whole"
	case len(tracks) > 1:
		return fmt.Sprintf("%d rides can be read", len(tracks))
	}
	part := tracks[0].Salvaged
	if part == "" {
		part = wholeOf(tracks[0].End-tracks[0].Start, 0)
	}
	return part + " can be read"
}

// beyondRepair refuses a damaged file in which tracks are whole, and says how to
// count them.
func beyondRepair(why, hint string, tracks []*Track) error {
	if len(tracks) > 0 {
		hint += orSalvage
	}
	return refused(hint, "%s: %s", why, readable(tracks))
}

// salvaged marks tracks of a file that is damaged somewhere: a whole file that
// comes later takes the place of them all.
func salvaged(tracks []*Track, why string) []*Track {
	for _, t := range tracks {
		if t.Salvaged == "" {
			t.Salvaged = wholeOf(t.End-t.Start, 0)
		}
		t.Warnings = append(t.Warnings, why+": only what is whole in it counts")
	}
	return tracks
}

// wrapping is a gzip file or a bundle that was damaged around what it holds.
type wrapping struct{ damage *RefusedError }

// judge decides what the content of a damaged wrapping is worth: decoded are the
// tracks, or the error, that salvaging gave.
func (w wrapping) judge(tracks []*Track, err error, o Options) ([]*Track, error) {
	var not *NotRideError
	switch {
	case errors.As(err, &not):
		return nil, err
	case !o.Salvage:
		return nil, beyondRepair(w.damage.Why, w.damage.Hint, tracks)
	case err != nil:
		return nil, refused(w.damage.Hint, "%s: %v", w.damage.Why, err)
	}
	for _, t := range tracks {
		// A FIT file has a checksum of its own, so its reader knows better.
		if t.Format != wear.FIT && t.Salvaged == "" {
			t.Salvaged = wholeOf(t.End-t.Start, 0)
		}
		t.Warnings = append(t.Warnings, w.damage.Why)
	}
	return tracks, nil
}
