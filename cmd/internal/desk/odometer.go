package desk

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// counted is a number and its noun: "1 ride", "12 rides".
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// startOfDay is the first instant of the day of an instant.
func startOfDay(at wear.Instant, zone *time.Location) wear.Instant {
	y, m, d := at.Time().In(zone).Date()
	return wear.StartOfDay(y, m, d, zone)
}

// The least rests between two readings that become a ride: less is the
// circumference of the wheel being set a little wrong, or the last figure of an
// hour meter (common practice, no published source).
const (
	leastRest  = 50_000     // cm
	leastHours = 6 * 60_000 // ms
)

// meters enters readings of the meters of one bike and settles what lies
// between them.
type meters struct {
	tx       *store.Tx
	learn    *learner
	bike     wear.Bike
	list     []wear.Odometer // all readings of the bike, those taken back too
	warnings []string
}

func newMeters(tx *store.Tx, learn *learner, bike wear.Bike) (*meters, error) {
	list, err := tx.Odometers(bike.ID)
	return &meters{tx: tx, learn: learn, bike: bike, list: list}, err
}

func (d *Desk) metersOf(tx *store.Tx, bike wear.Bike) (*meters, error) {
	return newMeters(tx, d.learnerOf(tx), bike)
}

// after is the reading of the same meter behind one of the list, nil where that
// is the last.
func (m *meters) after(o wear.Odometer) *wear.Odometer {
	chain := wear.Readings(m.list, o.Of)
	if i := slices.IndexFunc(chain, func(k wear.Odometer) bool { return k.ID == o.ID }); i >= 0 && i+1 < len(chain) {
		return &chain[i+1]
	}
	return nil
}

// change replaces a reading of the list and settles what that moves.
func (m *meters) change(o wear.Odometer) error {
	before := wear.Gaps(m.list)
	m.list = slices.Clone(m.list)
	m.list[slices.IndexFunc(m.list, func(k wear.Odometer) bool { return k.ID == o.ID })] = o
	if err := m.tx.ChangeOdometer(o); err != nil {
		return err
	}
	_, err := m.settle(before)
	return err
}

// add enters readings that were taken together, and returns the rides that are
// left between them and their neighbours. The error is errSame where all are in
// the book already.
func (m *meters) add(readings ...wear.Odometer) (rests []wear.RideID, err error) {
	before, fresh := wear.Gaps(m.list), 0
	for _, o := range readings {
		err := m.enter(o)
		if err == nil {
			fresh++
		} else if !errors.Is(err, errSame) {
			return nil, err
		}
	}
	if fresh == 0 {
		return nil, errSame
	}
	return m.settle(before)
}

// enter writes one reading down, or corrects the one of the same moment and figure.
func (m *meters) enter(o wear.Odometer) error {
	others := m.list
	if i := m.same(o); i >= 0 {
		old := m.list[i]
		if o = corrected(old, o); o == old {
			return errSame
		}
		others = slices.Delete(slices.Clone(m.list), i, i+1)
	}
	if err := m.fits(others, o); err != nil {
		return err
	}
	if o.ID != 0 {
		m.list = append(others, o)
		return m.tx.ChangeOdometer(o)
	}
	o, err := m.tx.AddOdometer(o)
	m.list = append(m.list, o)
	return err
}

// corrected is a reading that is in the book and is told again: what is said of
// it adds up, whichever was told first. To say that a meter is not new, undo.
func corrected(old, o wear.Odometer) wear.Odometer {
	o.ID, o.Ride = old.ID, old.Ride
	o.At = max(o.At, old.At) // it was today, when the day was not over
	o.Replaced, o.Opening = o.Replaced || old.Replaced, o.Opening || old.Opening
	if old.Opening {
		o.At = old.At // its parts came then
	}
	o.Began = max(o.Began, old.Began)
	o.Climb, o.Minutes = cmp.Or(o.Climb, old.Climb), cmp.Or(o.Minutes, old.Minutes)
	return o
}

// same is the place of a reading of the same day that shows the same, -1 where
// there is none: nothing was ridden between the two.
func (m *meters) same(o wear.Odometer) int {
	return slices.IndexFunc(m.list, func(k wear.Odometer) bool {
		return !k.Void && k.Of == o.Of && k.Shows() == o.Shows() &&
			(k.At == o.At || day(k.At, m.tx.Zone()) == day(o.At, m.tx.Zone()) && k.Replaced == o.Replaced)
	})
}

// fits refuses a reading by which the meter would have run back.
func (m *meters) fits(others []wear.Odometer, o wear.Odometer) error {
	zone := m.tx.Zone()
	if o.Began > 0 && !o.Replaced || o.Began > o.Shows() {
		return refusal("check both figures", "the %s began at %s and shows %s: cannot be", meterNoun(o), showed(o, o.Began), showed(o, o.Shows()))
	}
	near := wear.RunsBack(others, o)
	switch {
	case near == nil:
		return nil
	case near.At < o.At || near.At == o.At && near.Shows() > o.Shows():
		return refusal("check the figure; a new one is told by yes in a column new, or by --new-odometer or --new-hour-meter; --void takes back what was misread before",
			"the %s runs back: %s on %s, %s here", meterNoun(o), showed(o, near.Shows()), day(near.At, zone), showed(o, o.Shows()))
	}
	return refusal("check the figure; where the later one is of a new "+meterNoun(o)+", enter that again and say new",
		"the %s runs back: %s here, %s on %s", meterNoun(o), showed(o, o.Shows()), showed(o, near.Shows()), day(near.At, zone))
}

func meterNoun(o wear.Odometer) string {
	if o.Of == wear.HourMeter {
		return "hour meter"
	}
	return "odometer"
}

// showed is a figure of a meter.
func showed(o wear.Odometer, figure int64) string {
	if o.Of == wear.HourMeter {
		return fmt.Sprintf("%.1f h", float64(figure)/60)
	}
	return km(figure)
}

// settle makes, changes or takes back the rests of those gaps that are others
// than before.
func (m *meters) settle(before []wear.Gap) (rests []wear.RideID, err error) {
	after := wear.Gaps(m.list)
	for _, g := range before {
		still := slices.ContainsFunc(after, func(o wear.Gap) bool { return o.After.ID == g.After.ID })
		if still || g.After.Ride == (wear.RideID{}) {
			continue
		}
		if err := m.nothing(g.After); err != nil {
			return nil, err
		}
	}
	for _, g := range after {
		if slices.Contains(before, g) {
			continue
		}
		id, err := m.settleGap(g)
		if err != nil {
			return nil, err
		}
		if id != (wear.RideID{}) {
			rests = append(rests, id)
		}
	}
	return rests, nil
}

// settleGap makes the ride that is left between two readings: what the meters
// say less the rides that are known. A rest below zero is a question. The ride
// is none where nothing is left.
func (m *meters) settleGap(g wear.Gap) (id wear.RideID, err error) {
	known, err := m.knownIn(g)
	if err != nil {
		return id, err
	}
	rest, left := restOf(g, known)
	if below := m.below(g, left); below != "" {
		zone := m.tx.Zone()
		m.warnings = append(m.warnings, fmt.Sprintf("bike %q: its rides from %s to %s are %s longer than its %s says: is one of another bike?",
			m.bike.Name, day(g.Before.At, zone), day(g.After.At, zone), below, meterNoun(g.After)))
	}
	if g.Metres >= 0 && left < leastRest || g.Metres < 0 && left < leastHours {
		return id, m.nothing(g.After)
	}
	m.hasty(g, left)
	return m.putRest(g.After, rest)
}

// below says how much less than nothing is left, "" where it may be the meter's
// own roughness.
func (m *meters) below(g wear.Gap, left int64) string {
	switch {
	case g.Metres >= 0 && left < -leastRest:
		return km(-left / 100)
	case g.Metres < 0 && left < -leastHours:
		return showed(g.After, -left/60_000)
	}
	return ""
}

// restOf is what is left of a gap beside the known rides, and how much that is
// by its meter: cm, or ms of an hour meter.
func restOf(g wear.Gap, known wear.Load) (rest ingest.Given, left int64) {
	rest = ingest.Given{Km: math.NaN(), Climb: math.NaN(), Descent: math.NaN(), Hours: math.NaN()}
	hours := g.Minutes*60_000 - known[wear.Moving]
	if g.Minutes >= 0 && hours > 0 {
		rest.Hours = float64(hours) / 3.6e6
	}
	if climb := g.Climb*100 - known[wear.Climb]; g.Climb >= 0 && climb > 0 {
		rest.Climb = float64(climb) / 100
	}
	if g.Metres < 0 {
		return rest, hours
	}
	left = g.Metres*100 - known[wear.Distance]
	rest.Km = float64(left) / 1e5
	if rest.Km < slowestRest*rest.Hours {
		rest.Hours = math.NaN() // the hours are not of this way
	}
	return rest, left
}

// slowestRest is the slowest mean of a rest, in km/h; see also ingest.Typed for
// the fastest (common practice, no published source).
const slowestRest = 1

// knownIn is the load of the counted rides within a gap, rests not among them.
func (m *meters) knownIn(g wear.Gap) (known wear.Load, err error) {
	filter := store.RideFilter{Bike: &m.bike.ID, From: g.Before.At + 1, To: g.After.At + 1}
	for r, err := range m.tx.Rides(filter) {
		if err != nil {
			return known, err
		}
		if r.State == wear.Counted && !r.Ground.Indoor() && !m.isRest(r.ID) {
			known = known.Add(r.Total())
		}
	}
	return known, nil
}

// isRest reports whether a ride is what a meter leaves: a reading names it.
func (m *meters) isRest(id wear.RideID) bool { return restIn(m.list, id) }

func restIn(list []wear.Odometer, id wear.RideID) bool {
	return slices.ContainsFunc(list, func(o wear.Odometer) bool { return o.Ride == id })
}

// isRest reports whether a ride is what a meter of its bike leaves.
func isRest(tx *store.Tx, r wear.Ride) (bool, error) {
	if r.Bike == 0 || r.Format != wear.Table {
		return false, nil
	}
	list, err := tx.Odometers(r.Bike)
	return restIn(list, r.ID), err
}

// nothingLeft is the note of a rest that the known rides have used up.
const nothingLeft = "the known rides are all that the odometer says"

// nothing takes back the ride of a reading of which nothing is left.
func (m *meters) nothing(o wear.Odometer) error {
	if o.Ride == (wear.RideID{}) {
		return nil
	}
	r, err := m.tx.Ride(o.Ride)
	if err != nil || r.State != wear.Counted {
		return err
	}
	r.State = wear.Void
	r.Notes = append(r.Notes, nothingLeft)
	return m.tx.ChangeRide(r)
}

// putRest makes or changes the ride that is the rest of a reading.
func (m *meters) putRest(o wear.Odometer, rest ingest.Given) (id wear.RideID, err error) {
	r, err := m.restRide(o, rest)
	if err != nil {
		return id, err
	}
	if o.Ride != (wear.RideID{}) {
		old, err := m.tx.Ride(o.Ride)
		if err != nil {
			return id, err
		}
		r.ID, r.Ground, r.Marked = old.ID, old.Ground, old.Marked
		if old.State != wear.Counted && !slices.Contains(old.Notes, nothingLeft) {
			r.State = old.State // the user took it back
		}
		return r.ID, m.tx.ChangeRide(r)
	}
	if err := usualGround(m.tx, &r); err != nil {
		return id, err
	}
	known, err := m.tx.AddRide(r, wear.Gears{})
	if err != nil {
		return id, err
	}
	o.Ride = r.ID
	if known { // of a reading that was taken back and is entered again
		return m.putRest(o, rest)
	}
	m.list[slices.IndexFunc(m.list, func(k wear.Odometer) bool { return k.ID == o.ID })] = o
	return r.ID, m.tx.ChangeOdometer(o)
}

func (m *meters) restRide(o wear.Odometer, rest ingest.Given) (wear.Ride, error) {
	out, err := m.learn.typed(m.bike, rest)
	figures := []float64{float64(o.Metres)}
	if o.Of == wear.HourMeter {
		figures = []float64{float64(o.Ran), 0, 0} // no row of a table has so many
	}
	if o.Replaced {
		figures = append(figures, 1, 1, 1)
	}
	return wear.Ride{
		ID: ingest.TableRideID(m.bike.ID, o.At, figures...), Bike: m.bike.ID, Start: o.At, Elapsed: out.Elapsed,
		Rule: wear.Told, Format: wear.Table, Version: ingest.SumsVersion,
		Recorded: out.Recorded, Estimated: out.Estimated, Lacking: out.Lacking, Notes: out.Notes,
		Title: meterNoun(o) + " at " + showed(o, o.Shows()),
	}, err
}

// settleRides settles the meters of the bikes of rides that came, went or
// changed, where they lie between two readings.
func (d *Desk) settleRides(tx *store.Tx, rides []wear.Ride) error {
	done := map[[2]uint64]bool{} // bike, reading
	for _, r := range rides {
		if r.Bike == 0 {
			continue
		}
		m, err := d.metersOf(tx, wear.Bike{ID: r.Bike})
		if err != nil {
			return err
		}
		if len(m.list) < 2 || m.isRest(r.ID) {
			continue
		}
		if m.bike, err = tx.Bike(r.Bike); err != nil {
			return err
		}
		for _, g := range wear.Gaps(m.list) {
			key := [2]uint64{uint64(r.Bike), g.After.ID}
			if !(g.Before.At < r.Start && r.Start <= g.After.At) || done[key] {
				continue
			}
			done[key] = true
			if _, err := m.settleGap(g); err != nil {
				return err
			}
		}
		d.Warnings = append(d.Warnings, m.warnings...)
	}
	return nil
}

func km(metres int64) string { return fmt.Sprintf("%.1f km", float64(metres)/1000) }

func day(at wear.Instant, zone *time.Location) string { return at.Time().In(zone).Format(dateForm) }
