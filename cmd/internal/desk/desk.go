package desk

import (
	"context"
	"errors"
	"fmt"
	"time"

	"pawl/store"
	"pawl/wear"
)

// Desk answers the users of one book.
type Desk struct {
	Book *store.Book
	Now  time.Time // the moment at which the command runs; nothing below asks a clock
	Who  string    // who enters facts, for the history

	Warnings []string // questions that entering a fact raised, for the user

	learner *learner // of the transaction in hand
}

// Open returns a desk for the book at path. It reads nothing yet. Zone is the
// time zone of a book that does not exist yet; command names the user of the
// book to other programs that wait for it.
func Open(path, zone, command string, now time.Time) *Desk {
	opts := store.Options{Zone: zone, Command: command, Now: func() time.Time { return now }}
	return &Desk{Book: store.At(path, opts), Now: now}
}

// bikeAndDay finds the bike and the instant of a dated fact.
func (d *Desk) bikeAndDay(tx *store.Tx, bike, on string) (wear.Bike, wear.Instant, error) {
	b, err := tx.FindBike(bike)
	if err != nil {
		return b, 0, err
	}
	at, err := d.when(on, tx.Zone())
	return b, at, err
}

// bikePartAndDay finds bike, part and instant of a dated fact about a part.
func (d *Desk) bikePartAndDay(tx *store.Tx, f Fact) (wear.Bike, wear.Part, wear.Instant, error) {
	b, at, err := d.bikeAndDay(tx, f.Bike, f.On)
	if err != nil {
		return b, wear.Part{}, at, err
	}
	p, err := findPart(tx, b, f.Part, at)
	return b, p, at, err
}

// findPart finds a part of a bike by kind or name.
func findPart(tx *store.Tx, b wear.Bike, name string, at wear.Instant) (wear.Part, error) {
	if _, isKind := wear.Default().Kind(name); !isKind {
		return tx.FindPart(b.ID, name, at)
	}
	// A kind is never taken for the beginning of another kind's part.
	parts, err := tx.PartsOn(b.ID, at)
	if err != nil {
		return wear.Part{}, err
	}
	for _, p := range parts {
		if p.Kind == name {
			return p, nil
		}
	}
	return wear.Part{}, refusal(fmt.Sprintf("pawl part list %q shows its parts", b.Name),
		"bike %q: no %s is on it on %s", b.Name, name, day(at, tx.Zone()))
}

// Fact says which part of which bike a dated entry is about.
type Fact struct {
	Bike string
	Part string // a kind, or the shortest unambiguous name of a part
	On   string // a date or an instant; "" = now
	By   string
	Note string
}

// Zone returns the book's time zone.
func (d *Desk) Zone(ctx context.Context) (*time.Location, error) { return d.Book.Zone(ctx) }

// MistakeError is wrong use of a command: an argument or flag that cannot be meant.
type MistakeError struct {
	Msg string
	Tip string // the command to type next; "" = none
}

// Error says what is wrong.
func (e *MistakeError) Error() string { return e.Msg }

// Hint says what to type next.
func (e *MistakeError) Hint() string { return e.Tip }

func mistake(tip, format string, args ...any) error {
	return &MistakeError{Msg: fmt.Sprintf(format, args...), Tip: tip}
}

// asMistake makes wrong use of what the domain could not read.
func asMistake(err error) error {
	var hinted interface{ Hint() string }
	if !errors.As(err, &hinted) {
		return mistake("", "%v", err)
	}
	return mistake(hinted.Hint(), "%v", err)
}

// ParseTorque reads a torque with its unit, in N·m; "" is none.
func ParseTorque(text string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	nm, err := wear.ParseTorque(text)
	if err != nil {
		return 0, asMistake(err)
	}
	return nm, nil
}

// RefusalError is a request that the book's facts forbid.
type RefusalError struct {
	Msg string
	Tip string
}

// Error says what is wrong.
func (e *RefusalError) Error() string { return e.Msg }

// Hint says what to do next.
func (e *RefusalError) Hint() string { return e.Tip }

func refusal(tip, format string, args ...any) error {
	return &RefusalError{Msg: fmt.Sprintf(format, args...), Tip: tip}
}
