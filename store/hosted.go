package store

import "pawl/wear"

// Hosted are the stays as entered on one bike or wheel: what a wheel carries
// is the wheel's, not the bike's.
func (t *Tx) Hosted(host wear.ID) ([]wear.Stay, error) { return t.hostedBy(host) }
