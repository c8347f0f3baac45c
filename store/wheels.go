package store

import (
	"cmp"
	"fmt"
	"slices"

	"pawl/wear"
)

// A stay's host is a bike or a wheel: a part that carries parts. What is on a
// wheel is on the bike that the wheel is on, for as long as both are where they
// are. Facts keep the stays as they were entered; whatever sums rides goes by
// the effective ones, which have a bike each.

// piece is an effective stay and what it comes from.
type piece struct {
	wear.Stay           // on a bike
	entered   wear.Stay // as entered, of the part
	wheel     wear.Stay // of the wheel that carried it; zero = it sat on the bike itself
}

// from reports whether the piece comes from a stay.
func (p piece) from(s *wear.Stay) bool {
	return same(p.entered, s) || p.wheel.Part != 0 && same(p.wheel, s)
}

// carried are the pieces of a stay on a wheel, given the wheel's own stays in
// order of time. What the part had done before it came counts once; it came with
// the bike where both did.
func carried(s wear.Stay, wheel []wear.Stay) []piece {
	var pieces []piece
	for _, w := range wheel {
		if !overlap(s, w) {
			continue
		}
		on := wear.Stay{Part: s.Part, Host: w.Host, From: max(s.From, w.From), To: min(s.To, w.To), Came: s.Came && w.Came}
		if len(pieces) == 0 {
			on.Opening = s.Opening
		}
		pieces = append(pieces, piece{on, s, w})
	}
	return pieces
}

// isBike reports whether the ID is a bike's; bikes and parts share one sequence.
func (t *Tx) isBike(id wear.ID) bool {
	if t.reads == nil {
		return t.row(bktBikes, id8(id)) != nil
	}
	is, _ := remembered(t.reads.bikes, id, func() (bool, error) { return t.row(bktBikes, id8(id)) != nil, nil })
	return is
}

// piecesOf are the effective stays of a part in order of time. The last part's
// are remembered, as the last bike's are.
func (t *Tx) piecesOf(part wear.ID) ([]piece, error) {
	if t.lastOf.id == part && part != 0 {
		return t.lastOf.pieces, nil
	}
	stays, err := t.staysSeen(part)
	if err != nil {
		return nil, err
	}
	pieces := make([]piece, 0, len(stays))
	for _, s := range stays {
		if t.isBike(s.Host) {
			pieces = append(pieces, piece{Stay: s, entered: s})
			continue
		}
		some, err := t.piecesFrom(s)
		if err != nil {
			return nil, err
		}
		pieces = append(pieces, some...)
	}
	worn, _ := effective(pieces, nil)
	t.lastOf = recent{part, pieces, worn}
	return pieces, nil
}

// piecesFrom are those that one stay amounts to for its own part.
func (t *Tx) piecesFrom(s wear.Stay) ([]piece, error) {
	if t.isBike(s.Host) {
		return []piece{{Stay: s, entered: s}}, nil
	}
	wheel, err := t.staysSeen(s.Host)
	return carried(s, wheel), err
}

// piecesOn are the effective stays on a bike in order of time, then part. The
// last bike's are remembered: one operation asks for them again and again.
func (t *Tx) piecesOn(bike wear.ID) ([]piece, error) {
	if t.lastOn.id == bike && bike != 0 {
		return t.lastOn.pieces, nil
	}
	stays, err := t.hostedBy(bike)
	if err != nil {
		return nil, err
	}
	pieces := make([]piece, 0, len(stays)+len(stays)/4) // some are on the wheels
	wheels := map[wear.ID]bool{}
	for _, s := range stays {
		pieces = append(pieces, piece{Stay: s, entered: s})
		if wheels[s.Part] {
			continue
		}
		wheels[s.Part] = true
		some, err := t.piecesThrough(s.Part, bike)
		if err != nil {
			return nil, err
		}
		pieces = append(pieces, some...)
	}
	slices.SortFunc(pieces, inOrder)
	t.lastOn = recent{id: bike, pieces: pieces}
	return pieces, nil
}

// wheelStays are the stays of a wheel: by the index, or while everything is
// derived anew from the facts, from those.
func (t *Tx) wheelStays(wheel wear.ID) ([]wear.Stay, error) {
	if t.deriving != nil {
		return t.deriving[wheel], nil
	}
	return t.staysSeen(wheel)
}

// recent are the pieces of a part or on a bike, asked for a moment ago.
type recent struct {
	id     wear.ID
	pieces []piece
	stays  []wear.Stay // that the pieces are
}

// piecesThrough are the pieces on a bike of all that a wheel carries; none
// where the part is no wheel.
func (t *Tx) piecesThrough(wheel, bike wear.ID) ([]piece, error) {
	hosted, err := t.hostedBy(wheel)
	if err != nil || len(hosted) == 0 {
		return nil, err
	}
	stays, err := t.wheelStays(wheel)
	if err != nil {
		return nil, err
	}
	var pieces []piece
	for _, s := range hosted {
		pieces = append(pieces, carried(s, stays)...)
	}
	return slices.DeleteFunc(pieces, func(p piece) bool { return p.Host != bike }), nil
}

// hostedBy returns the stays on a bike or wheel as they were entered, in order
// of time, then part.
func (t *Tx) hostedBy(host wear.ID) ([]wear.Stay, error) {
	stays, err := list[wear.Stay](t, bktStays, id8(host))
	if t.reads != nil && err == nil {
		if len(t.reads.hosted) >= readsKept {
			clear(t.reads.hosted)
		}
		for _, s := range stays {
			t.reads.hosted[stayName{s.Part, s.Host, s.From}] = s
		}
	}
	return stays, err
}

func effective(pieces []piece, err error) ([]wear.Stay, error) {
	if len(pieces) == 0 {
		return nil, err
	}
	stays := make([]wear.Stay, len(pieces))
	for i := range pieces {
		stays[i] = pieces[i].Stay
	}
	return stays, err
}

// StaysOn returns all stays on a bike in order of time, then part: those of the
// parts on its wheels too, for as long as both were there. To change a stay,
// take it from [Tx.StaysOf].
func (t *Tx) StaysOn(bike wear.ID) ([]wear.Stay, error) { return effective(t.piecesOn(bike)) }

// WornOn returns the stays of a part on bikes in order of time. A stay on a
// wheel becomes one for each bike that the wheel was on meanwhile; the first of
// them has the opening figure.
func (t *Tx) WornOn(part wear.ID) ([]wear.Stay, error) {
	stays, err := t.wornOn(part)
	return slices.Clone(stays), err
}

// wornOn is WornOn for who only looks: the stays are those that are remembered.
func (t *Tx) wornOn(part wear.ID) ([]wear.Stay, error) {
	if t.reads != nil {
		// Most parts have been on one bike, and on no wheel.
		if stays, err := t.staysSeen(part); err != nil || len(stays) == 1 && t.isBike(stays[0].Host) {
			return stays, err
		}
	}
	if _, err := t.piecesOf(part); err != nil {
		return nil, err
	}
	return t.lastOf.stays, nil
}

// PartsOn returns the parts on a bike at an instant, its wheels and what they
// carry among them, by kind, then name.
func (t *Tx) PartsOn(bike wear.ID, at wear.Instant) ([]wear.Part, error) {
	stays, err := t.StaysOn(bike)
	if err != nil {
		return nil, err
	}
	return t.partsOf(stays, at)
}

// PartsOnWheel returns the parts on a wheel at an instant, by kind, then name.
func (t *Tx) PartsOnWheel(wheel wear.ID, at wear.Instant) ([]wear.Part, error) {
	stays, err := t.hostedBy(wheel)
	if err != nil {
		return nil, err
	}
	return t.partsOf(stays, at)
}

// partsOf are the parts whose stay covers an instant.
func (t *Tx) partsOf(stays []wear.Stay, at wear.Instant) ([]wear.Part, error) {
	var parts []wear.Part
	for _, s := range stays {
		if !s.Holds(at) {
			continue
		}
		p, err := t.Part(s.Part)
		if err != nil {
			return nil, err
		}
		parts = append(parts, p)
	}
	sortParts(parts, func(p *wear.Part) *wear.Part { return p })
	return parts, nil
}

// carriesAt names the wheel that a part is on, as today knows it; "" = none.
func (t *Tx) carriesAt(part wear.ID, today wear.Instant) (string, error) {
	stays, err := t.staysSeen(part)
	for _, s := range stays {
		if s.Holds(today) && !t.isBike(s.Host) {
			return t.partName(s.Host), err
		}
	}
	return "", err
}

// touchStay marks the bikes whose spans may begin elsewhere when a stay comes,
// goes or changes: the host, or those that the wheel was on, whose stays it returns.
func (t *Tx) touchStay(host wear.ID) (wheel []wear.Stay, err error) {
	bike := t.lastOn.id == host
	t.lastOn, t.lastOf = recent{}, recent{}
	t.touched[host] = struct{}{}
	if bike {
		return nil, nil
	}
	wheel, err = t.StaysOf(host)
	for _, s := range wheel {
		t.touched[s.Host] = struct{}{}
	}
	return wheel, err
}

// grow remembers the pieces on a bike with those that a new stay adds: a build
// sheet fits dozens of parts in a row. Wheel has the stays of the wheel that carries it.
func (t *Tx) grow(was recent, s wear.Stay, wheel []wear.Stay) error {
	var more []piece
	switch {
	case was.id == 0:
		return nil
	case s.Host == was.id:
		if slices.ContainsFunc(was.pieces, func(p piece) bool { return p.Part == s.Part }) {
			return nil // as a wheel it may have brought its parts before
		}
		through, err := t.piecesThrough(s.Part, s.Host)
		if err != nil {
			return err
		}
		more = append([]piece{{Stay: s, entered: s}}, through...)
	default:
		more = slices.DeleteFunc(carried(s, wheel), func(p piece) bool { return p.Host != was.id })
	}
	for _, p := range more {
		i, _ := slices.BinarySearchFunc(was.pieces, p, inOrder)
		was.pieces = slices.Insert(was.pieces, i, p)
	}
	t.lastOn = was
	return nil
}

// inOrder sorts pieces by time, then part.
func inOrder(a, b piece) int { return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.Part, b.Part)) }

// host refuses what cannot carry the part.
func (t *Tx) host(part wear.Part, host wear.ID) error {
	if t.isBike(host) {
		return nil
	}
	on, err := t.Part(host)
	switch {
	case err != nil:
		_, err = t.Bike(host)
		return err
	case !wear.Carries(on.Kind):
		return &ConflictError{partNoun, on.Name, "is a " + on.Kind + ", which carries no parts", "name a bike or a wheel"}
	case wear.Carries(part.Kind):
		return &ConflictError{partNoun, part.Name, "is a wheel and cannot sit on a wheel", "name a bike"}
	}
	if kind, ok := wear.CarriedBy(part.Kind); !ok || kind != on.Kind {
		return &ConflictError{partNoun, part.Name, fmt.Sprintf("is a %s, which does not sit on a %s", part.Kind, on.Kind), "name the bike, or the right wheel"}
	}
	return nil
}

// hostName says in words what carries a part.
func (t *Tx) hostName(id wear.ID) string {
	if t.isBike(id) {
		return fmt.Sprintf("bike %q", t.bikeName(id))
	}
	return fmt.Sprintf("wheel %q", t.partName(id))
}
