package desk

import (
	"fmt"
	"math"
	"time"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// opening is what a row says that the odometer showed when the bike came into the
// book: a reading of that day, by which the parts came with so much done. What
// was ridden before that day is in it, and counts for no part once more.
type opening struct {
	said   bool
	dated  bool // the row says the day, else it is now
	metres int64
	at     wear.Instant
	column string
}

// maxOpening is the most km that a bike has done.
const maxOpening = 200_000

// opening reads the odometer of a row.
func (l *listReader) opening(row ingest.ListRow) (o opening, err error) {
	day, dated, err := row.Day("on")
	if err != nil {
		return o, wrongCell(row, "on", "the day of the odometer %v", err)
	}
	o.at, o.dated, o.column = wear.At(l.Now), dated, "odometer"
	unit := 1.0
	v, said, err := figureIn(row, "odometer", 0, maxOpening)
	if err == nil && !said {
		o.column, unit = "odometer mi", 1.609344 // the international mile
		v, said, err = figureIn(row, "odometer mi", 0, maxOpening)
	}
	switch {
	case err != nil:
		return o, err
	case dated && !said:
		return o, wrongCell(row, "on", "a day without what the odometer showed")
	case dated:
		if o.at, err = l.endOfDay(day); err != nil {
			return o, wrongCell(row, "on", "the day of the odometer %v", err)
		}
	}
	o.said, o.metres = said, int64(math.Round(v*unit*1000))
	return o, nil
}

// used is what the parts had done.
func (o opening) used() Used {
	u := Nothing()
	if o.metres > 0 {
		u.Km = float64(o.metres) / 1000
	}
	return u
}

func (o opening) reading(bike wear.ID) wear.Odometer {
	return wear.Odometer{Bike: bike, At: o.at, Metres: o.metres, Opening: true}
}

// String says what the odometer showed, and when.
func (o opening) String(zone *time.Location) string {
	return fmt.Sprintf("odometer %s on %s", km(o.metres), day(o.at, zone))
}

// correctOpening enters or corrects the opening figure of a bike that is in the
// book, where the row says otherwise, and says so.
func (l *listReader) correctOpening(row ingest.ListRow, b wear.Bike) (says []string, err error) {
	o, err := l.opening(row)
	if err != nil || !o.said {
		return nil, err
	}
	list, err := l.tx.Odometers(b.ID)
	if err != nil {
		return nil, err
	}
	var first *wear.Odometer
	for _, r := range list {
		switch {
		case r.Void || r.Of != wear.WayMeter:
		case r.Opening:
			return l.moveOpening(row, b, opened{r, o})
		case first == nil:
			first = &r
		}
	}
	if first == nil {
		return l.addOpening(row, b, o)
	}
	if first.Metres == o.metres && (!o.dated || sameDay(first.At, o.at, l.tx.Zone())) {
		return nil, nil
	}
	return nil, wrongCell(row, o.column, "the odometer is known since %s, when it showed %s: pawl import reads what it shows later",
		day(first.At, l.tx.Zone()), km(first.Metres))
}

func sameDay(a, b wear.Instant, zone *time.Location) bool { return day(a, zone) == day(b, zone) }

// addOpening enters the figure of a bike of which nothing is known up to then.
func (l *listReader) addOpening(row ingest.ListRow, b wear.Bike, o opening) ([]string, error) {
	stays, err := cameWith(l.tx, b.ID)
	if err != nil {
		return nil, err
	}
	why, err := l.knownBefore(b.ID, stays, wear.Ever, o.at)
	if err != nil {
		return nil, err
	}
	for r, err := range l.tx.Rides(store.RideFilter{Bike: &b.ID, From: wear.Ever, To: o.at + 1}) {
		if err != nil {
			return nil, err
		}
		if r.State == wear.Counted {
			why = "it was ridden on " + day(r.Start, l.tx.Zone())
			break
		}
	}
	for _, s := range stays {
		if s.Opening != (wear.Load{}) {
			why = "its parts came with what they had done"
		}
	}
	if why != "" {
		return nil, wrongCell(row, o.column, "what it had done when it came cannot be said for %s: %s; pawl import reads what the odometer shows later",
			day(o.at, l.tx.Zone()), why)
	}
	if _, err := l.tx.AddOdometer(o.reading(b.ID)); err != nil {
		return nil, err
	}
	return []string{o.String(l.tx.Zone())}, l.putOpening(b, stays, o)
}

// opened is an opening figure as it is and as a row has it.
type opened struct {
	is  wear.Odometer
	row opening
}

// moveOpening corrects an opening figure: how much it was, or its day.
func (l *listReader) moveOpening(row ingest.ListRow, b wear.Bike, o opened) ([]string, error) {
	was := opening{metres: o.is.Metres, at: o.is.At}
	if !o.row.dated || sameDay(o.row.at, was.at, l.tx.Zone()) {
		o.row.at = was.at
	}
	if o.row.metres == was.metres && o.row.at == was.at {
		return nil, nil
	}
	m, err := newMeters(l.tx, newLearner(l.tx), b)
	if err != nil {
		return nil, err
	}
	next := m.after(o.is)
	if next != nil && (o.row.at >= next.At || !next.Replaced && o.row.metres > next.Metres) {
		return nil, wrongCell(row, o.row.column, "the odometer runs back: %s on %s", km(next.Metres), day(next.At, l.tx.Zone()))
	}
	stays, err := cameWith(l.tx, b.ID)
	if err != nil {
		return nil, err
	}
	why, err := l.knownBefore(b.ID, stays, was.at, o.row.at)
	if err != nil {
		return nil, err
	}
	if why != "" {
		return nil, wrongCell(row, "on", "it came before %s: %s", day(o.row.at, l.tx.Zone()), why)
	}
	o.is.At, o.is.Metres = o.row.at, o.row.metres
	if err := l.putOpening(b, stays, o.row); err != nil {
		return nil, err
	}
	if err := m.change(o.is); err != nil {
		return nil, err
	}
	return []string{fmt.Sprintf("%s (was %s on %s)", o.row.String(l.tx.Zone()), km(was.metres), day(was.at, l.tx.Zone()))}, nil
}

// cameWith are the stays of the parts that came with a bike, on it or its wheels,
// as they were entered.
func cameWith(tx *store.Tx, bike wear.ID) (came []wear.Stay, err error) {
	hosted, err := tx.Hosted(bike)
	if err != nil {
		return nil, err
	}
	for _, s := range hosted {
		if !s.Came {
			continue
		}
		came = append(came, s)
		carried, err := tx.Hosted(s.Part)
		if err != nil {
			return nil, err
		}
		for _, c := range carried {
			if c.Came && c.From == s.From {
				came = append(came, c)
			}
		}
	}
	return came, nil
}

// putOpening lets the parts that came with a bike come on the day of its opening
// figure, with so much done.
func (l *listReader) putOpening(b wear.Bike, stays []wear.Stay, o opening) error {
	load := o.used().load(b)
	for _, s := range stays {
		moved := s
		moved.From, moved.Opening = o.at, load
		if err := l.tx.ChangeStay(s, moved); err != nil {
			return err
		}
	}
	return nil
}

// knownBefore says what is known of the parts that came with a bike after one
// instant and up to another, "" where nothing is: work on a part that was not
// there yet would be nobody's.
func (l *listReader) knownBefore(bike wear.ID, stays []wear.Stay, from, to wear.Instant) (why string, err error) {
	within := func(at wear.Instant) bool { return at > from && at <= to && to > from }
	tell := func(what string, at wear.Instant) {
		if within(at) {
			why = what + " on " + day(at, l.tx.Zone())
		}
	}
	on, err := l.tx.StaysOn(bike)
	if err != nil {
		return "", err
	}
	for _, s := range on {
		tell("a part was fitted", s.From)
		tell("a part came off", s.To)
	}
	incidents, err := l.tx.Incidents(bike)
	if err != nil {
		return "", err
	}
	for _, i := range incidents {
		tell("something happened to it", i.At)
	}
	for _, s := range stays {
		if err := l.workOn(s.Part, tell); err != nil {
			return "", err
		}
	}
	return why, nil
}

// workOn tells of what was measured, seen and done.
func (l *listReader) workOn(part wear.ID, tell func(string, wear.Instant)) error {
	readings, err := l.tx.Readings(part)
	if err != nil {
		return err
	}
	for _, r := range readings {
		tell("a part was measured", r.At)
	}
	looks, err := l.tx.Looks(part)
	if err != nil {
		return err
	}
	for _, k := range looks {
		tell("a part was looked at", k.At)
	}
	signOffs, err := l.tx.SignOffs(part)
	for _, s := range signOffs {
		tell("work on it was signed off", s.At)
	}
	return err
}
