package wear

import (
	"bytes"
	"fmt"
	"path"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// Match says by what the rides of a bike are told. All that is set must hold.
type Match struct {
	Folder  string `toml:"folder,omitempty"`  // the file lies in it or below; written with slashes
	File    string `toml:"file,omitempty"`    // pattern of the file's name, as path.Match has them; case does not matter
	Device  string `toml:"device,omitempty"`  // serial number or name of the recording device
	Profile string `toml:"profile,omitempty"` // the device's own name for the bike or sport profile
	Sensor  string `toml:"sensor,omitempty"`  // as SensorKey says it, or its number alone
	Indoor  *bool  `toml:"indoor,omitempty"`  // ridden indoors, or not
}

// ParseMatch reads the text of a setting of the name SettingMatch.
func ParseMatch(text string) (m Match, err error) {
	d := toml.NewDecoder(strings.NewReader(text)).DisallowUnknownFields()
	if err := d.Decode(&m); err != nil {
		return m, fmt.Errorf("match: %w", err)
	}
	return m, m.check()
}

// Text is the match as a setting keeps it.
func (m Match) Text() (string, error) {
	var b bytes.Buffer
	err := toml.NewEncoder(&b).Encode(m)
	return b.String(), err
}

// check refuses what can hold for nothing.
func (m Match) check() error {
	if m == (Match{}) {
		return fmt.Errorf("match: says nothing")
	}
	if _, err := path.Match(m.File, "x"); err != nil {
		return fmt.Errorf("match: file %q: not a pattern", m.File)
	}
	if strings.Contains(m.File, "/") {
		return fmt.Errorf("match: file %q: a name, not a path", m.File)
	}
	return nil
}

// String says the match in words: `folder "/rides/anna", indoors`.
func (m Match) String() string {
	var words []string
	for _, w := range []struct{ name, text string }{
		{"folder", m.Folder}, {"file", m.File}, {"device", m.Device}, {"profile", m.Profile}, {"sensor", m.Sensor},
	} {
		if w.text != "" {
			words = append(words, fmt.Sprintf("%s %q", w.name, w.text))
		}
	}
	if m.Indoor != nil {
		words = append(words, map[bool]string{true: "indoors", false: "outdoors"}[*m.Indoor])
	}
	return strings.Join(words, ", ")
}

// holds reports whether all that the match says is so.
func (m Match) holds(c Clues) bool {
	return (m.Folder == "" || below(c.Folder, m.Folder)) &&
		(m.File == "" || fileMatches(m.File, c.File)) &&
		(m.Device == "" || sameDevice(m.Device, c.Device)) &&
		(m.Profile == "" || sameName(m.Profile, c.Profile)) &&
		(m.Sensor == "" || namesOne(m.Sensor, c.Sensors)) &&
		(m.Indoor == nil || *m.Indoor == c.Indoor)
}

// below reports whether folder is dir or lies in it.
func below(folder, dir string) bool {
	folder, dir = path.Clean(folder), path.Clean(dir)
	return folder == dir || strings.HasPrefix(folder, strings.TrimSuffix(dir, "/")+"/")
}

func fileMatches(pattern, name string) bool {
	ok, err := path.Match(strings.ToLower(pattern), strings.ToLower(name))
	return ok && err == nil
}

// sameDevice reports whether text is the device's serial number or its name.
func sameDevice(text string, s Sensor) bool {
	if s.Serial != 0 && text == fmt.Sprint(s.Serial) {
		return true
	}
	return sameName(text, s.Name)
}

// sameName compares names without case, spaces and signs; an empty one is like none.
func sameName(a, b string) bool {
	a, b = plain(a), plain(b)
	return a != "" && a == b
}

func plain(name string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(" \t-_.,'\"()", r) {
			return -1
		}
		return r
	}, strings.ToLower(name))
}

func namesOne(text string, sensors []Sensor) bool {
	for _, s := range sensors {
		if k, ok := s.Key(); ok && k.Names(text) {
			return true
		}
	}
	return false
}

// breadth orders matches that hold for one ride: the narrower wins.
func (m Match) breadth() (conditions, depth int) {
	for _, set := range []bool{m.Folder != "", m.File != "", m.Device != "", m.Profile != "", m.Sensor != "", m.Indoor != nil} {
		if set {
			conditions++
		}
	}
	return conditions, strings.Count(path.Clean(m.Folder), "/")
}
