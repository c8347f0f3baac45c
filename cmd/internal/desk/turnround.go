package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"pawl/store"
	"pawl/wear"
)

// TurnRoundRequest is the check of bikes between two hires.
type TurnRoundRequest struct {
	Bikes  []string
	On, By string
	Note   string
	Marks  bool                   // the witness marks are intact: counts as a torque check
	Faults map[wear.Word][]string // what was not good: "brakes", "front-tyre: cut in the side"
}

// TurnedRound is what became of one bike's check.
type TurnedRound struct {
	Bike   wear.Bike
	Round  wear.TurnRound
	Faults []FoundFault
	Hold   wear.Hold // whether it has to stay in then
	Marked []string  // parts whose torque check the witness marks made
	Bare   []string  // bolts that were never torqued since they were fitted: a mark tells nothing
}

// FoundFault is a fault and the part that it is of.
type FoundFault struct {
	Fault wear.Fault
	Part  string
}

// TurnRound enters the checks of bikes between two hires, of all or of none. A
// fault is also a look at its part, and so asks for work or stops the bike.
func (d *Desk) TurnRound(ctx context.Context, req TurnRoundRequest) (done []TurnedRound, err error) {
	if plainText(req.By) == "" {
		return nil, mistake("--by NAME", "a turn-round check bears a name")
	}
	said := 0
	for _, list := range req.Faults {
		said += len(list)
	}
	if len(req.Bikes) > 1 && said > 0 {
		return nil, mistake("enter the bikes with faults one by one", "faults of %d bikes at once: whose they are is not said", len(req.Bikes))
	}
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		done = nil
		tx.Begin("look --turn-round", strings.Join(req.Bikes, " "), d.Who)
		for _, name := range req.Bikes {
			one, err := d.turnRound(tx, name, req)
			if err != nil {
				return err
			}
			done = append(done, one)
		}
		return nil
	})
	return done, err
}

func (d *Desk) turnRound(tx *store.Tx, name string, req TurnRoundRequest) (done TurnedRound, err error) {
	b, at, err := d.bikeAndDay(tx, name, req.On)
	if err != nil {
		return done, err
	}
	done.Bike = b
	parts, err := tx.PartsOn(b.ID, at)
	if err != nil {
		return done, err
	}
	if done.Faults, err = faultsOf(b, parts, req.Faults); err != nil {
		return done, err
	}
	round := wear.TurnRound{Bike: b.ID, At: at, By: plainText(req.By), Note: plainText(req.Note)}
	for _, f := range done.Faults {
		round.Faults = append(round.Faults, f.Fault)
		said := slices.DeleteFunc([]string{string(f.Fault.Point), f.Fault.Note}, func(s string) bool { return s == "" })
		note := strings.TrimSuffix("turn-round: "+strings.Join(said, ", "), ": ")
		if _, err := tx.AddLook(wear.Look{Part: f.Fault.Part, Bike: b.ID, At: at, Word: f.Fault.Word, Note: note, By: round.By}); err != nil {
			return done, err
		}
	}
	if req.Marks {
		if err := markBolts(tx, &done, parts, round); err != nil {
			return done, err
		}
	}
	if done.Round, err = tx.AddTurnRound(round); err != nil {
		return done, err
	}
	c, err := tx.Case(b.ID, at)
	if err != nil {
		return done, err
	}
	done.Hold, err = holdOf(tx, c, wear.AssessOnly(c, wear.Default(), wear.Stop))
	return done, err
}

// faultsOf reads what was not good, in the order of the points.
func faultsOf(b wear.Bike, parts []wear.Part, said map[wear.Word][]string) (list []FoundFault, err error) {
	for _, word := range wear.Words {
		for _, text := range said[word] {
			f, err := faultOf(b, parts, text)
			if err != nil {
				return nil, err
			}
			f.Fault.Word = word
			list = append(list, f)
		}
	}
	slices.SortStableFunc(list, func(x, y FoundFault) int {
		return slices.Index(wear.Points, x.Fault.Point) - slices.Index(wear.Points, y.Fault.Point)
	})
	return list, nil
}

// faultOf reads "tyres: note", "front-tyre: note" or either without a note.
func faultOf(b wear.Bike, parts []wear.Part, text string) (f FoundFault, err error) {
	what, note, _ := strings.Cut(text, ":")
	what, f.Fault.Note = strings.ToLower(strings.TrimSpace(what)), plainText(strings.TrimSpace(note))
	on := func(kind string) *wear.Part {
		i := slices.IndexFunc(parts, func(p wear.Part) bool { return p.Kind == kind || strings.EqualFold(p.Name, kind) })
		if i < 0 {
			return nil
		}
		return &parts[i]
	}
	p := on(what)
	switch point := wear.Point(what); {
	case slices.Contains(wear.Points, point):
		f.Fault.Point = point
		p, err = partOfPoint(b, point, on)
	case p == nil:
		err = mistake("a point is one of "+words(wear.Points)+", or a kind of part of this bike: --unsafe \"front-tyre: cut\"",
			"%q: neither a point of a turn-round nor a part of bike %q", plainText(what), b.Name)
	default:
		f.Fault.Point = pointOf(p.Kind)
	}
	if err != nil {
		return f, err
	}
	f.Fault.Part, f.Part = p.ID, p.Name
	return f, nil
}

// partOfPoint is the part that a point is about, where there can be only one.
func partOfPoint(b wear.Bike, point wear.Point, on func(string) *wear.Part) (*wear.Part, error) {
	var has []string
	for _, kind := range point.Kinds() {
		if on(kind) != nil {
			has = append(has, kind)
		}
	}
	switch {
	case len(has) == 0:
		return nil, refusal(fmt.Sprintf("pawl bike hold %q --by NAME --reason WHY keeps it in", b.Name),
			"%s: bike %q has no part in the book that this could be of", point, b.Name)
	case len(has) > 1 && point.Ambiguous():
		return nil, mistake("say which: "+strings.Join(has, ", "), "%s: could be of %d parts of bike %q", point, len(has), b.Name)
	}
	return on(has[0]), nil
}

// pointOf is the first point that is about a kind of part; empty where none is.
func pointOf(kind string) wear.Point {
	for _, p := range wear.Points {
		if slices.Contains(p.Kinds(), kind) {
			return p
		}
	}
	return ""
}

func words[T ~string](list []T) string {
	out := make([]string, len(list))
	for i, w := range list {
		out[i] = string(w)
	}
	return strings.Join(out, ", ")
}

// markBolts signs off the torque check of bolts by their witness marks: of those
// that somebody has set with a tool since they were fitted.
func markBolts(tx *store.Tx, done *TurnedRound, parts []wear.Part, round wear.TurnRound) error {
	for _, p := range parts {
		kind, _ := wear.Default().Kind(p.Kind)
		job, ok := kind.Job(string(wear.ActCheck))
		if !ok || job.Act != wear.ActCheck || !slices.Contains(wear.PointMarks.Kinds(), p.Kind) || faulty(done.Faults, p.ID) {
			continue
		}
		set, err := torqued(tx, p, round.At)
		if err != nil {
			return err
		}
		if !set {
			done.Bare = append(done.Bare, p.Name)
			continue
		}
		if _, err := tx.AddSignOff(wear.SignOff{
			Part: p.ID, Bike: round.Bike, At: round.At, Job: job.Name, By: round.By, Note: "turn-round", Witness: true,
		}); err != nil {
			return err
		}
		done.Marked = append(done.Marked, p.Name)
	}
	return nil
}

func faulty(faults []FoundFault, part wear.ID) bool {
	return slices.ContainsFunc(faults, func(f FoundFault) bool { return f.Fault.Part == part })
}

// torqued reports whether bolts were checked with a tool since they were last
// fitted: only then a witness mark can tell that they have not moved.
func torqued(tx *store.Tx, p wear.Part, at wear.Instant) (bool, error) {
	stays, err := tx.StaysOf(p.ID)
	if err != nil {
		return false, err
	}
	since := wear.Ever
	for _, s := range stays {
		if s.Holds(at) {
			since = s.From
		}
	}
	done, err := tx.SignOffs(p.ID)
	return slices.ContainsFunc(done, func(s wear.SignOff) bool {
		return !s.Void && !s.Declined && !s.Witness && s.Job == string(wear.ActCheck) && s.At >= since && s.At <= at
	}), err
}

// TurnRoundSheet is what a paper to tick off is printed from.
type TurnRoundSheet struct {
	Today wear.Instant
	Bikes []SheetBike
}

// SheetBike is one line of the paper.
type SheetBike struct {
	Bike  wear.Bike
	Last  wear.Instant // turn-round; Ever = none
	Hold  wear.Hold
	Watch []string // parts of which the last look says watch
}

// TurnRoundPaper gathers the bikes of a paper to tick off: those named, else those
// that are hired out, of one depot where it is named. Retired bikes are left out.
func (d *Desk) TurnRoundPaper(ctx context.Context, names []string, depot, today string) (sheet TurnRoundSheet, err error) {
	err = d.Book.View(ctx, func(tx *store.Tx) error {
		sheet = TurnRoundSheet{}
		if sheet.Today, err = d.today(today, tx.Zone()); err != nil {
			return err
		}
		bikes, err := findBikes(tx, names)
		if err != nil {
			return err
		}
		if err := (BikeFilter{Depot: depot}).meant(bikes); err != nil {
			return err
		}
		for _, b := range bikes {
			if depot != "" && !strings.EqualFold(b.Depot, depot) || len(names) == 0 && !b.Fleet {
				continue
			}
			line, out, err := sheetBike(tx, b, sheet.Today)
			if err != nil {
				return err
			}
			if !out {
				sheet.Bikes = append(sheet.Bikes, line)
			}
		}
		return nil
	})
	if err == nil && len(sheet.Bikes) == 0 {
		err = refusal("name bikes, or pawl bike change BIKE --fleet", "no bike is hired out that a turn-round could be of")
	}
	return sheet, err
}

func sheetBike(tx *store.Tx, b wear.Bike, today wear.Instant) (line SheetBike, retired bool, err error) {
	c, err := tx.Case(b.ID, today)
	if err != nil {
		return line, false, err
	}
	rounds, err := tx.TurnRounds(b.ID)
	if err != nil {
		return line, false, err
	}
	is, _ := c.Standing()
	line = SheetBike{Bike: b, Last: wear.Ever}
	for _, r := range rounds {
		if !r.Void && r.At <= today {
			line.Last = max(line.Last, r.At)
		}
	}
	for _, w := range watched(c) {
		line.Watch = append(line.Watch, w.Part)
	}
	line.Hold, err = holdOf(tx, c, wear.AssessOnly(c, wear.Default(), wear.Stop))
	return line, is == wear.Retired, err
}
