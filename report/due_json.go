package report

import (
	"io"
	"strconv"
	"strings"

	"pawl/wear"
)

// findingJSON is a finding as the promise of the machine output has it.
type findingJSON struct {
	Bike    string    `json:"bike"`
	Part    string    `json:"part"`
	Kind    string    `json:"kind"`
	Job     string    `json:"job"`
	Verdict string    `json:"verdict"`
	Safety  bool      `json:"safety"`
	Used    *float64  `json:"used"`
	Limit   *float64  `json:"limit"`
	Unit    *string   `json:"unit"`
	Share   *float64  `json:"share"`
	Basis   string    `json:"basis"`
	Data    string    `json:"data"`
	Since   *string   `json:"since"`
	Left    rangeJSON `json:"left"`
	Date    datesJSON `json:"date"`
	Advice  string    `json:"advice"`
	Caution string    `json:"caution"`
	Source  string    `json:"source"`
}

type rangeJSON struct {
	P10 *float64 `json:"p10"`
	P50 *float64 `json:"p50"`
	P90 *float64 `json:"p90"`
}

type datesJSON struct {
	P10 *string `json:"p10"`
	P50 *string `json:"p50"`
	P90 *string `json:"p90"`
}

func (s Style) findingJSON(f *wear.Finding) findingJSON {
	out := findingJSON{
		Bike: f.Bike, Part: f.Part, Kind: f.Kind, Job: f.Job, Verdict: f.Verdict.String(), Safety: f.Safety,
		Unit: textOf(f.Unit), Share: figureOf(f.Share, 4), Basis: string(f.Basis), Data: string(f.Data),
		Since: isoTime(f.Since, s.zone()), Left: rangeOf(f.Left), Date: s.datesOf(f.Date),
		Advice: f.Advice, Caution: wholeCaution(f), Source: f.Source,
	}
	if f.Unit != "" {
		out.Used = figureOf(f.Used, 4)
	}
	if f.Limit != 0 {
		out.Limit = figureOf(f.Limit, 4)
	}
	return out
}

// wholeCaution is the caution, beside a stop with what clears it in front.
func wholeCaution(f *wear.Finding) string {
	if f.Verdict != wear.Stop {
		return f.Caution
	}
	return strings.TrimSpace(clearing(f) + " " + sentence(f.Caution))
}

func rangeOf(r wear.Range) rangeJSON {
	round := func(v *float64) *float64 {
		if v == nil {
			return nil
		}
		return figureOf(*v, 4)
	}
	return rangeJSON{round(r.P10), round(r.P50), round(r.P90)}
}

func (s Style) datesOf(d wear.Dates) datesJSON {
	day := func(i *wear.Instant) *string {
		if i == nil {
			return nil
		}
		return isoDay(*i, s.zone())
	}
	return datesJSON{day(d.P10), day(d.P50), day(d.P90)}
}

// DueJSON writes what is to be done as one JSON object; fine ones only with All.
func DueJSON(w io.Writer, d DueList, s Style) error {
	fs := d.shown()
	head := struct {
		envelope
		Today *string `json:"today"`
	}{enclose(d.Warnings), isoDay(d.Today, s.zone())}
	return writeJSONList(w, head, "findings", len(fs), func(i int) any { return s.findingJSON(fs[i]) })
}

// DueCSV writes what is to be done as CSV in the units of the JSON, the fields
// of left and date with their quantile behind; fine ones only with All.
func DueCSV(w io.Writer, d DueList, s Style) error {
	out := newSheet(w, "bike", "part", "kind", "job", "verdict", "safety", "used", "limit", "unit", "share",
		"basis", "data", "since", "left_p10", "left_p50", "left_p90", "date_p10", "date_p50", "date_p90",
		"advice", "caution", "source")
	for _, f := range d.shown() {
		j := s.findingJSON(f)
		row := []string{
			cell(j.Bike), cell(j.Part), cell(j.Kind), cell(j.Job), j.Verdict, yesNo(j.Safety),
			some(j.Used), some(j.Limit), f.Unit, some(j.Share), j.Basis, j.Data, s.csvTime(f.Since),
			some(j.Left.P10), some(j.Left.P50), some(j.Left.P90),
			orEmpty(j.Date.P10), orEmpty(j.Date.P50), orEmpty(j.Date.P90),
			cell(j.Advice), cell(j.Caution), cell(j.Source),
		}
		out.row(row...)
	}
	return out.done()
}

// shown is the findings in order of urgency, the fine ones only with All.
func (d DueList) shown() []*wear.Finding {
	fs := byUrgency(d.Findings)
	if d.All {
		return fs
	}
	return append(append(ofVerdict(fs, wear.Stop), ofVerdict(fs, wear.Due)...), ofVerdict(fs, wear.Order)...)
}

func some(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}

func orEmpty(v *string) string {
	if v == nil {
		return ""
	}
	return *v
}
