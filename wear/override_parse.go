package wear

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// The policies for chain, ring and cassette: change the chain early so that
// the dear parts last, or run all three out and change them together.
const (
	SaveCassette   = "save-cassette"
	RunOutTogether = "run-out-together"
)

// rawOverrides is a file of overrides as the parser sees it.
type rawOverrides struct {
	Job    []rawOverride `toml:"job,omitempty"`
	Ground []rawFactors  `toml:"ground,omitempty"`
	Policy []rawPolicy   `toml:"policy,omitempty"`
}

type rawOverride struct {
	Kind      string      `toml:"kind"`
	Job       string      `toml:"job"`
	Model     string      `toml:"model,omitempty"`
	Bike      string      `toml:"bike,omitempty"`
	Part      string      `toml:"part,omitempty"`
	First     *rawCounts  `toml:"first,omitempty"`
	Then      *rawCounts  `toml:"then,omitempty"`
	Soon      *rawCounts  `toml:"soon,omitempty"`
	SoonAfter *[]string   `toml:"soon_after,omitempty"`
	After     *[]string   `toml:"after,omitempty"`
	Expect    *rawCounts  `toml:"expect,omitempty"`
	Reading   *rawReading `toml:"reading,omitempty"`
	Torque    []string    `toml:"torque,omitempty"`
	Advice    string      `toml:"advice,omitempty"`
	Minutes   int         `toml:"minutes,omitempty"`
	Source    string      `toml:"source,omitempty"`
}

// rawReading has only what differs from the schedule's limit.
type rawReading struct {
	New       *float64 `toml:"new,omitempty"`
	Due       *float64 `toml:"due,omitempty"`
	Stop      *float64 `toml:"stop,omitempty"`
	FleetStop *float64 `toml:"fleet_stop,omitempty"`
	Stamped   *bool    `toml:"stamped,omitempty"`
}

type rawFactors struct {
	Kind     string   `toml:"kind"`
	Model    string   `toml:"model,omitempty"`
	Bike     string   `toml:"bike,omitempty"`
	Part     string   `toml:"part,omitempty"`
	Unmarked *float64 `toml:"unmarked,omitempty"`
	Dry      *float64 `toml:"dry,omitempty"`
	Dusty    *float64 `toml:"dusty,omitempty"`
	Gritty   *float64 `toml:"gritty,omitempty"`
	Wet      *float64 `toml:"wet,omitempty"`
	Mud      *float64 `toml:"mud,omitempty"`
	Trainer  *float64 `toml:"trainer,omitempty"`
	Rollers  *float64 `toml:"rollers,omitempty"`
	Source   string   `toml:"source,omitempty"`
}

type rawPolicy struct {
	Bike       string  `toml:"bike,omitempty"`
	Drivetrain string  `toml:"drivetrain,omitempty"`
	LeadDays   float64 `toml:"lead_days,omitempty"`
	Source     string  `toml:"source,omitempty"`
}

// on returns a limit with what the reading gives in its place.
func (r *rawReading) on(l Limit) Limit {
	for _, f := range []struct {
		to   *float64
		from *float64
	}{{&l.New, r.New}, {&l.Due, r.Due}, {&l.Stop, r.Stop}, {&l.FleetStop, r.FleetStop}} {
		if f.from != nil {
			*f.to = *f.from
		}
	}
	if r.Stamped != nil {
		l.Stamped = *r.Stamped
	}
	return l
}

// block is one table of a file of overrides.
type block struct {
	table string
	index int
	scope Scope
	key   string // kind or model; the name of the bike or part
	text  rawOverrides
	over  *override
}

// wrongBlock is what is wrong with a block, and at which of its words.
type wrongBlock struct {
	table string
	index int
	word  string // "" = the whole block
	err   error
}

func (w *wrongBlock) Error() string { return w.err.Error() }
func (w *wrongBlock) Unwrap() error { return w.err }

// wrongAt names the word of a block that an error is about.
func wrongAt(word string, format string, args ...any) *wrongBlock {
	return &wrongBlock{word: word, err: fmt.Errorf(format, args...)}
}

// blocks checks every block against the schedule.
func (raw *rawOverrides) blocks() ([]block, error) {
	var list []block
	add := func(table string, i int, b block, w *wrongBlock) error {
		if w == nil && slices.ContainsFunc(list, b.same) {
			w = wrongAt("", "said twice in this file for the same %s", b.scope)
		}
		if w != nil {
			w.table, w.index = table, i
			return w
		}
		b.table, b.index = table, i
		list = append(list, b)
		return nil
	}
	for i, o := range raw.Job {
		b, w := o.block()
		if err := add("job", i, b, w); err != nil {
			return nil, err
		}
	}
	for i, o := range raw.Ground {
		b, w := o.block()
		if err := add("ground", i, b, w); err != nil {
			return nil, err
		}
	}
	for i, o := range raw.Policy {
		b, w := o.block()
		if err := add("policy", i, b, w); err != nil {
			return nil, err
		}
	}
	return list, nil
}

func (b *block) same(o block) bool {
	return b.scope == o.scope && strings.EqualFold(b.key, o.key) && b.over.kind == o.over.kind && b.over.job == o.over.job
}

// scope says what a block holds for by the one name it gives.
func scope(kind, model, bike, part string) (Scope, string, *wrongBlock) {
	scope, key := ForKind, kind
	for _, n := range []struct {
		scope Scope
		name  string
	}{{ForModel, model}, {ForBike, bike}, {ForPart, part}} {
		if n.name == "" {
			continue
		}
		if scope != ForKind {
			return "", "", wrongAt(string(n.scope), "%s %q beside %s %q: name one of model, bike and part", n.scope, n.name, scope, key)
		}
		scope, key = n.scope, n.name
	}
	return scope, key, nil
}

// kindsOf are the kinds that a name means: one, or the front and the rear one
// of a family.
func (s *Schedule) kindsOf(name string) ([]*Kind, *wrongBlock) {
	var list []*Kind
	for i := range s.kinds {
		if k := &s.kinds[i]; k.Name == name || k.Family == name {
			list = append(list, k)
		}
	}
	if name == "" {
		return nil, wrongAt("", "no kind: write kind = \"chain\" or the like")
	}
	if len(list) == 0 {
		return nil, wrongAt("kind", "kind %q: not in the schedule%s", name, s.near(name))
	}
	return list, nil
}

// mostOverrides is the size of a file of overrides that no mechanic writes.
const mostOverrides = 1 << 20

// ParseOverrides reads what a mechanic writes to differ from the schedule, in
// the schedule's own words: one setting for each [[job]] (figures of a job),
// [[ground]] (factors of a kind) and [[policy]] (of a bike, or of all), in the
// order of the file. A block holds for a kind unless it names a model, a bike
// or a part. Settings have neither ID nor instant; those for a bike or a part
// have its name in Key, for the caller to put its ID in Of and clear Key. File
// stands in errors, which give line and column, and in Setting.File.
func ParseOverrides(b []byte, file string) ([]Setting, error) {
	if len(b) > mostOverrides {
		return nil, fmt.Errorf("%s: %d bytes: too long for a file of overrides", file, len(b))
	}
	var raw rawOverrides
	if err := decodeStrict(b, file, &raw); err != nil {
		return nil, err
	}
	blocks, err := raw.blocks()
	var wrong *wrongBlock
	if errors.As(err, &wrong) {
		return nil, fmt.Errorf("%s:%s: %w", file, wrong.place(b), err)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	if len(blocks) == 0 {
		return nil, fmt.Errorf("%s: holds nothing: write a [[job]], [[ground]] or [[policy]]", file)
	}
	var list []Setting
	for _, k := range blocks {
		text, err := toml.Marshal(k.text)
		if err != nil {
			return nil, fmt.Errorf("%s: %s %d: %w", file, k.table, k.index+1, err)
		}
		list = append(list, Setting{Name: SettingSchedule, Scope: k.scope, Key: k.key, Text: string(text), File: file})
	}
	return list, nil
}

// place finds line and column of a block, or of a word in it. The parser tells
// places only of what it does not know, so it is asked twice: for the blocks,
// and for the words in them.
func (w *wrongBlock) place(b []byte) string {
	heads, words := unknowns(b, &struct{}{}), unknowns(b, &struct{ Job, Ground, Policy []struct{} }{})
	heads = slices.DeleteFunc(heads, func(e toml.DecodeError) bool { return len(e.Key()) != 1 || e.Key()[0] != w.table })
	if w.index >= len(heads) {
		return "1:1"
	}
	row, col := heads[w.index].Position()
	end := math.MaxInt
	if w.index+1 < len(heads) {
		end, _ = heads[w.index+1].Position()
	}
	for _, e := range words {
		key := e.Key()
		if r, c := e.Position(); r >= row && r < end && len(key) > 1 && key[0] == w.table && key[1] == w.word {
			row, col = r, c
			break
		}
	}
	return fmt.Sprintf("%d:%d", row, cmp.Or(col, 1))
}

// unknowns are the places of all that v has no field for.
func unknowns(b []byte, v any) []toml.DecodeError {
	err := toml.NewDecoder(bytes.NewReader(b)).DisallowUnknownFields().Decode(v)
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) {
		return strict.Errors
	}
	return nil
}
