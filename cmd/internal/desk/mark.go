package desk

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// RideChoice says which rides: by name, or those of a bike between two days.
type RideChoice struct {
	Rides    []string // ids, as short as they are plain
	Bike     string
	From, To string // days, both included; "" = open
}

// pick finds the chosen rides, in order of start.
func (d *Desk) pick(tx *store.Tx, c RideChoice) ([]wear.Ride, error) {
	var list []wear.Ride
	for _, name := range c.Rides {
		r, err := tx.FindRide(name)
		if err != nil {
			return nil, err
		}
		if !slices.ContainsFunc(list, func(o wear.Ride) bool { return o.ID == r.ID }) {
			list = append(list, r)
		}
	}
	if c.Bike == "" {
		if len(list) == 0 {
			return nil, mistake("name rides by their id (pawl ride list), or a bike with --bike and days with --from and --to", "no ride named")
		}
		return list, nil
	}
	b, err := tx.FindBike(c.Bike)
	if err != nil {
		return nil, err
	}
	filter := store.RideFilter{Bike: &b.ID, From: wear.Ever, To: wear.Never}
	if c.From != "" {
		at, err := parseInstant(c.From, tx.Zone())
		if err != nil {
			return nil, err
		}
		filter.From = startOfDay(at, tx.Zone())
	}
	if c.To != "" {
		at, err := parseInstant(c.To, tx.Zone())
		if err != nil {
			return nil, err
		}
		filter.To = at + 1
	}
	for r, err := range tx.Rides(filter) {
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	if len(list) == 0 {
		return nil, refusal("pawl ride list "+b.Name+" shows its rides", "bike %q: no rides on those days", b.Name)
	}
	return list, nil
}

// RideMarks are what a user says of rides; nil is not said.
type RideMarks struct {
	Ground *wear.Ground
	Uplift *wear.Uplift
	Apart  bool // no twin, but an outing of its own
}

// MarkRides marks rides with the ground they were on, or overrules what was
// found of lifts. Marks of lifts make the loads anew from the originals.
func (d *Desk) MarkRides(ctx context.Context, c RideChoice, m RideMarks) (n int, err error) {
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		rides, err := d.pick(tx, c)
		if err != nil {
			return err
		}
		if m.Apart && c.Bike != "" {
			rides = only(rides, wear.Twin)
		}
		n = len(rides)
		tx.Begin("ride mark", counted(n, "ride"), d.Who)
		for _, r := range rides {
			if !m.Apart { // a mark is of the outing: of the ride that counts for it
				if r, err = countsFor(tx, r); err != nil {
					return err
				}
			}
			anew, err := marked(tx, r, m)
			if err != nil {
				return err
			}
			if err := anew.put(tx); err != nil {
				return err
			}
		}
		return d.settleRides(tx, rides)
	})
	return n, err
}

// only are the rides of a state.
func only(rides []wear.Ride, state wear.State) []wear.Ride {
	return slices.DeleteFunc(rides, func(r wear.Ride) bool { return r.State != state })
}

func marked(tx *store.Tx, r wear.Ride, m RideMarks) (reduced, error) {
	if m.Apart {
		var err error
		if r, err = apart(tx, r); err != nil {
			return reduced{}, err
		}
	}
	if m.Ground != nil {
		if r.Ground.Indoor() != m.Ground.Indoor() && r.Ground.Indoor() {
			return reduced{}, refusal("mark it trainer or rollers", "ride %s: it was indoors", r.ID)
		}
		r.Ground, r.Marked = *m.Ground, wear.ByUser
		if *m.Ground == wear.Unmarked {
			r.Marked = wear.NotMarked
		}
	}
	if m.Uplift == nil {
		return reduced{Ride: r}, nil
	}
	if r.File == (wear.Hash{}) {
		return reduced{}, refusal("type what was ridden: pawl ride add", "ride %s: typed in, there are no lifts to find", r.ID)
	}
	r.Uplift = *m.Uplift
	bike, err := bikeOrNone(tx, r.Bike)
	if err != nil {
		return reduced{}, err
	}
	return reduceAnew(tx, r, bike)
}

// VoidRides takes rides back, so that they count nowhere, or lets them count
// again. Of a ride taken back that has a twin, the twin is offered.
func (d *Desk) VoidRides(ctx context.Context, c RideChoice, restore bool) (n int, err error) {
	want, verb, change := wear.Void, "ride void", d.voidRide
	if restore {
		want, verb, change = wear.Counted, "ride restore", d.restoreRide
	}
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		rides, err := d.pick(tx, c)
		if err != nil {
			return err
		}
		if restore && c.Bike != "" {
			rides = only(rides, wear.Void)
		}
		rides = slices.DeleteFunc(rides, func(r wear.Ride) bool { return r.State == want })
		n = len(rides)
		tx.Begin(verb, counted(n, "ride"), d.Who)
		for _, r := range rides {
			if err := change(tx, r); err != nil {
				return err
			}
		}
		return d.settleRides(tx, rides)
	})
	return n, err
}

func (d *Desk) voidRide(tx *store.Tx, r wear.Ride) error {
	r.State = wear.Void
	if err := tx.ChangeRide(r); err != nil {
		return err
	}
	return d.offerTwins(tx, r)
}

func (d *Desk) restoreRide(tx *store.Tx, r wear.Ride) error {
	if slices.Contains(r.Notes, nothingLeft) {
		return refusal("void one of the known rides first", "ride %s: %s", r.ID, nothingLeft)
	}
	if r.State == wear.Twin {
		winner, err := tx.Ride(r.Of)
		if err == nil && winner.State == wear.Counted {
			return refusal(fmt.Sprintf("take that one back first, or say they are two: pawl ride mark %s --not-twin", brief(r)),
				"ride %s: tells the same outing as ride %s, which counts", brief(r), brief(winner))
		}
	}
	was := r.Of
	r.State, r.Of = wear.Counted, wear.RideID{}
	if err := tx.ChangeRide(r); err != nil {
		return err
	}
	if was != (wear.RideID{}) {
		if err := takeOver(tx, was, r); err != nil {
			return err
		}
	}
	_, err := d.joinTwins(tx, r)
	return err
}

// takeOver makes the other twins of a ride that was taken back those of the one
// that counts instead.
func takeOver(tx *store.Tx, was wear.RideID, r wear.Ride) error {
	old, err := tx.Ride(was)
	if err != nil {
		return err
	}
	twins, err := twinsOf(tx, old)
	for _, o := range twins {
		if err := tx.ChangeRide(twinOf(o, r)); err != nil {
			return err
		}
	}
	return err
}

// RideChange is what a recount changed of a bike's rides.
type RideChange struct {
	Bike          string // "" = no bike yet
	Rides         int    // whose load changed
	Before, After wear.Load
}

// RecountResult is what a recount did.
type RecountResult struct {
	Looked  int // rides whose sums were made again
	Gone    int // rides without an original
	Changes []RideChange
}

// recountBatch is how many rides are written at once.
const recountBatch = 200

// Recount makes the loads of all rides anew that older rules made, from their
// originals: all rides where all is set. Rides of which only a few figures are
// known are brought to what is usual of such bikes now. With dry it only tells. It may be
// interrupted: what is left is found again.
func (d *Desk) Recount(ctx context.Context, all, dry bool) (RecountResult, error) {
	r := recounter{bikes: map[wear.ID]wear.Bike{}, changes: map[string]*RideChange{}, dry: dry}
	var rides []wear.RideID
	err := d.Book.View(ctx, func(tx *store.Tx) (err error) {
		bikes, err := tx.Bikes()
		if err != nil {
			return err
		}
		for _, b := range bikes {
			r.bikes[b.ID] = b
		}
		r.learn = newLearner(tx)
		rides, err = r.stale(tx, all)
		return err
	})
	if err != nil {
		return r.res, err
	}
	for batch := range slices.Chunk(rides, recountBatch) {
		var done []wear.Ride
		work := func(tx *store.Tx) (err error) {
			r.learn = d.learnerOf(tx)
			done, err = r.batch(tx, batch)
			return err
		}
		if dry {
			err = d.Book.View(ctx, work)
		} else {
			err = d.Book.Update(ctx, func(tx *store.Tx) error {
				tx.Begin("recount", counted(len(batch), "ride"), d.Who)
				if err := work(tx); err != nil {
					return err
				}
				return d.settleRides(tx, done)
			})
		}
		if err != nil {
			return r.res, err
		}
	}
	return r.result(), nil
}

// stale are the rides of files that older rules reduced, or all of files; and
// those without a file of which more is known now, see [learner].
func (c *recounter) stale(tx *store.Tx, all bool) (list []wear.RideID, err error) {
	for r, err := range tx.Rides(store.RideFilter{From: wear.Ever, To: wear.Never}) {
		if err != nil {
			return nil, err
		}
		old := r.File != (wear.Hash{}) && (all || r.Version < ingest.SumsVersion)
		if typedIn(r) && r.State == wear.Void {
			continue
		}
		if typedIn(r) {
			anew, err := c.learn.anew(r, c.bikes[r.Bike])
			if err != nil {
				return nil, err
			}
			old = anew.Ride.Estimated != r.Estimated || anew.Ride.Recorded != r.Recorded
		}
		if old {
			list = append(list, r.ID)
		}
	}
	return list, nil
}

// recounter makes rides anew and keeps what that changed.
type recounter struct {
	bikes   map[wear.ID]wear.Bike
	learn   *learner
	changes map[string]*RideChange
	res     RecountResult
	dry     bool
}

func (c *recounter) batch(tx *store.Tx, rides []wear.RideID) (done []wear.Ride, err error) {
	for _, id := range rides {
		r, err := tx.Ride(id)
		if err != nil {
			return nil, err
		}
		bike := c.bikes[r.Bike]
		anew, err := c.learn.anew(r, bike)
		if err != nil {
			c.res.Gone++
			continue
		}
		done = append(done, r)
		c.res.Looked++
		c.note(bike.Name, r.Total(), anew.Total())
		if c.dry {
			continue
		}
		if err := anew.put(tx); err != nil {
			return nil, err
		}
	}
	return done, nil
}

func (c *recounter) note(bike string, before, after wear.Load) {
	if before == after {
		return
	}
	if c.changes[bike] == nil {
		c.changes[bike] = &RideChange{Bike: bike}
	}
	ch := c.changes[bike]
	ch.Rides++
	ch.Before, ch.After = ch.Before.Add(before), ch.After.Add(after)
}

func (c *recounter) result() RecountResult {
	for _, name := range slices.Sorted(maps.Keys(c.changes)) {
		c.res.Changes = append(c.res.Changes, *c.changes[name])
	}
	return c.res
}
