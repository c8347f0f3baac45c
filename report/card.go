package report

import (
	"bytes"
	_ "embed"
	"html/template"
	"io"
	"sync"

	"pawl/wear"
)

//go:embed card.html
var cardHTML string

var cardTemplate = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("card").Parse(cardHTML))
})

// CardPage is what a job card tells the stand of one bike.
type CardPage struct {
	Shop     string
	Bike     wear.Bike
	Owner    string // name; empty = nobody's
	Today    wear.Instant
	Visit    wear.Instant   // when the bike comes; 0 = not planned
	Findings []wear.Finding // of this bike, in working order; fine ones give the limits of readings
	Setup    *SetupPage     // nil where there is no guide to set up
	SignOffs []CardSignOff  // the last ones, in any order
	Declined []CardSignOff  // what was offered and not wanted
	Parts    []string       // to take to the stand
}

// CardSignOff is a sign-off, and which part it was of.
type CardSignOff struct {
	Part string
	wear.SignOff
}

// Card writes the job card of a bike: one HTML page for A4 paper that needs
// neither a script nor anything from outside. Text from outside is cleaned and
// cut to length as everywhere. Where it is more than fits, further pages begin
// with the same head and no job is cut in two.
func Card(w io.Writer, c CardPage, s Style) error {
	var buf bytes.Buffer
	if err := cardTemplate().Execute(&buf, s.card(c)); err != nil {
		return err
	}
	_, err := w.Write(buf.Bytes())
	return err
}

// todo reports whether a finding is a job of the card.
func todo(f *wear.Finding) bool { return f.Verdict >= wear.Due }

// jobs are the findings that are jobs of the card, in their order.
func (c *CardPage) jobs() []*wear.Finding {
	var out []*wear.Finding
	for i := range c.Findings {
		if todo(&c.Findings[i]) {
			out = append(out, &c.Findings[i])
		}
	}
	return out
}

// change is the finding that tells at which reading a part is changed; nil
// where it is not among those of the card.
func (c *CardPage) change(of *wear.Finding) *wear.Finding {
	for i := range c.Findings {
		f := &c.Findings[i]
		if f.PartID == of.PartID && f.Part == of.Part && f.Act == wear.ActChange && (f.Unit == "%" || f.Unit == "mm") {
			return f
		}
	}
	return nil
}
