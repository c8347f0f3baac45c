package config

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"pawl/wear"
)

// decode reads TOML and refuses what v has no field for. Errors name places and
// words, but no values: one could be a password.
func decode(text []byte, path string, v any) error {
	err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(v)
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		return unknown(strict.Errors[0], path, v)
	}
	var wrong *toml.DecodeError
	if errors.As(err, &wrong) {
		row, col := wrong.Position()
		return fmt.Errorf("%s:%d:%d: %s", path, row, col, withoutValues(wrong))
	}
	if err != nil {
		return fmt.Errorf("settings %q: not TOML", path)
	}
	return nil
}

// withoutValues is what the parser says, less the values that it quotes.
func withoutValues(err *toml.DecodeError) string {
	if key := err.Key(); len(key) > 0 {
		return strings.Join(key, ".") + ": here twice, or its value is of the wrong kind"
	}
	return "not TOML: is a quote or a bracket missing"
}

// unknown names a word that is no setting, and the one that was meant.
func unknown(e toml.DecodeError, path string, v any) error {
	row, col := e.Position()
	word := strings.Join(e.Key(), ".")
	wrong := &Error{Msg: fmt.Sprintf("%s:%d:%d: %s: no such setting", path, row, col, word)}
	if meant := wear.Nearest(e.Key()[len(e.Key())-1], words(reflect.TypeOf(v), e.Key())); meant != "" {
		wrong.Msg += fmt.Sprintf(" (did you mean %s?)", meant)
	}
	if strings.HasPrefix(word, "mail.pass") {
		wrong.Tip = "the password itself stays out of this file: put it in a file of mode 0600 and name that as password_file"
	}
	return wrong
}

// words are the settings among which the last word of a key was looked for.
func words(t reflect.Type, key []string) []string {
	for ; ; key = key[1:] {
		for t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct {
			return nil
		}
		fields := map[string]reflect.Type{}
		for _, f := range reflect.VisibleFields(t) {
			if word := f.Tag.Get("toml"); word != "" {
				fields[word] = f.Type
			}
		}
		next, known := fields[key[0]]
		if !known || len(key) == 1 {
			return slices.Sorted(maps.Keys(fields))
		}
		t = next
	}
}

// wrongValue is a value that cannot work.
type wrongValue struct{ word, why, tip string }

// at says where in the file the value is.
func (w *wrongValue) at(path string, text []byte) error {
	row, col := 1, 1
	// The parser tells places only of words that it does not know, so it is made
	// to know the tables and none of the words in them.
	err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&struct{ Shop, Mail struct{} }{})
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) {
		for _, e := range strict.Errors {
			if strings.Join(e.Key(), ".") == w.word {
				row, col = e.Position()
			}
		}
	}
	return &Error{Msg: fmt.Sprintf("%s:%d:%d: %s: %s", path, row, col, w.word, w.why), Tip: w.tip}
}
