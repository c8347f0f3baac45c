package report

import (
	"io"
	"strconv"
	"strings"

	"pawl/wear"
)

// ReminderLine is what a person would be told, or why nothing is.
type ReminderLine struct {
	Name, Email string
	Bikes       []string
	Findings    []wear.Finding
	Why         string
}

// says is the gist of the message: "enduro: 1 stop, 2 due, 1 order part".
func (l ReminderLine) says() string {
	var bikes []string
	count := map[string]*[4]int{}
	for _, f := range l.Findings {
		if count[f.Bike] == nil {
			bikes = append(bikes, f.Bike)
			count[f.Bike] = &[4]int{}
		}
		count[f.Bike][f.Verdict]++
	}
	for i, b := range bikes {
		var words []string
		for v := wear.Stop; v > wear.Fine; v-- {
			if n := count[b][v]; n > 0 {
				words = append(words, strconv.Itoa(n)+" "+v.String())
			}
		}
		bikes[i] = b + ": " + strings.Join(words, ", ")
	}
	return strings.Join(bikes, "; ")
}

// Reminders writes what would be sent to whom, and of how many nothing, and why.
func Reminders(w io.Writer, lines []ReminderLine, s Style) error {
	p := &page{Style: s}
	var told []ReminderLine
	silent := map[string]int{}
	for _, l := range lines {
		if l.Why != "" {
			silent[l.Why]++
			continue
		}
		told = append(told, l)
	}
	shown, window, err := cut(s.Pages, told, fewRows)
	if err != nil {
		return err
	}
	if len(shown) > 0 {
		rows := make([][]string, len(shown))
		for i, l := range shown {
			rows[i] = []string{brief(l.Name, longName), brief(l.Email, longName), brief(l.says(), longNote)}
		}
		p.table(filled([]column{{title: "to", least: 10}, {title: "e-mail", least: 12}, {title: "about", least: 20}}, rows))
		p.gap()
	}
	p.para("", plural(len(told), "message", "messages")+" to send")
	for _, why := range []string{"no bike is theirs", "no e-mail", "no consent", "the mail server refused their address", "a message waits in the outbox", "nothing new"} {
		if n := silent[why]; n > 0 {
			p.para("", plural(n, "person", "people")+" not written to: "+why)
		}
	}
	p.rest(window, "message", "messages", "--csv")
	return p.to(w)
}

type reminderJSON struct {
	Name     string         `json:"name"`
	Email    *string        `json:"email"`
	Bikes    []string       `json:"bikes"`
	Why      *string        `json:"why"` // why nothing is told
	Findings []toldFindings `json:"findings"`
}

type toldFindings struct {
	Bike    string       `json:"bike"`
	Part    string       `json:"part"`
	Job     string       `json:"job"`
	Verdict wear.Verdict `json:"verdict"`
}

// RemindersJSON writes them as one JSON object.
func RemindersJSON(w io.Writer, lines []ReminderLine) error {
	out := make([]reminderJSON, len(lines))
	for i, l := range lines {
		out[i] = reminderJSON{l.Name, textOf(l.Email), list(l.Bikes), textOf(l.Why), []toldFindings{}}
		for _, f := range l.Findings {
			out[i].Findings = append(out[i].Findings, toldFindings{f.Bike, f.Part, f.Job, f.Verdict})
		}
	}
	return writeJSON(w, struct {
		envelope
		Reminders []reminderJSON `json:"reminders"`
	}{enclose(nil), out})
}

// RemindersCSV writes them as CSV, a row a person.
func RemindersCSV(w io.Writer, lines []ReminderLine) error {
	out := newSheet(w, "name", "email", "bikes", "about", "why")
	for _, l := range lines {
		out.row(cell(l.Name), cell(l.Email), cell(strings.Join(l.Bikes, ", ")), cell(l.says()), cell(l.Why))
	}
	return out.done()
}

// OutboxLine is a message and how far it has come.
type OutboxLine struct {
	Name    string // "" = forgotten
	Message wear.Message
}

func (l OutboxLine) state() string {
	text := l.Message.State.String()
	if l.Message.Twice {
		text += ", perhaps twice"
	}
	return text
}

// Outbox writes messages to a terminal, oldest first.
func Outbox(w io.Writer, lines []OutboxLine, s Style) error {
	p := &page{Style: s}
	if len(lines) == 0 {
		p.line("The outbox is empty.")
		return p.to(w)
	}
	shown, window, err := cut(s.Pages, lines, fewRows)
	if err != nil {
		return err
	}
	rows := make([][]string, len(shown))
	for i, l := range shown {
		m := l.Message
		rows[i] = []string{s.minute(m.At), brief(l.Name, longName), l.state(), strconv.Itoa(m.Tries), brief(m.Why, longNote)}
	}
	p.table(filled([]column{
		{title: "stored"}, {title: "to", least: 10}, {title: "state", least: 8}, {title: "tries", right: true}, {title: "the server said", least: 12},
	}, rows))
	count := map[wear.Sending]int{}
	for _, l := range lines {
		count[l.Message.State]++
	}
	p.gap()
	var words []string
	for state := wear.Waiting; state <= wear.Withdrawn; state++ {
		if n := count[state]; n > 0 {
			words = append(words, number(float64(n), 0)+" "+state.String())
		}
	}
	p.para("", plural(len(lines), "message", "messages")+": "+strings.Join(words, ", "))
	p.rest(window, "message", "messages", "--csv")
	return p.to(w)
}

type outboxJSON struct {
	Name      *string `json:"name"`
	MessageID string  `json:"message_id"`
	At        *string `json:"at"`
	State     string  `json:"state"`
	Twice     bool    `json:"perhaps_twice"`
	Tries     int     `json:"tries"`
	Next      *string `json:"next"`
	Ended     *string `json:"ended"`
	Why       *string `json:"why"`
}

// OutboxJSON writes them as one JSON object.
func OutboxJSON(w io.Writer, lines []OutboxLine, s Style) error {
	out := make([]outboxJSON, len(lines))
	for i, l := range lines {
		m := l.Message
		out[i] = outboxJSON{
			textOf(l.Name), m.MessageID, isoTime(m.At, s.zone()), m.State.String(), m.Twice, m.Tries,
			s.isoOrNull(m.Next), s.isoOrNull(m.Ended), textOf(m.Why),
		}
	}
	return writeJSON(w, struct {
		envelope
		Messages []outboxJSON `json:"messages"`
	}{enclose(nil), out})
}

// OutboxCSV writes them as CSV.
func OutboxCSV(w io.Writer, lines []OutboxLine, s Style) error {
	out := newSheet(w, "stored", "name", "message_id", "state", "perhaps_twice", "tries", "ended", "why")
	for _, l := range lines {
		m := l.Message
		ended := ""
		if m.Ended != 0 {
			ended = s.csvTime(m.Ended)
		}
		out.row(s.csvTime(m.At), cell(l.Name), cell(m.MessageID), m.State.String(), yesNo(m.Twice), strconv.Itoa(m.Tries), ended, cell(m.Why))
	}
	return out.done()
}
