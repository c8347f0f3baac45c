package ingest

import (
	"archive/zip"
	"fmt"
	"path"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// maxLabel is the most characters of a name in a bundle that are shown.
const maxLabel = 200

// hiddenEntry reports a file that a folder would hide, or the side files that
// some systems put beside each file for its icon.
func hiddenEntry(name string) bool {
	for _, part := range strings.Split(slashed(name), "/") {
		if part == "__MACOSX" || strings.HasPrefix(part, ".") && part != "." && part != ".." {
			return true
		}
	}
	return false
}

// labelOf is the name of a file in a bundle as it is shown. It never leads out
// of the bundle, holds nothing that a terminal acts upon, and is no path on disk.
func labelOf(f *zip.File) string {
	name := f.Name
	if !utf8.ValidString(name) { // names were of the first PC's character set once
		name, _ = charmap.CodePage437.NewDecoder().String(name)
	}
	name = strings.TrimPrefix(path.Clean("/"+slashed(name)), "/")
	name = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return '?'
		}
		return r
	}, name)
	if n := utf8.RuneCountInString(name); n > maxLabel {
		name = "…" + string([]rune(name)[n-maxLabel:])
	}
	if name == "" {
		return "?"
	}
	return name
}

func slashed(name string) string { return strings.ReplaceAll(name, `\`, "/") }

// again tells the n-th file of one name from the first: both may be rides.
func again(label string, n int) string { return fmt.Sprintf("%s (no. %d of that name)", label, n) }

// methodName names the methods of APPNOTE 4.4.5 that are met.
func methodName(method uint16) string {
	switch method {
	case 9:
		return "Deflate64"
	case 12:
		return "bzip2"
	case 14:
		return "LZMA"
	case 93:
		return "zstd"
	case 95:
		return "xz"
	}
	return fmt.Sprintf("method %d", method)
}
