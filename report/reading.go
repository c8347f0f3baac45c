package report

import (
	"strings"

	"pawl/wear"
)

// readingText is a reading in words: what was read, in how many places, over
// which length, and by what.
func readingText(r wear.Reading) string {
	out := figureText(r)
	if n := len(r.Places); n > 1 {
		each := make([]string, n)
		for i, v := range r.Places {
			each[i] = hundredths(v)
		}
		out += " (mean of " + strings.Join(each, ", ") + ")"
	}
	if r.Length > 0 && r.Pitches > 0 {
		out += ", " + hundredths(r.Length) + " mm over " + plural(r.Pitches, "pitch", "pitches")
	}
	if r.Plate > 0 {
		out += ", a plate of " + hundredths(r.Plate) + " mm taken off"
	}
	out += toolText(r)
	if r.Doubtful {
		out += ", doubtful: not counted"
	}
	return withNote(out, r.Note)
}

// figureText is the figure, or what the ends of a gauge did.
func figureText(r wear.Reading) string {
	if g := r.Gauge; g != nil {
		var ends []string
		if g.In > 0 {
			ends = append(ends, hundredths(g.In)+" % dropped in")
		}
		if g.Out > 0 {
			ends = append(ends, hundredths(g.Out)+" % stayed out")
		}
		return strings.Join(ends, ", ")
	}
	if r.Of == wear.Elongation {
		return hundredths(r.Value) + " % elongation"
	}
	return hundredths(r.Value) + " mm " + clean(string(r.Of))
}

// toolText is what it was read by: the tool, which one, and what sort of gauge.
func toolText(r wear.Reading) string {
	out := by(r.Tool)
	var more []string
	if r.Which != "" {
		more = append(more, brief(r.Which, longName))
	}
	if r.Gauge != nil && r.Gauge.Points > 0 {
		more = append(more, plural(r.Gauge.Points, "point", "points"))
	}
	if len(more) > 0 {
		out += " (" + strings.Join(more, ", ") + ")"
	}
	return out
}
