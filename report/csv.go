package report

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"pawl/wear"
)

// sheet writes CSV by RFC 4180: CRLF, quotes where needed, a header line.
type sheet struct {
	w *csv.Writer
}

func newSheet(w io.Writer, header ...string) *sheet {
	s := &sheet{csv.NewWriter(w)}
	s.w.UseCRLF = true
	_ = s.w.Write(header) // an error stays with the writer until done
	return s
}

// row writes cells; text among them must have gone through cell.
func (s *sheet) row(cells ...string) { _ = s.w.Write(cells) }

func (s *sheet) done() error {
	s.w.Flush()
	return s.w.Error()
}

// triggers start a formula in one spreadsheet or another (OWASP, "CSV
// Injection"; the last four are their full-width forms). Tab, CR and LF, which
// OWASP names too, never get past clean.
const triggers = "=+-@＝＋－＠"

// cell makes text from outside a cell that no spreadsheet takes for a formula:
// a quote goes before a trigger at the start, also one behind blanks, quotation
// marks or quotes, and before one after a semicolon, where some countries'
// spreadsheets begin a new cell. Numbers do not come here and stay numbers. What
// reads lists takes the quote off again.
func cell(text string) string {
	parts := strings.Split(clean(text), ";")
	for i, part := range parts {
		first := strings.TrimLeftFunc(part, func(r rune) bool {
			return unicode.IsSpace(r) || r == '"' || r == '\'' || r == '\u200c' || r == '\u200d'
		})
		if r, _ := utf8.DecodeRuneInString(first); first != "" && strings.ContainsRune(triggers, r) {
			parts[i] = "'" + part
		}
	}
	return strings.Join(parts, ";")
}

// amount is a figure for a cell, empty where it is not known.
func amount(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(round(v, 3), 'f', -1, 64)
}

func (s Style) csvTime(i wear.Instant) string {
	if t := isoTime(i, s.zone()); t != nil {
		return *t
	}
	return ""
}

func quantityHeads() []string {
	heads := make([]string, wear.NQuantities)
	for q := range wear.NQuantities {
		heads[q] = q.String()
	}
	return heads
}

// quantityCells is a load in metres, seconds, turns and joules, empty where a
// quantity lacks.
func quantityCells(l wear.Load, lacking wear.Set) []string {
	cells := make([]string, wear.NQuantities)
	for q := range wear.NQuantities {
		if !lacking.Has(q) {
			cells[q] = amount(l.SI(q))
		}
	}
	return cells
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}
