package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestClean(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"plain", "Kestrel 3", "Kestrel 3"},
		{"white space", "  a\t\tb\r\nc\u00a0d\u2028e ", "a b c d e"},
		{"escape", "\x1b[31mred", `\x1b[31mred`},
		{"bell and delete", "\a\x7f", `\x07\x7f`},
		{"c1", "\u009b31m", `\u009b31m`},
		{"right to left", "abc\u202edef\u2066g\u200f", `abc\u202edef\u2066g\u200f`},
		{"zero width", "a\u200bb\ufeff", `a\u200bb\ufeff`},
		{"tag", "a\U000e0041", `a\U000e0041`},
		{"bad bytes", "a\xffb", `a\xffb`},
		{"replacement character itself", "a\ufffd", "a\ufffd"},
		{"joiners stay", "क्\u200dष", "क्\u200dष"},
		{"many marks", "o" + strings.Repeat("\u0308", 9), "o" + strings.Repeat("\u0308", maxMarks)},
		{"wide", "自転車 3", "自転車 3"},
		{"arabic stays", "دراجة", "دراجة"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.want, clean(tt.in)) })
	}
}

func TestBrief(t *testing.T) {
	assert.Equal(t, "abc", brief("abc", 3))
	assert.Equal(t, "ab…", brief("abcd", 3))
	assert.Equal(t, "自…", brief("自転車", 4), "half a wide character is none")
	assert.Equal(t, "a…", brief("a bcd", 3), "no blank before the ellipsis")
}

func TestWrap(t *testing.T) {
	assert.Equal(t, []string{""}, wrap("", 10))
	assert.Equal(t, []string{"one two", "three"}, wrap("one two three", 9))
	assert.Equal(t, []string{"abcde", "fgh", "ij"}, wrap("abcdefgh ij", 5))
	assert.Equal(t, []string{"abcde", "fg h"}, wrap("abcdefg h", 5))
	assert.Equal(t, []string{"自転", "車"}, wrap("自転車", 5))
}

func TestWrapKeepsEveryWordAndTheWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := clean(rapid.String().Draw(t, "text"))
		n := rapid.IntRange(2, 60).Draw(t, "columns")
		lines := wrap(s, n)
		for _, l := range lines {
			if width(l) > n {
				t.Fatalf("line %q is wider than %d", l, n)
			}
		}
		squeeze := func(s string) string { return strings.Join(strings.Fields(s), "") }
		if got, want := squeeze(strings.Join(lines, "")), squeeze(s); got != want {
			t.Fatalf("wrapped %q, got back %q", want, got)
		}
	})
}

func TestCleanIsSafeAndStable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := clean(rapid.String().Draw(t, "text"))
		if strings.ContainsFunc(s, func(r rune) bool { return r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 }) {
			t.Fatalf("%q holds a control character", s)
		}
		if clean(s) != s {
			t.Fatalf("%q cleaned again is %q", s, clean(s))
		}
	})
}
