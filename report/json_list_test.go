package report

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A list written in pieces is the list written at once.
func TestWriteJSONList(t *testing.T) {
	type item struct {
		Name  string   `json:"name"`
		Words []string `json:"words"`
		Left  *float64 `json:"left"`
	}
	for _, n := range []int{0, 1, 2, jsonChunk, jsonChunk + 1, 9*jsonChunk + 7} {
		items := make([]item, n)
		for i := range items {
			items[i] = item{Name: fmt.Sprintf("<%d>\n\u2028\"&", i), Words: make([]string, i%3)}
		}
		head := struct {
			envelope
			Today *string `json:"today"`
		}{enclose([]string{"a note"}), textOf("2026-05-14")}
		whole := struct {
			envelope
			Today *string `json:"today"`
			Items []item  `json:"items"`
		}{head.envelope, head.Today, items}
		var want, got strings.Builder
		require.NoError(t, writeJSON(&want, whole))
		require.NoError(t, writeJSONList(&got, head, "items", n, func(i int) any { return items[i] }))
		assert.Equal(t, want.String(), got.String())
	}
}

// A full disk ends the list.
func TestWriteJSONListFails(t *testing.T) {
	full := errors.New("no space left")
	for room := range 40 {
		w := &tightWriter{room: room * 20, err: full}
		err := writeJSONList(w, enclose(nil), "items", 3*jsonChunk, func(i int) any { return i })
		assert.ErrorIs(t, err, full)
	}
}

// tightWriter is one with room for so many bytes.
type tightWriter struct {
	room int
	err  error
}

func (n *tightWriter) Write(p []byte) (int, error) {
	if n.room -= len(p); n.room < 0 {
		return 0, n.err
	}
	return io.Discard.Write(p)
}
