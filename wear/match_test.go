package wear

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var (
	yes, no = true, false
	inside  = Match{Indoor: &yes}
	outside = Match{Indoor: &no}
)

func TestMatchHolds(t *testing.T) {
	c := Clues{
		Folder: "/rides/anna/2026", File: "Anna_2026-05-02.FIT", Profile: "Trail-Bike",
		Device:  Sensor{Serial: 900, Name: "Head Unit 5"},
		Sensors: []Sensor{{Type: 120, Serial: 77}, {Type: 17, Serial: 78}, {Type: typePower, Serial: 79}},
	}
	for _, tt := range []struct {
		m    Match
		want bool
	}{
		{Match{Folder: "/rides/anna"}, true},
		{Match{Folder: "/rides/anna/"}, true},
		{Match{Folder: "/rides//anna/2026/."}, true},
		{Match{Folder: "/"}, true},
		{Match{Folder: "/rides/ann"}, false},
		{Match{Folder: "/rides/annabel"}, false},
		{Match{Folder: "/rides/anna/2026/05"}, false},
		{Match{Folder: "/rides/Anna"}, false},
		{Match{Folder: "rides/anna"}, false},
		{Match{Folder: "anna"}, false},
		{Match{File: "anna_*.fit"}, true},
		{Match{File: "ANNA_????-05-*"}, true},
		{Match{File: "[A-B]*"}, true},
		{Match{File: "*.gpx"}, false},
		{Match{File: "anna"}, false},
		{Match{Device: "900"}, true},
		{Match{Device: "head-unit 5"}, true},
		{Match{Device: "90"}, false},
		{Match{Profile: "trail bike"}, true},
		{Match{Profile: "trail"}, false},
		{Match{Sensor: "power meter 79"}, true},
		{Match{Sensor: "79"}, true},
		{Match{Sensor: "77"}, false}, // a strap
		{Match{Sensor: "78"}, false}, // a trainer
		{outside, true},
		{inside, false},
		{Match{Folder: "/rides/anna", File: "*.fit", Indoor: &no}, true},
		{Match{Folder: "/rides/anna", File: "*.gpx", Indoor: &no}, false},
	} {
		assert.Equal(t, tt.want, tt.m.holds(c), tt.m)
		assert.NoError(t, tt.m.check(), tt.m)
	}
}

// A file that tells nothing fits no match but that of the indoors.
func TestMatchOfNothing(t *testing.T) {
	none := Clues{Device: Sensor{Serial: 65535}}
	for _, m := range []Match{{Folder: "/"}, {Folder: "rides"}, {File: "?*"}, {Device: "65535"}, {Profile: "x"}, {Sensor: "1"}, inside} {
		assert.False(t, m.holds(none), m)
	}
	assert.True(t, outside.holds(none))
}

func TestMatchFolders(t *testing.T) {
	for _, tt := range []struct {
		folder, dir string
		want        bool
	}{
		{"rides/anna", "rides", true},
		{"./rides/anna", "rides/", true},
		{"rides/annabel", "rides/anna", false},
		{"rides/anna/../bo", "rides/anna", false},
		{`C:\Rides\Anna\2026`, "c:/rides/anna", true},
		{"C:/rides/anna", `C:\rides\`, true},
		{"C:/rides/anna", `C:\`, true},
		{"C:/rides/annabel", `C:\rides\anna`, false},
		{"D:/rides/anna", `C:\rides`, false},
		{`\\box\share\anna`, `\\box\share`, true},
		{"/rides", "/rides/anna", false},
		{"", "/", false},
	} {
		assert.Equal(t, tt.want, below(tt.folder, tt.dir), "%q below %q", tt.folder, tt.dir)
	}
}

// A folder holds what lies in it, and nothing beside it whose name begins alike.
func TestMatchFolderEndsAtASlash(t *testing.T) {
	name := rapid.StringMatching(`[a-z]{1,3}( [a-z.é]{1,3})?`)
	rapid.Check(t, func(rt *rapid.T) {
		dir := "/" + strings.Join(rapid.SliceOfN(name, 1, 3).Draw(rt, "dir"), "/")
		more := name.Draw(rt, "more")
		assert.True(rt, below(dir, dir))
		assert.True(rt, below(dir+"/"+more, dir))
		assert.False(rt, below(dir+more, dir))
		assert.Positive(rt, Match{Folder: dir + "/" + more}.narrower(Match{Folder: dir}))
		assert.Zero(rt, Match{Folder: dir + "/"}.narrower(Match{Folder: dir}))
	})
}

func TestMatchNarrower(t *testing.T) {
	// each is narrower than the one before
	steps := []Match{{Folder: "/"}, {Folder: "/rides"}, {Folder: "/rides/anna"}, {File: "*.fit", Profile: "x"}, {Folder: "/", Device: "7", Indoor: &no}}
	for i, a := range steps {
		for j, b := range steps {
			assert.Equal(t, i > j, a.narrower(b) > 0, "%s than %s", a, b)
			assert.Equal(t, i == j, a.narrower(b) == 0, "%s as %s", a, b)
		}
	}
	assert.Zero(t, Match{Device: "7"}.narrower(outside))
}

func TestMatchIsRefused(t *testing.T) {
	for text, want := range map[string]string{
		"":                    "match: says nothing",
		"# nothing":           "match: says nothing",
		`folder = ""`:         "match: says nothing",
		`folder = "."`:        `match: folder ".": name the folder itself`,
		`folder = "a/../.."`:  `match: folder "a/../..": name the folder itself`,
		`file = "[a"`:         `match: file "[a": not a pattern`,
		`file = "a/*.fit"`:    `match: file "a/*.fit": a name, not a path`,
		`device = " - "`:      `match: device " - ": not a name`,
		`profile = "\t"`:      `match: profile "\t": not a name`,
		`sensor = "strap 7"`:  `match: sensor "strap 7": not a sensor bolted to a bike, such as "shifter 4711", "shifter ANT 12" or "4711"`,
		`sesnor = "4711"`:     "match:1:1: sesnor: no such setting (did you mean sensor?)",
		"folder = \"/a\"\nx=": "match:2:",
		`sensor = 4711`:       "match:1:",
		`indoor = "yes"`:      "match:1:",
		"folder = \"\xff\"":   "match:1:",
	} {
		m, err := ParseMatch(text)
		assert.ErrorContains(t, err, want, text)
		assert.Zero(t, m, text)
	}
	for _, sensor := range []string{"0", "65535", "4294967295", "4294967296", "ANT 0", "ANT 65535", "ANT 65536", "type-120 device 7", "shifter", "-1", "04711"} {
		assert.ErrorContains(t, Match{Sensor: sensor}.check(), "not a sensor", sensor)
	}
	_, err := Match{Folder: "/\xff"}.Text()
	assert.EqualError(t, err, `match: folder "/\xff": not text`)
}

// Whatever a match says, its text reads back as it was, or it is refused both ways.
func TestMatchTextReadsBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := drawMatch(rt)
		text, err := m.Text()
		if err != nil {
			assert.ErrorContains(rt, err, "match: ")
			assert.NotContains(rt, err.Error(), "\n")
			return
		}
		again, err := ParseMatch(text)
		require.NoError(rt, err, text)
		assert.Equal(rt, m, again)
		assert.Equal(rt, m.String(), again.String())
		assert.NotEmpty(rt, m.String())
	})
}

// Whatever the text, it is a match that can be kept, or an error of one line.
func TestMatchOfHostileText(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		key := rapid.SampledFrom([]string{"", "folder=", "file =", "indoor=", "sensor='''", "device=\"", "[profile]\n"}).Draw(rt, "key")
		m, err := ParseMatch(key + hostile.Draw(rt, "text"))
		if err != nil {
			assert.NotContains(rt, err.Error(), "\n")
			return
		}
		_, err = m.Text()
		assert.NoError(rt, err)
		m.holds(Clues{Folder: key, File: key, Profile: key})
	})
}

var hostile = rapid.OneOf(
	rapid.String(),
	rapid.StringMatching(`[\x00-\x7f]{0,12}`),
	rapid.Map(rapid.SliceOfN(rapid.Byte(), 0, 9), func(b []byte) string { return string(b) }),
	rapid.SampledFrom([]string{`"`, `"""`, "'''", "\r\n", `\u0000`, "\x1b[2J", "\u202e", `C:\rides`, "[", "a\\", strings.Repeat("*a", 300)}),
)

func drawMatch(rt *rapid.T) Match {
	text := rapid.OneOf(rapid.Just(""), hostile)
	return Match{
		Folder: text.Draw(rt, "folder"), File: text.Draw(rt, "file"), Device: text.Draw(rt, "device"), Profile: text.Draw(rt, "profile"),
		Sensor: rapid.SampledFrom([]string{"", "", "4711", "shifter ANT 12", "x"}).Draw(rt, "sensor"),
		Indoor: rapid.SampledFrom([]*bool{nil, &yes, &no}).Draw(rt, "indoor"),
	}
}
