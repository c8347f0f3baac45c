package report

import (
	"bufio"
	"encoding/json"
	"io"
	"iter"

	"pawl/wear"
)

type rideJSON struct {
	ID        string   `json:"id"`
	Bike      *string  `json:"bike"`
	Start     *string  `json:"start"`
	File      *string  `json:"file"`
	Format    string   `json:"format"`
	Ground    string   `json:"ground"`
	Indoor    bool     `json:"indoor"`
	State     string   `json:"state"`
	Load      loadJSON `json:"load"`
	Estimated []string `json:"estimated"`
	Notes     []string `json:"notes"`
	Rule      *string  `json:"rule"`    // how the bike was told: see wear.Rule.Word
	Because   *string  `json:"because"` // what of the rule decided, or why none did
	TwinOf    *string  `json:"twin_of"`
}

func (s Style) rideJSON(r RideLine) rideJSON {
	return rideJSON{
		ID:        r.Ride.ID.String(),
		Bike:      textOf(r.Bike),
		Start:     isoTime(r.Ride.Start, s.zone()),
		File:      textOf(r.File),
		Format:    r.Ride.Format.String(),
		Ground:    r.Ride.Ground.String(),
		Indoor:    r.Ride.Ground.Indoor(),
		State:     r.Ride.State.String(),
		Load:      loadOf(r.Ride.Total(), r.Ride.Lacking),
		Estimated: estimated(r.Ride.Estimated),
		Notes:     list(r.Ride.Notes),
		Rule:      textOf(r.Ride.Rule.Word()),
		Because:   textOf(r.Ride.Because),
		TwinOf:    textOf(twinOf(r.Ride)),
	}
}

// RidesJSON writes rides as one JSON object, one ride a line, without holding
// them all. When a ride cannot be had it returns the error and the object
// stays unfinished.
func RidesJSON(w io.Writer, rides iter.Seq2[RideLine, error], warnings []string, s Style) error {
	head, err := compactJSON(enclose(warnings))
	if err != nil {
		return err
	}
	out := bufio.NewWriter(w)
	_, _ = out.Write(head[:len(head)-1]) // an error stays with the writer until Flush
	_, _ = out.WriteString(`,"rides":[`)
	sep := "\n"
	for r, err := range rides {
		if err != nil {
			return err
		}
		line, err := compactJSON(s.rideJSON(r))
		if err != nil {
			return err
		}
		_, _ = out.WriteString(sep)
		_, _ = out.Write(line)
		sep = ",\n"
	}
	_, _ = out.WriteString("\n]}\n")
	return out.Flush()
}

// compactJSON is v on one line without a newline.
func compactJSON(v any) ([]byte, error) {
	var b lineBuffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return b[:len(b)-1], nil
}

type lineBuffer []byte

func (b *lineBuffer) Write(p []byte) (int, error) {
	*b = append(*b, p...)
	return len(p), nil
}

// totalJSON is how often a part was ridden and what that put through it.
type totalJSON struct {
	Rides int64 `json:"rides"`
	loadJSON
}

func totalOf(s wear.Sum) totalJSON { return totalJSON{s.Rides, loadOf(s.Total(), 0)} }

type partJSON struct {
	Part  string    `json:"part"`
	Kind  string    `json:"kind"`
	Model *string   `json:"model"`
	Bike  *string   `json:"bike"`
	Since *string   `json:"since"`
	Total totalJSON `json:"total"`
}

func (s Style) partsJSON(parts []PartLine) []partJSON {
	out := make([]partJSON, len(parts))
	for i, l := range parts {
		out[i] = partJSON{
			Part: l.Part.Name, Kind: l.Part.Kind, Model: textOf(l.Part.Model), Bike: textOf(l.Bike),
			Since: isoTime(l.Since, s.zone()), Total: totalOf(l.Total),
		}
	}
	return out
}

// PartsJSON writes parts as one JSON object.
func PartsJSON(w io.Writer, parts []PartLine, warnings []string, s Style) error {
	return writeJSON(w, struct {
		envelope
		Parts []partJSON `json:"parts"`
	}{enclose(warnings), s.partsJSON(parts)})
}
