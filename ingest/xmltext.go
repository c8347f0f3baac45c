package ingest

import (
	"bytes"
	"io"
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
	xmlDeclare = onUse(`^\s*<\?xml\b[^>]*\?>`)
	xmlCharset = onUse(`\bencoding\s*=\s*["']([A-Za-z0-9._:-]+)["']`)
)

// maxMended is the most that a file and its copy in plain UTF-8 may hold together.
const maxMended = maxBytes

// plainXML is the file as UTF-8 without byte order mark and declaration, every
// character in it one that XML allows: bad bytes become question marks,
// control characters spaces. It is data itself where nothing had to be changed. The
// error is a [*RefusedError]: too much would have to be.
func plainXML(data []byte) (text []byte, err error) {
	text = data
	wide := wideCoding(data)
	if wide != nil {
		if text, err = mended(data, wide); err != nil {
			return nil, err
		}
	}
	text = bytes.TrimPrefix(text, bomUTF8)
	declared := xmlDeclare().Find(text[:min(len(text), 1024)])
	text = text[len(declared):]
	narrow := namedCoding(declared)
	if wide == nil && narrow != nil {
		if text, err = mended(text, narrow); err != nil {
			return nil, err
		}
	}
	own := wide != nil || narrow != nil
	return cleanXML(text, own)
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

// namedCoding is the coding that a declaration names, nil for UTF-8, for names
// that nobody knows and where none is named. A file that could be read up to its
// declaration is not UTF-16, whatever it says.
func namedCoding(declared []byte) encoding.Encoding {
	m := xmlCharset().FindSubmatch(declared)
	if m == nil {
		return nil
	}
	name := strings.ToLower(string(m[1]))
	if strings.HasPrefix(name, "utf") || strings.HasPrefix(name, "ucs") {
		return nil
	}
	coding, err := htmlindex.Get(name)
	if err != nil || coding == unicode.UTF8 {
		return nil
	}
	return coding
}

// recoded is data in UTF-8. It gives up at what it cannot read and keeps what
// came before: the file then shows as cut.
func recoded(data []byte, from encoding.Encoding) io.Reader {
	return from.NewDecoder().Reader(bytes.NewReader(data))
}

// mended is data in UTF-8. How much that takes is counted first, since a buffer
// that grows takes twice as much.
func mended(data []byte, from encoding.Encoding) ([]byte, error) {
	size, _ := io.Copy(io.Discard, recoded(data, from)) // what cannot be read ends it
	if int64(len(data))+size > maxMended {
		return nil, refused("save it as UTF-8, or "+splitFile, "%d MB that are not in UTF-8, too much to convert", len(data)>>20)
	}
	text, _ := drain(recoded(data, from), size)
	return text, nil
}

// cleanXML replaces what XML does not allow, byte for byte, so that a hostile
// file does not grow: in place where the bytes are its own. Files are nearly
// always clean: the first pass only looks.
func cleanXML(data []byte, own bool) ([]byte, error) {
	at := firstUnclean(data)
	if at < 0 {
		return data, nil
	}
	out := data
	if !own {
		if 2*len(data) > maxMended {
			return nil, refused("export the ride again, or "+splitFile, "%d MB with characters that XML does not allow, too much to mend", len(data)>>20)
		}
		out = bytes.Clone(data)
	}
	for rest := out; at >= 0; at = firstUnclean(rest) {
		_, size := utf8.DecodeRune(rest[at:])
		for i := range size {
			rest[at+i] = stopgap(rest[at+i])
		}
		rest = rest[at+size:]
	}
	return out, nil
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
