package report

import (
	"io"
	"strconv"

	"pawl/wear"
)

type lifeJSON struct {
	Kind       string         `json:"kind"`
	Model      *string        `json:"model"`
	By         string         `json:"by"`
	Unit       string         `json:"unit"`
	Expected   betweenJSON    `json:"expected"`
	Parts      int            `json:"parts"`
	Failures   int            `json:"failures"`
	Censored   int            `json:"censored"`
	Endings    []endingJSON   `json:"endings"`
	Shape      *float64       `json:"shape"`
	ShapeError *float64       `json:"shape_error"`
	Scale      *float64       `json:"scale"`
	ScaleError *float64       `json:"scale_error"`
	Median     *bandJSON      `json:"median"`
	B10        *bandJSON      `json:"b10"`
	Rough      bool           `json:"rough"`
	Prior      *lifePriorJSON `json:"prior"`
	Method     *string        `json:"method"`
	Notes      []string       `json:"notes"`
	Refused    *string        `json:"refused"`
}

type endingJSON struct {
	Cause *string `json:"cause"` // null = still running
	N     int     `json:"n"`
}

type bandJSON struct {
	At   *float64 `json:"at"`
	From *float64 `json:"from"`
	To   *float64 `json:"to"` // null = no upper end
}

type lifePriorJSON struct {
	Median *float64 `json:"median"`
	LogSD  *float64 `json:"log_sd"`
}

func lifeOf(l LifeLine) lifeJSON {
	r := l.Result
	out := lifeJSON{
		Kind: l.Kind, Model: textOf(l.Model), By: l.By.String(), Unit: l.By.Unit(), Expected: betweenJSON{l.Least, l.Most},
		Parts: l.Parts, Failures: r.Failures, Censored: r.Censored, Endings: []endingJSON{}, Notes: list(r.Notes),
	}
	for _, e := range r.Endings {
		out.Endings = append(out.Endings, endingJSON{textOf(string(e.Cause)), e.N})
	}
	if l.Refused != nil {
		out.Refused = textOf(l.Refused.Why)
		return out
	}
	out.Shape, out.ShapeError = figureOf(r.Shape, 4), figureOf(r.ShapeErr, 4)
	out.Scale, out.ScaleError = figureOf(r.Scale, 3), figureOf(r.ScaleErr, 3)
	out.Median, out.B10, out.Rough = bandOf(&r.Median), bandOf(r.B10), r.Rough
	out.Prior, out.Method = &lifePriorJSON{figureOf(r.Prior.Median, 3), figureOf(r.Prior.LogSD, 4)}, textOf(r.Method)
	return out
}

func bandOf(b *wear.LifeBand) *bandJSON {
	if b == nil {
		return nil
	}
	out := bandJSON{At: figureOf(b.At, 3), From: figureOf(b.From, 3)}
	if b.To != 0 {
		out.To = figureOf(b.To, 3)
	}
	return &out
}

// PartLifeJSON writes how long parts last as one JSON object, in the unit that each names.
func PartLifeJSON(w io.Writer, lines []LifeLine) error {
	out := []lifeJSON{}
	for _, l := range lines {
		out = append(out, lifeOf(l))
	}
	return writeJSON(w, struct {
		envelope
		Lives []lifeJSON `json:"lives"`
	}{enclose(nil), out})
}

// PartLifeCSV writes how long parts last as CSV.
func PartLifeCSV(w io.Writer, lines []LifeLine) error {
	out := newSheet(w, "kind", "model", "by", "unit", "expected_from", "expected_to", "parts", "failures", "censored",
		"shape", "scale", "median", "median_from", "median_to", "b10", "b10_from", "b10_to", "rough", "refused")
	for _, l := range lines {
		j := lifeOf(l)
		row := []string{
			cell(j.Kind), cell(l.Model), j.By, j.Unit, amount(l.Least), amount(l.Most), strconv.Itoa(j.Parts),
			strconv.Itoa(j.Failures), strconv.Itoa(j.Censored), some(j.Shape), some(j.Scale),
		}
		for _, b := range []*bandJSON{j.Median, j.B10} {
			if b == nil {
				b = &bandJSON{}
			}
			row = append(row, some(b.At), some(b.From), some(b.To))
		}
		out.row(append(row, yesNo(j.Rough), cell(orEmpty(j.Refused)))...)
	}
	return out.done()
}
