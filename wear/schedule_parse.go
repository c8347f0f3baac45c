package wear

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"sync/atomic"

	"github.com/pelletier/go-toml/v2"
)

// The file as the parser sees it. Zero is absent in every figure but a
// reading's new, where it is also the right value.
type rawSchedule struct {
	LeadDays    float64                       `toml:"lead_days"`
	MissedHours float64                       `toml:"missed_hours"`
	FleetTimes  float64                       `toml:"fleet_times"`
	EarlyShare  float64                       `toml:"early_share"`
	Assumed     rawAssumed                    `toml:"assumed"`
	Source      map[string]string             `toml:"source"`
	Caution     map[string]string             `toml:"caution"`
	Ground      map[string]map[string]float64 `toml:"ground"`
	Kind        []rawKind                     `toml:"kind"`
}

type rawAssumed struct {
	Ring      float64 `toml:"ring"`
	Idler     float64 `toml:"idler"`
	Pulley    float64 `toml:"pulley"`
	BusyCog   float64 `toml:"busy_cog"`
	BusyShare float64 `toml:"busy_share"`
}

type rawKind struct {
	Name        string   `toml:"name"`
	Positions   bool     `toml:"positions"`
	Title       string   `toml:"title"`
	Ground      string   `toml:"ground"`
	FrontGround string   `toml:"front_ground"`
	On          string   `toml:"on"`
	MidMotor    float64  `toml:"mid_motor"`
	Job         []rawJob `toml:"job"`
}

type rawJob struct {
	Name        string    `toml:"name"`
	Act         Act       `toml:"act"`
	Title       string    `toml:"title"`
	Safety      bool      `toml:"safety"`
	First       rawCounts `toml:"first"`
	Then        rawCounts `toml:"then"`
	Soon        rawCounts `toml:"soon"`
	SoonAfter   []string  `toml:"soon_after"`
	After       []string  `toml:"after"`
	Expect      rawCounts `toml:"expect"`
	Reading     *rawLimit `toml:"reading"`
	When        []rawWhen `toml:"when"`
	RestartedBy []string  `toml:"restarted_by"`
	DoneBy      []string  `toml:"done_by"`
	Evidence    []string  `toml:"evidence"`
	Advice      string    `toml:"advice"`
	Caution     string    `toml:"caution"`
	Source      string    `toml:"source"`
	Minutes     int       `toml:"minutes"`
}

type rawWhen struct {
	Is        []Condition `toml:"is"`
	First     rawCounts   `toml:"first"`
	Then      rawCounts   `toml:"then"`
	Soon      rawCounts   `toml:"soon"`
	SoonAfter []string    `toml:"soon_after"`
	After     []string    `toml:"after"`
	Expect    rawCounts   `toml:"expect"`
	Reading   *rawLimit   `toml:"reading"`
	Advice    string      `toml:"advice"`
	Source    string      `toml:"source"`
}

type rawCounts struct {
	LongRides float64 `toml:"long_rides,omitempty"`
	Rides     float64 `toml:"rides,omitempty"`
	Turns     float64 `toml:"turns,omitempty"`
	Hours     float64 `toml:"hours,omitempty"`
	Km        float64 `toml:"km,omitempty"`
	MJ        float64 `toml:"MJ,omitempty"`
	Days      float64 `toml:"days,omitempty"`
	Idler     float64 `toml:"idler_turns,omitempty"`
	Pulley    float64 `toml:"pulley_turns,omitempty"`
	Contacts  float64 `toml:"contacts,omitempty"`
}

type rawLimit struct {
	Of        ReadingOf `toml:"of"`
	New       float64   `toml:"new"`
	Due       float64   `toml:"due"`
	Stop      float64   `toml:"stop"`
	FleetStop float64   `toml:"fleet_stop"`
	Stamped   bool      `toml:"stamped"`
}

// ParseSchedule reads a whole schedule from TOML; name stands in errors, which
// give line and column of what the file must not hold.
func ParseSchedule(b []byte, name string) (*Schedule, error) {
	var raw rawSchedule
	if err := decodeStrict(b, name, &raw); err != nil {
		return nil, err
	}
	s := &Schedule{LeadDays: raw.LeadDays, MissedHours: raw.MissedHours, FleetTimes: raw.FleetTimes,
		EarlyShare: raw.EarlyShare, Assumed: Assumed(raw.Assumed), index: map[string]int{}}
	for i := range raw.Kind {
		if err := s.addKind(&raw, &raw.Kind[i]); err != nil {
			return nil, fmt.Errorf("%s: kind %q: %w", name, raw.Kind[i].Name, err)
		}
	}
	s.restarts, s.carries = restarting(s.kinds), carrying(s.kinds)
	if err := s.check(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return s, nil
}

// decodeStrict reads TOML and puts file, line and column before its errors.
func decodeStrict(b []byte, name string, v any) error {
	err := toml.NewDecoder(bytes.NewReader(b)).DisallowUnknownFields().Decode(v)
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		row, col := strict.Errors[0].Position()
		key := strict.Errors[0].Key()
		return fmt.Errorf("%s:%d:%d: %s: no such setting%s", name, row, col, strings.Join(key, "."), nearWord(v, key))
	}
	var dec *toml.DecodeError
	if errors.As(err, &dec) {
		row, col := dec.Position()
		return fmt.Errorf("%s:%d:%d: %s", name, row, col, strings.TrimPrefix(dec.Error(), "toml: "))
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// nearWord is a hint at the word of the file's table that was meant.
func nearWord(v any, key []string) string {
	t := reflect.TypeOf(v)
	for i := 0; ; i++ {
		for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice || t.Kind() == reflect.Map {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct || i == len(key) {
			return ""
		}
		fields := map[string]reflect.Type{}
		for _, f := range reflect.VisibleFields(t) {
			word, _, _ := strings.Cut(f.Tag.Get("toml"), ",")
			fields[word] = f.Type
		}
		next, known := fields[key[i]]
		if !known {
			if n := Nearest(key[i], slices.Sorted(maps.Keys(fields))); n != "" {
				return " (did you mean " + n + "?)"
			}
			return ""
		}
		t = next
	}
}

func (s *Schedule) addKind(raw *rawSchedule, k *rawKind) error {
	positions := []string{""}
	if k.Positions {
		positions = []string{"front", "rear"}
	}
	for _, pos := range positions {
		kind, err := raw.kind(k, pos)
		if err != nil {
			return err
		}
		if _, taken := s.index[kind.Name]; taken {
			return errors.New("named twice")
		}
		s.index[kind.Name] = len(s.kinds)
		s.kinds = append(s.kinds, kind)
	}
	return nil
}

func (raw *rawSchedule) kind(k *rawKind, pos string) (Kind, error) {
	kind := Kind{Name: k.Name, Family: k.Name, Position: pos, MidMotor: max(1, k.MidMotor)}
	kind.Title = strings.ReplaceAll(k.Title, "{pos}", pos)
	kind.CarriedBy = raw.placed(k.On, pos)
	ground := k.Ground
	if pos != "" {
		kind.Name = pos + "-" + k.Name
	}
	if pos == "front" && k.FrontGround != "" {
		ground = k.FrontGround
	}
	var err error
	if kind.Factors, err = raw.factors(ground); err != nil {
		return kind, err
	}
	for i := range k.Job {
		j, err := raw.job(&k.Job[i], pos)
		if err != nil {
			return kind, fmt.Errorf("job %q: %w", k.Job[i].Name, err)
		}
		kind.Jobs = append(kind.Jobs, j)
	}
	return kind, nil
}

func (raw *rawSchedule) factors(ground string) (f [NGrounds]float64, err error) {
	table, ok := raw.Ground[ground]
	if !ok || ground == "" {
		return f, fmt.Errorf("ground %q: not among the ground factors", ground)
	}
	for g := range NGrounds {
		v, ok := table[g.String()]
		if !ok || !(v >= 0 && v <= mostFactor) {
			return f, fmt.Errorf("ground %q: needs a factor of 0 or more for %s", ground, g)
		}
		f[g] = v
	}
	if len(table) != int(NGrounds) {
		return f, fmt.Errorf("ground %q: has a ground that is none of %v", ground, groundNames)
	}
	return f, nil
}

func (raw *rawSchedule) job(j *rawJob, pos string) (Job, error) {
	at := func(s string) string { return strings.ReplaceAll(s, "{pos}", pos) }
	job := Job{Name: j.Name, Act: j.Act, Title: at(j.Title), Safety: j.Safety, DoneBy: j.DoneBy,
		Advice: at(j.Advice), Minutes: j.Minutes}
	for _, k := range j.RestartedBy {
		job.RestartedBy = append(job.RestartedBy, raw.placed(k, pos))
	}
	var err error
	if job.Source, err = keyed(raw.Source, "source", j.Source); err != nil {
		return job, err
	}
	if j.Caution != "" {
		if job.Caution, err = keyed(raw.Caution, "caution", j.Caution); err != nil {
			return job, err
		}
	}
	if job.Evidence, err = events(j.Evidence); err != nil {
		return job, err
	}
	if len(job.Evidence) > 0 {
		job.evidence = ", and " + sayEvents(job.Evidence)
	}
	base := rawWhen{First: j.First, Then: j.Then, Soon: j.Soon, SoonAfter: j.SoonAfter, After: j.After, Expect: j.Expect, Reading: j.Reading}
	if job.Interval, err = base.interval(); err != nil {
		return job, err
	}
	for _, w := range j.When {
		v := Variant{Is: w.Is, NoAfter: w.After != nil && len(w.After) == 0, Advice: at(w.Advice)}
		if v.Interval, err = w.interval(); err != nil {
			return job, err
		}
		if w.Source != "" {
			if v.Source, err = keyed(raw.Source, "source", w.Source); err != nil {
				return job, err
			}
		}
		if slices.ContainsFunc(w.Is, func(c Condition) bool { return c == IsFront || c == IsRear }) {
			if slices.Contains(w.Is, Condition(pos)) {
				job.Interval = job.Interval.with(v.Interval)
			}
			continue // known here, so not left to each part
		}
		job.Variants = append(job.Variants, v)
	}
	if n := len(job.Variants); n <= mostResolved {
		job.resolved = make([]atomic.Pointer[rule], 1<<n)
	}
	return job, nil
}

// placed is the kind of that name, or the one of the family at pos.
func (raw *rawSchedule) placed(name, pos string) string {
	i := slices.IndexFunc(raw.Kind, func(k rawKind) bool { return k.Name == name })
	if i >= 0 && raw.Kind[i].Positions && pos != "" {
		return pos + "-" + name
	}
	return name
}

func keyed(table map[string]string, noun, key string) (string, error) {
	if v, ok := table[key]; ok {
		return v, nil
	}
	return "", fmt.Errorf("%s %q: not in the table of them", noun, key)
}

func (w *rawWhen) interval() (iv Interval, err error) {
	iv = Interval{First: w.First.list(), Then: w.Then.list(), Soon: w.Soon.list(), Expect: w.Expect.list()}
	if w.Reading != nil {
		l := Limit(*w.Reading)
		iv.Reading = &l
	}
	if iv.After, err = events(w.After); err != nil {
		return iv, err
	}
	iv.SoonAfter, err = events(w.SoonAfter)
	return iv, err
}

func events(words []string) ([]Event, error) {
	var list []Event
	for _, w := range words {
		e, err := ParseEvent(w)
		if err != nil {
			return nil, err
		}
		list = append(list, e)
	}
	return list, nil
}

func (c rawCounts) list() []Count {
	all := []Count{{CountLong, c.LongRides}, {CountRides, c.Rides}, {CountTurns, c.Turns}, {CountHours, c.Hours}, {CountKm, c.Km},
		{CountBraking, c.MJ}, {CountIdler, c.Idler}, {CountPulley, c.Pulley}, {CountContacts, c.Contacts}, {CountDays, c.Days}}
	var list []Count
	for _, n := range all {
		if n.Limit != 0 {
			list = append(list, Count{n.Of, n.Limit * countKinds[n.Of].scale})
		}
	}
	return list
}
