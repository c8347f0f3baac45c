package report

import (
	"io"
	"strings"

	"pawl/wear"
)

// PersonLine is a person as lists show them.
type PersonLine struct {
	Person wear.Person
	Bikes  []string
	Last   *wear.Message // the latest message; nil = none yet
}

// consent says whether the person may be written to at an instant.
func (l PersonLine) consent(s Style, now wear.Instant) string {
	c := l.Person.Consent
	switch {
	case c.Holds(now):
		return s.dayOf(c.Given) + ", " + brief(c.How, longName)
	case c.Given != 0 && c.Ended != 0 && c.Ended <= now:
		return "taken back " + s.dayOf(c.Ended)
	}
	return "none"
}

func (l PersonLine) last(s Style) string {
	if l.Last == nil {
		return ""
	}
	return s.dayOf(l.Last.At) + ", " + l.Last.State.String()
}

// People writes people to a terminal.
func People(w io.Writer, lines []PersonLine, now wear.Instant, s Style) error {
	p := &page{Style: s}
	if len(lines) == 0 {
		p.line("No people.")
		return p.to(w)
	}
	shown, window, err := cut(s.Pages, lines, fewRows)
	if err != nil {
		return err
	}
	rows := make([][]string, len(shown))
	for i, l := range shown {
		rows[i] = []string{
			brief(l.Person.Name, longName), brief(l.Person.Email, longName), brief(strings.Join(l.Bikes, ", "), longNote),
			l.consent(s, now), l.last(s),
		}
	}
	p.table(filled([]column{
		{title: "name", least: 10}, {title: "e-mail", least: 12}, {title: "bikes", least: 10}, {title: "consent", least: 10}, {title: "last message", least: 10},
	}, rows))
	p.gap()
	p.para("", plural(len(lines), "person", "people")+", "+number(float64(agreed(lines, now)), 0)+" may be written to")
	p.rest(window, "person", "people", "--csv")
	return p.to(w)
}

// agreed is how many may be written to at an instant.
func agreed(lines []PersonLine, now wear.Instant) int {
	n := 0
	for _, l := range lines {
		if l.Person.Consent.Holds(now) {
			n++
		}
	}
	return n
}

type personJSON struct {
	Name    string       `json:"name"`
	Email   *string      `json:"email"`
	Units   string       `json:"units"`
	Bikes   []string     `json:"bikes"`
	Consent *consentJSON `json:"consent"`
	Note    *string      `json:"note"`
	Last    *lastJSON    `json:"last_message"`
}

type consentJSON struct {
	Given *string `json:"given"`
	How   string  `json:"how"`
	Ended *string `json:"ended"`
	Holds bool    `json:"holds"`
}

type lastJSON struct {
	At    *string `json:"at"`
	State string  `json:"state"`
}

func (s Style) personJSON(l PersonLine, now wear.Instant) personJSON {
	out := personJSON{
		Name: l.Person.Name, Email: textOf(l.Person.Email), Units: unitsOf(l.Person), Bikes: list(l.Bikes), Note: textOf(l.Person.Note),
	}
	if c := l.Person.Consent; c.Given != 0 {
		out.Consent = &consentJSON{isoTime(c.Given, s.zone()), c.How, s.isoOrNull(c.Ended), c.Holds(now)}
	}
	if l.Last != nil {
		out.Last = &lastJSON{isoTime(l.Last.At, s.zone()), l.Last.State.String()}
	}
	return out
}

func unitsOf(p wear.Person) string {
	if p.Imperial {
		return "imperial"
	}
	return "metric"
}

// isoOrNull is an instant, null where it is 0.
func (s Style) isoOrNull(at wear.Instant) *string {
	if at == 0 {
		return nil
	}
	return isoTime(at, s.zone())
}

// PeopleJSON writes them as one JSON object.
func PeopleJSON(w io.Writer, lines []PersonLine, now wear.Instant, s Style) error {
	out := make([]personJSON, len(lines))
	for i, l := range lines {
		out[i] = s.personJSON(l, now)
	}
	return writeJSON(w, struct {
		envelope
		People []personJSON `json:"people"`
	}{enclose(nil), out})
}

// PeopleCSV writes them as CSV, in the columns that pawl person read takes.
func PeopleCSV(w io.Writer, lines []PersonLine, s Style) error {
	out := newSheet(w, "name", "email", "units", "consent_on", "consent_how", "bikes", "note")
	for _, l := range lines {
		given, how := "", ""
		if c := l.Person.Consent; c.Given != 0 && c.Ended == 0 {
			given, how = s.dayOf(c.Given), c.How
		}
		out.row(cell(l.Person.Name), cell(l.Person.Email), unitsOf(l.Person), given, cell(how), cell(strings.Join(l.Bikes, "; ")), cell(l.Person.Note))
	}
	return out.done()
}
