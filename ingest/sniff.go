package ingest

import (
	"bytes"
	"fmt"
	"strings"

	"pawl/wear"
)

const knownFormats = "pawl reads FIT, GPX and TCX files and tables of rides or odometer readings, also in zip and gzip"

// packed are formats that may hold rides once they are unpacked.
var packed = []struct{ magic, why, hint string }{
	{"PK\x03\x04", "a zip archive", "unpack it first, then import the folder"},
	{"7z\xBC\xAF\x27\x1C", "a 7z archive", "unpack it first, then import the folder"},
	{"Rar!", "a rar archive", "unpack it first, then import the folder"},
	{"BZh", "a file compressed by bzip2", "decompress it first"},
	{"\xFD7zXZ", "a file compressed by xz", "decompress it first"},
	{"\x28\xB5\x2F\xFD", "a file compressed by zstd", "decompress it first"},
}

// strangers are formats that are often beside ride files.
var strangers = []struct{ magic, why string }{
	{"%PDF", "a PDF, not a ride file"},
	{"\xFF\xD8\xFF", "a picture, not a ride file"},
	{"\x89PNG", "a picture, not a ride file"},
	{"SQLite format 3", "a database, not a ride file"},
}

// roots are XML formats that are often beside ride files, by the local name of
// their root element.
var roots = map[string]error{
	"kml":  &RefusedError{Why: "a KML file: it keeps no times of a ride", Hint: "export the ride as FIT or GPX"},
	"html": &RefusedError{Why: "a web page, not a ride file", Hint: "log in to the site and download the file again"},
}

// rootTag finds the first start tag, past declarations and comments that the
// caller has cut off.
var rootTag = onUse(`^<(?:[\pL_][\pL\pN_.-]*:)?([\pL_][\pL\pN_.-]*)`)

// sniff tells the format of decompressed bytes.
func sniff(data []byte) (wear.Format, readFunc, error) {
	switch {
	case len(data) == 0:
		return wear.Typed, nil, refused(copyAgain, "the file is empty")
	case isFIT(data):
		return wear.FIT, readFIT, nil
	case len(bytes.Trim(data, "\x00 \t\r\n")) == 0:
		return wear.Typed, nil, refused(copyAgain, "the file holds nothing but zeros or spaces")
	}
	for _, p := range packed {
		if bytes.HasPrefix(data, []byte(p.magic)) {
			return wear.Typed, nil, refused(p.hint, "%s", p.why)
		}
	}
	for _, s := range strangers {
		if bytes.HasPrefix(data, []byte(s.magic)) {
			return wear.Typed, nil, &NotRideError{s.why, knownFormats}
		}
	}
	return sniffXML(data)
}

// isFIT reports a FIT header: its size, then ".FIT" at the eighth byte.
func isFIT(data []byte) bool {
	return len(data) >= 12 && validHeaderSize(data[0]) && string(data[8:12]) == ".FIT"
}

func sniffXML(data []byte) (wear.Format, readFunc, error) {
	head, _ := plainXML(data[:min(len(data), 1<<16)]) // it is too short to be refused
	root := rootName(head)
	switch root {
	case "gpx":
		return wear.GPX, readGPX, nil
	case "trainingcenterdatabase":
		return wear.TCX, readTCX, nil
	}
	if err, ok := roots[root]; ok {
		return wear.Typed, nil, err
	}
	if root != "" {
		return wear.Typed, nil, &NotRideError{fmt.Sprintf("XML, but neither GPX nor TCX: its root is <%s>", root), knownFormats}
	}
	if isTable(data) {
		return wear.Table, noTracks, nil
	}
	return wear.Typed, nil, &NotRideError{"not a ride file", knownFormats}
}

// rootName is the local name of the root element in lower case, "" where the
// bytes begin like no XML.
func rootName(text []byte) string {
	for {
		text = bytes.TrimSpace(text)
		switch {
		case bytes.HasPrefix(text, []byte("<!--")):
			_, text, _ = bytes.Cut(text, []byte("-->"))
		case bytes.HasPrefix(text, []byte("<?")):
			_, text, _ = bytes.Cut(text, []byte("?>"))
		case bytes.HasPrefix(text, []byte("<!")):
			if bytes.HasPrefix(bytes.ToLower(text[:min(len(text), 14)]), []byte("<!doctype html")) {
				return "html"
			}
			if end, subset := bytes.IndexByte(text, '>'), bytes.IndexByte(text, '['); subset >= 0 && subset < end {
				_, text, _ = bytes.Cut(text, []byte("]")) // entities of its own, which are not looked up
			}
			_, text, _ = bytes.Cut(text, []byte(">"))
		default:
			m := rootTag().FindSubmatch(text)
			if m == nil {
				return ""
			}
			return strings.ToLower(string(m[1]))
		}
	}
}
