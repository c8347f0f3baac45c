package ingest

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
)

// Bounds of what the streaming reader puts up with.
const (
	maxDepth   = 200       // elements within elements
	maxMending = 1_000     // places of broken XML that are stepped over
	maxTag     = 128 << 10 // bytes of one tag, text or comment: attributes grow thirtyfold
)

// What the decoder takes, about, for a token and for each attribute.
const (
	tokenBytes = 150
	attrBytes  = 300
)

// What no ride file has. Both end the reading.
var (
	// errDeep is returned when elements nest too deeply.
	errDeep = errors.New("elements nested too deeply")
	// errLong is returned when a tag, a text or a comment is longer than maxTag:
	// the decoder would keep it whole, and some of it twice.
	errLong = fmt.Errorf("a text of more than %d kB without a tag", maxTag>>10)
)

// xmlVisitor is told of the elements of an XML file in their order. Names are
// local ones, without prefix; path ends in the element itself and is only lent.
type xmlVisitor interface {
	open(path []string, attrs []xml.Attr)
	// shut gets the text between the element's last child, or its start, and
	// its end, without the space around it.
	shut(path []string, text string)
}

// xmlReport says what became of a file on the way.
type xmlReport struct {
	cut    bool // the file ends before its root element does
	mended int  // places of broken XML that were stepped over
}

// xmlWalk walks over XML as real files have it: elements that are never
// closed, bare ampersands, attributes without quotes. What a strict parser
// would refuse as a whole costs here at most the element in which it stands.
type xmlWalk struct {
	v    xmlVisitor
	path []string
	text []byte
	broom
	xmlReport
}

// walkXML reads all of data, which must be UTF-8 without a declaration (see
// [plainXML]). The error is errDeep, errLong or nil.
func walkXML(data []byte, v xmlVisitor) (xmlReport, error) {
	w := &xmlWalk{v: v, broom: broomFor(len(data))}
	for len(data) > 0 {
		used, err := w.run(data)
		if errors.Is(err, errDeep) || errors.Is(err, errLong) {
			return w.xmlReport, err
		}
		if err == nil {
			break
		}
		data = afterBreak(data, used)
		if len(data) > 0 {
			w.mended++
		}
		if w.mended > maxMending {
			w.cut = true
			break
		}
	}
	w.cut = w.cut || len(w.path) > 0
	return w.xmlReport, nil
}

// run reads until the end (nil) or until the XML breaks, and says how far it got.
func (w *xmlWalk) run(data []byte) (used int64, err error) {
	r := &tokenReader{data: data}
	d := xml.NewDecoder(r)
	d.Strict = false
	for {
		r.left = maxTag
		token, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			return d.InputOffset(), nil
		}
		if err == nil {
			err = w.token(token)
		}
		if err != nil {
			return d.InputOffset(), err
		}
	}
}

// tokenReader gives the decoder the bytes of one token at a time, and no more
// than are left for it.
type tokenReader struct {
	data []byte
	left int
}

// ReadByte implements io.ByteReader.
func (r *tokenReader) ReadByte() (byte, error) {
	switch {
	case len(r.data) == 0:
		return 0, io.EOF
	case r.left == 0:
		return 0, errLong
	}
	c := r.data[0]
	r.data = r.data[1:]
	r.left--
	return c, nil
}

// Read implements io.Reader. The decoder asks for single bytes only.
func (r *tokenReader) Read(p []byte) (n int, err error) {
	for n < len(p) {
		if p[n], err = r.ReadByte(); err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}

// afterBreak is what follows the next start of a tag behind the broken place.
// At least one byte is given up, so that mending always comes to an end.
func afterBreak(data []byte, used int64) []byte {
	from := min(max(int(used), 1), len(data))
	next := bytes.IndexByte(data[from:], '<')
	if next < 0 {
		return nil
	}
	return data[from+next:]
}

func (w *xmlWalk) token(t xml.Token) error {
	switch t := t.(type) {
	case xml.StartElement:
		w.drop(tokenBytes + attrBytes*len(t.Attr))
		if len(w.path) == maxDepth {
			return errDeep
		}
		w.path = append(w.path, t.Name.Local)
		w.text = w.text[:0]
		w.v.open(w.path, t.Attr)
	case xml.EndElement:
		w.drop(tokenBytes)
		w.shut(t.Name.Local)
	case xml.CharData:
		w.drop(tokenBytes + len(t))
		if len(w.text)+len(t) > maxTag { // in pieces, with comments between
			return errLong
		}
		w.text = append(w.text, t...)
	}
	return nil
}

// shut ends the innermost element of that name together with all within it
// that were left open. An end without a start is passed over.
func (w *xmlWalk) shut(name string) {
	at := len(w.path) - 1
	for at >= 0 && w.path[at] != name {
		at--
	}
	if at < 0 {
		return
	}
	for len(w.path) > at {
		w.v.shut(w.path, string(bytes.TrimSpace(w.text)))
		w.text = w.text[:0]
		w.path = w.path[:len(w.path)-1]
	}
}

// attr is the value of the attribute with that local name.
func attr(attrs []xml.Attr, name string) (string, bool) {
	for _, a := range attrs {
		if a.Name.Local == name {
			return a.Value, true
		}
	}
	return "", false
}

// longestTag is the most bytes from a "<" to its ">", comments among them.
func longestTag(text []byte) int {
	longest := 0
	for {
		from := bytes.IndexByte(text, '<')
		if from < 0 {
			return longest
		}
		text = text[from:]
		end := bytes.IndexByte(text, '>')
		if end < 0 {
			return max(longest, len(text))
		}
		longest = max(longest, end)
		text = text[end:]
	}
}
