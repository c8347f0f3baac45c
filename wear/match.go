package wear

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
)

// Match says by what the rides of a bike are told. All that is set must hold.
type Match struct {
	Folder  string `toml:"folder,omitempty"`  // the file lies in it or below
	File    string `toml:"file,omitempty"`    // pattern of the file's name, as path.Match has them; case does not matter
	Device  string `toml:"device,omitempty"`  // serial number or name of the recording device
	Profile string `toml:"profile,omitempty"` // the device's own name for the bike or sport profile
	Sensor  string `toml:"sensor,omitempty"`  // one bolted to the bike: as SensorKey says it, or its number alone
	Indoor  *bool  `toml:"indoor,omitempty"`  // ridden indoors, or not
}

// ParseMatch reads the text of a setting of the name SettingMatch. It refuses
// what says nothing, and what can hold for no ride.
func ParseMatch(text string) (Match, error) {
	var m Match
	if err := decodeStrict([]byte(text), "match", &m); err != nil {
		return Match{}, err
	}
	if err := m.check(); err != nil {
		return Match{}, err
	}
	return m, nil
}

// Text is the match as a setting keeps it, for [ParseMatch] to read. It refuses
// what that would refuse.
func (m Match) Text() (string, error) {
	if err := m.check(); err != nil {
		return "", err
	}
	var b bytes.Buffer
	if err := toml.NewEncoder(&b).Encode(m); err != nil {
		return "", fmt.Errorf("match: %w", err)
	}
	return b.String(), nil
}

// term is a text of a match, and what it is of.
type term struct{ name, text string }

// terms are the texts that are set.
func (m Match) terms() []term {
	all := []term{
		{"folder", m.Folder}, {"file", m.File}, {"device", m.Device}, {"profile", m.Profile}, {"sensor", m.Sensor},
	}
	return slices.DeleteFunc(all, func(t term) bool { return t.text == "" })
}

// check refuses what can hold for nothing.
func (m Match) check() error {
	if m == (Match{}) {
		return errors.New("match: says nothing")
	}
	for _, t := range m.terms() {
		if why := t.wrong(); why != "" {
			return fmt.Errorf("match: %s %q: %s", t.name, t.text, why)
		}
	}
	return nil
}

// wrong says why a text can hold for nothing; "" where it can.
func (t term) wrong() string {
	if !utf8.ValidString(t.text) {
		return "not text"
	}
	switch t.name {
	case "folder":
		if dir := slashed(t.text); dir == "." || dir == ".." || strings.HasPrefix(dir, "../") {
			return "name the folder itself"
		}
	case "file":
		return wrongPattern(t.text)
	case "sensor":
		if !namesBolted(t.text) {
			return `not a sensor bolted to a bike, such as "shifter 4711", "shifter ANT 12" or "4711"`
		}
	default:
		if plain(t.text) == "" {
			return "not a name"
		}
	}
	return ""
}

func wrongPattern(pattern string) string {
	if strings.Contains(pattern, "/") {
		return "a name, not a path"
	}
	if _, err := path.Match(strings.ToLower(pattern), ""); err != nil {
		return "not a pattern"
	}
	return ""
}

// String says the match in words: `folder "/rides/anna", indoors`.
func (m Match) String() string {
	var words []string
	for _, t := range m.terms() {
		words = append(words, fmt.Sprintf("%s %q", t.name, t.text))
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

// alone reports whether a match says that one thing and nothing else.
func (m Match) alone(name string) bool {
	terms := m.terms()
	return m.Indoor == nil && len(terms) == 1 && terms[0].name == name
}

// narrower is above 0 where m is narrower than o: it says more, or as much and
// names the deeper folder. Of two matches that hold for one ride the narrower wins.
func (m Match) narrower(o Match) int {
	return cmp.Or(m.conditions()-o.conditions(), depth(m.Folder)-depth(o.Folder))
}

func (m Match) conditions() int {
	n := len(m.terms())
	if m.Indoor != nil {
		n++
	}
	return n
}

// depth is how many folders a path names.
func depth(folder string) int {
	return len(strings.FieldsFunc(slashed(folder), func(r rune) bool { return r == '/' }))
}

// below reports whether folder is dir or lies in it.
func below(folder, dir string) bool {
	folder, dir = slashed(folder), slashed(dir)
	return folder == dir || strings.HasPrefix(folder, strings.TrimSuffix(dir, "/")+"/")
}

// slashed is a path as any system writes it, with slashes. With a drive letter
// it is one of a system to which case does not matter.
func slashed(folder string) string {
	folder = path.Clean(strings.ReplaceAll(folder, `\`, "/"))
	if len(folder) > 1 && folder[1] == ':' {
		return strings.ToLower(folder)
	}
	return folder
}

func fileMatches(pattern, name string) bool {
	ok, err := path.Match(strings.ToLower(pattern), strings.ToLower(name))
	return ok && err == nil
}

// sameDevice reports whether text is the device's serial number or its name.
func sameDevice(text string, s Sensor) bool {
	return isSerial(s.Serial) && strings.TrimSpace(text) == fmt.Sprint(s.Serial) || sameName(text, s.Name)
}

// sameName compares names without case, spaces and punctuation; one that is
// empty without them is like none.
func sameName(a, b string) bool {
	a, b = plain(a), plain(b)
	return a != "" && a == b
}

func plain(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || unicode.IsPunct(r) {
			return -1
		}
		return unicode.ToLower(r)
	}, name)
}

// namesOne reports whether text names one of the sensors bolted to the bike.
func namesOne(text string, sensors []Sensor) bool {
	return slices.ContainsFunc(bolted(sensors), func(k SensorKey) bool { return k.Names(text) })
}
