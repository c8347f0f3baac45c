package report

import (
	"io"
	"strconv"

	"pawl/wear"
)

// MatchLine is a match in force.
type MatchLine struct {
	ID   uint64 // lists show its lower half, which tells it from others of the book
	Bike string
	Says string // what must hold
	From wear.Instant
}

// Matches writes matches to a terminal.
func Matches(w io.Writer, lines []MatchLine, s Style) error {
	p := &page{Style: s}
	if len(lines) == 0 {
		p.line("No matches: bikes are told by their sensors, by the device's name for them, or because there is no other.")
		return p.to(w)
	}
	shown, window, err := cut(s.Pages, lines, fewRows)
	if err != nil {
		return err
	}
	rows := make([][]string, len(shown))
	for i, l := range shown {
		rows[i] = []string{strconv.FormatUint(l.ID&0xffffffff, 10), brief(l.Bike, longName), brief(l.Says, longNote), s.since(l.From)}
	}
	p.table(filled([]column{{title: "match", right: true}, {title: "bike", least: 8}, {title: "rides of", least: 20}, {title: "from"}}, rows))
	p.rest(window, "match", "matches", "--csv")
	return p.to(w)
}

func (s Style) since(from wear.Instant) string {
	if from == wear.Ever {
		return "always"
	}
	return s.dayOf(from)
}

type matchJSON struct {
	ID   uint64  `json:"match"`
	Bike string  `json:"bike"`
	Says string  `json:"rides_of"`
	From *string `json:"from"`
}

// MatchesJSON writes them as one JSON object.
func MatchesJSON(w io.Writer, lines []MatchLine, s Style) error {
	out := make([]matchJSON, len(lines))
	for i, l := range lines {
		out[i] = matchJSON{l.ID & 0xffffffff, l.Bike, l.Says, isoTime(l.From, s.zone())}
	}
	return writeJSON(w, struct {
		envelope
		Matches []matchJSON `json:"matches"`
	}{enclose(nil), out})
}

// MatchesCSV writes them as CSV.
func MatchesCSV(w io.Writer, lines []MatchLine, s Style) error {
	out := newSheet(w, "match", "bike", "rides_of", "from")
	for _, l := range lines {
		out.row(strconv.FormatUint(l.ID&0xffffffff, 10), cell(l.Bike), cell(l.Says), s.csvTime(l.From))
	}
	return out.done()
}
