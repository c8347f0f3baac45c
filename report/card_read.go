package report

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"pawl/wear"
)

// Bounds of a form.
const (
	mostFormBytes = 1 << 20
	mostMinutes   = 24 * 60
)

// CardFormError is a form that cannot be taken.
type CardFormError struct {
	Line, Column int // from 1; 0 = of the whole form
	Msg          string
}

// Error says where and what is wrong.
func (e *CardFormError) Error() string {
	if e.Line == 0 {
		return e.Msg
	}
	return fmt.Sprintf("line %d, column %d: %s", e.Line, e.Column, e.Msg)
}

// ReadCardForm reads a filled-in form. A key that no form has, a value of
// another type and what cannot be meant are refused: every error is a
// *[CardFormError], and then nothing of the form is to be entered. Whether the
// bike has such parts and jobs, and what day, cost and reading say, is for whom
// enters it to tell.
func ReadCardForm(data []byte) (CardForm, error) {
	if len(data) > mostFormBytes {
		return CardForm{}, &CardFormError{Msg: fmt.Sprintf("%d bytes: too long for a job card", len(data))}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	var f CardForm
	if err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(&f); err != nil {
		return CardForm{}, formError(err)
	}
	at := formPlaces(data)
	if strings.TrimSpace(f.Bike) == "" {
		return CardForm{}, at.err(-1, "bike", `bike "": say which bike the card is of`)
	}
	taken := map[[2]string]bool{}
	for i, j := range f.Jobs {
		key, msg := j.wrong()
		if name := [2]string{j.Part, j.Job}; msg == "" && taken[name] {
			key, msg = "job", fmt.Sprintf("job %q of part %q: it is on the form already", j.Job, j.Part)
		} else {
			taken[name] = true
		}
		if msg != "" {
			return CardForm{}, at.err(i, key, msg)
		}
	}
	return f, nil
}

// formError tells where the file is not the TOML of a form.
func formError(err error) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		e := &strict.Errors[0]
		row, col := e.Position()
		return &CardFormError{row, col, fmt.Sprintf("key %q: no form has it%s", strings.Join(e.Key(), "."), meantKey(e.Key()))}
	}
	var dec *toml.DecodeError
	if errors.As(err, &dec) {
		row, col := dec.Position()
		return &CardFormError{row, col, strings.TrimPrefix(dec.Error(), "toml: ")}
	}
	return &CardFormError{Msg: strings.TrimPrefix(err.Error(), "toml: ")}
}

// The keys of a form, and of each of its jobs.
var (
	formKeys = []string{"bike", "on", "by", "job"}
	jobKeys  = []string{"part", "job", "done", "declined", "torque", "minutes", "cost", "note", "reading", "tool", "look", "model"}
)

// meantKey is a hint at the key that was meant.
func meantKey(key []string) string {
	words := formKeys
	if len(key) > 1 {
		words = jobKeys
	}
	if n := wear.Nearest(key[len(key)-1], words); n != "" {
		return " (did you mean " + n + "?)"
	}
	return ""
}

// wrong is what cannot be meant in the table of a job, and at which key; empty
// where all can.
func (j CardJob) wrong() (key, msg string) {
	switch {
	case j.Part == "":
		return "part", `part "": say which part the job was done to`
	case j.Job == "":
		return "job", fmt.Sprintf("job %q of part %q: say which job it is", j.Job, j.Part)
	}
	if key, msg = j.slip(); msg != "" {
		msg = fmt.Sprintf("job %q of part %q: %s", j.Job, j.Part, msg)
	}
	return key, msg
}

// slip is what cannot be meant of a job that is named.
func (j CardJob) slip() (key, msg string) {
	switch {
	case j.Done && j.Declined:
		return "declined", "both done and declined: one of them is false"
	case j.Look != "" && !slices.Contains(wear.Words, wear.Word(j.Look)):
		return "look", fmt.Sprintf("look %q: not one of good, watch, replace, unsafe", j.Look)
	case j.Minutes < 0 || j.Minutes > mostMinutes:
		return "minutes", fmt.Sprintf("minutes %d: not between 0 and %d", j.Minutes, mostMinutes)
	case j.Tool != "" && j.Reading == "":
		return "tool", fmt.Sprintf("tool %q: what did it read? write the reading", j.Tool)
	case j.Declined && j.Torque != "":
		return "torque", "declined work has no torque"
	}
	if j.Torque != "" {
		if _, err := wear.ParseTorque(j.Torque); err != nil {
			return "torque", err.Error()
		}
	}
	if key := j.written(); key != "" && !j.Says() {
		return key, key + " is filled in, but neither done nor declined is true"
	}
	return "", ""
}

// written is the first key that is filled in and says nothing by itself.
func (j CardJob) written() string {
	switch {
	case j.Torque != "":
		return "torque"
	case j.Minutes != 0:
		return "minutes"
	case j.Cost != "":
		return "cost"
	case j.Note != "":
		return "note"
	case j.Model != "":
		return "model"
	}
	return ""
}

// places are where the keys of a form stand.
type places struct {
	parser unstable.Parser
	of     map[placeKey]unstable.Range
}

// placeKey is a key of a job. Job -1 is the top of the form; the empty key of a
// job is its [[job]], of which a single one may be written [job].
type placeKey struct {
	job int
	key string
}

// formPlaces finds the keys of a form that was decoded.
func formPlaces(data []byte) *places {
	at, job := &places{of: map[placeKey]unstable.Range{}}, -1
	at.parser.Reset(data)
	for at.parser.NextExpression() {
		e := at.parser.Expression()
		it := e.Key()
		if !it.Next() {
			continue
		}
		name := it.Node()
		switch e.Kind {
		case unstable.ArrayTable, unstable.Table:
			job++
			at.of[placeKey{job, ""}] = name.Raw
		case unstable.KeyValue:
			at.of[placeKey{job, string(name.Data)}] = name.Raw
		}
	}
	return at
}

// err is an error at a key, or at its job's head where the key is not written.
func (at *places) err(job int, key, msg string) error {
	raw, ok := at.of[placeKey{job, key}]
	if !ok {
		raw, ok = at.of[placeKey{job, ""}]
	}
	if !ok {
		return &CardFormError{Msg: msg}
	}
	where := at.parser.Shape(raw).Start
	return &CardFormError{where.Line, where.Column, msg}
}
