package desk

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"pawl/store"
	"pawl/wear"
)

// errSame is returned where a fact is in the book already, so that nothing is
// to be entered.
var errSame = errors.New("in the book already")

// usual is the ground that a bike is usually ridden on, by month; nothing is
// said of the months that lack.
type usual map[time.Month]wear.Ground

// parseUsual reads "11=mud,12=mud,1=wet"; "" is nothing.
func parseUsual(text string) (usual, error) {
	u := usual{}
	for word := range strings.SplitSeq(text, ",") {
		if word = strings.TrimSpace(word); word == "" {
			continue
		}
		month, name, ok := strings.Cut(word, "=")
		m, err := strconv.Atoi(strings.TrimSpace(month))
		g, groundErr := wear.ParseGround(strings.TrimSpace(name))
		if !ok || err != nil || m < 1 || m > 12 || groundErr != nil || g.Indoor() {
			return nil, mistake("write months and grounds as 11=mud,12=mud,1=wet; none takes it back", "usual ground %q: not understood", word)
		}
		if _, twice := u[time.Month(m)]; twice {
			return nil, mistake("write each month once", "usual ground: month %d is there twice", m)
		}
		u[time.Month(m)] = g
	}
	return u, nil
}

// usualGround gives a ride that nobody marked the usual ground of its bike in
// that month.
func usualGround(tx *store.Tx, r *wear.Ride) error {
	if r.Bike == 0 || r.Marked == wear.ByUser || r.Ground.Indoor() {
		return nil
	}
	settings, err := tx.Settings()
	if err != nil {
		return err
	}
	r.Ground, r.Marked = wear.Unmarked, wear.NotMarked
	for _, s := range settings { // the last that holds wins
		if s.Void || s.Name != wear.SettingGround || s.Of != r.Bike || s.At > r.Start {
			continue
		}
		r.Ground, r.Marked = wear.Unmarked, wear.NotMarked
		u, err := parseUsual(s.Text)
		if err != nil {
			return fmt.Errorf("setting %d: %w", s.ID, err)
		}
		if g, ok := u[r.Start.Time().In(tx.Zone()).Month()]; ok {
			r.Ground, r.Marked = g, wear.ByDefault
		}
	}
	return nil
}

// UsualGround says on what ground a bike is ridden in which month, from a day
// on (always, where none is given), and gives it to the rides that nobody
// marked. Text is "11=mud,12=mud", or "none".
func (d *Desk) UsualGround(ctx context.Context, bike, text, on string) (rides int, b wear.Bike, err error) {
	if text == "none" {
		text = ""
	}
	if _, err := parseUsual(text); err != nil {
		return 0, b, err
	}
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		from := wear.Ever
		if b, err = tx.FindBike(bike); err != nil {
			return err
		}
		if on != "" {
			at, err := parseInstant(on, tx.Zone())
			if err != nil {
				return err
			}
			from = startOfDay(at, tx.Zone())
		}
		tx.Begin("usual ground", b.Name, d.Who)
		if _, err = tx.AddSetting(wear.Setting{Name: wear.SettingGround, Scope: wear.ForBike, Of: b.ID, At: from, Text: text}); err != nil {
			return err
		}
		rides, err = regroundRides(tx, b, from)
		return err
	})
	return rides, b, err
}

// regroundRides gives the rides of a bike that nobody marked their usual ground.
func regroundRides(tx *store.Tx, b wear.Bike, from wear.Instant) (changed int, err error) {
	var rides []wear.Ride
	for r, err := range tx.Rides(store.RideFilter{Bike: &b.ID, From: from, To: wear.Never}) {
		if err != nil {
			return 0, err
		}
		rides = append(rides, r)
	}
	for _, r := range rides {
		before := r
		if err := usualGround(tx, &r); err != nil {
			return changed, err
		}
		if r.Ground == before.Ground && r.Marked == before.Marked {
			continue
		}
		if err := tx.ChangeRide(r); err != nil {
			return changed, err
		}
		changed++
	}
	return changed, nil
}
