package ingest

import (
	"bytes"
	"regexp"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"
)

var (
	bomUTF8    = []byte("\xEF\xBB\xBF")
	bomLE      = []byte("\xFF\xFE")
	bomBE      = []byte("\xFE\xFF")
	xmlDeclare = regexp.MustCompile(`^\s*<\?xml\b[^>]*\?>`)
	xmlCharset = regexp.MustCompile(`\bencoding\s*=\s*["']([A-Za-z0-9._:-]+)["']`)
)

// plainXML is the file as UTF-8 without byte order mark and declaration, every
// character in it one that XML allows: bad bytes become question marks,
// control characters spaces. It is data itself where nothing had to be changed.
func plainXML(data []byte) []byte {
	if wide := wideCoding(data); wide != nil {
		data = recode(data, wide)
	}
	data = bytes.TrimPrefix(data, bomUTF8)
	declared := xmlDeclare.Find(data[:min(len(data), 1024)])
	data = data[len(declared):]
	if m := xmlCharset.FindSubmatch(declared); m != nil {
		if narrow := namedCoding(string(m[1])); narrow != nil {
			data = recode(data, narrow)
		}
	}
	return cleanXML(data)
}

// wideCoding is UTF-16 where the byte order mark or the first tag shows it,
// else nil.
func wideCoding(data []byte) encoding.Encoding {
	switch {
	case bytes.HasPrefix(data, bomLE), bytes.HasPrefix(data, []byte("<\x00")):
		return unicode.UTF16(unicode.LittleEndian, unicode.UseBOM)
	case bytes.HasPrefix(data, bomBE), bytes.HasPrefix(data, []byte("\x00<")):
		return unicode.UTF16(unicode.BigEndian, unicode.UseBOM)
	}
	return nil
}

// namedCoding is the coding that a declaration names, nil for UTF-8 and for
// names that nobody knows. A file that could be read up to its declaration is
// not UTF-16, whatever it says.
func namedCoding(name string) encoding.Encoding {
	name = strings.ToLower(name)
	if strings.HasPrefix(name, "utf") || strings.HasPrefix(name, "ucs") {
		return nil
	}
	coding, err := htmlindex.Get(name)
	if err != nil || coding == unicode.UTF8 {
		return nil
	}
	return coding
}

// recode gives up at what it cannot read and keeps what came before: the file
// then shows as cut.
func recode(data []byte, from encoding.Encoding) []byte {
	out, _ := from.NewDecoder().Bytes(data)
	return out
}

// cleanXML replaces what XML does not allow, byte for byte, so that a hostile
// file does not grow. Files are nearly always clean: the first pass only looks.
func cleanXML(data []byte) []byte {
	at := firstUnclean(data)
	if at < 0 {
		return data
	}
	out := bytes.Clone(data)
	for rest := out; at >= 0; at = firstUnclean(rest) {
		_, size := utf8.DecodeRune(rest[at:])
		for i := range size {
			rest[at+i] = stopgap(rest[at+i])
		}
		rest = rest[at+size:]
	}
	return out
}

// stopgap is what stands for a byte that may not stand for itself.
func stopgap(c byte) byte {
	if c < ' ' {
		return ' '
	}
	return '?'
}

// firstUnclean is the place of the first byte that begins no character of XML,
// -1 where there is none.
func firstUnclean(data []byte) int {
	for i := 0; i < len(data); {
		if c := data[i]; c < utf8.RuneSelf {
			if c < ' ' && c != '\n' && c != '\t' && c != '\r' {
				return i
			}
			i++
			continue
		}
		r, size := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && size == 1 || r == 0xFFFE || r == 0xFFFF {
			return i
		}
		i += size
	}
	return -1
}
