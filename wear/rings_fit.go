package wear

import (
	"cmp"
	"fmt"
	"slices"
)

// ringing is a choice of rings being made.
type ringing struct {
	RingAdvice
	q       RingQuery
	mount   RingMount
	mounted bool // mount is known
}

func (q RingQuery) mount() (RingMount, bool) {
	if q.Drive.RingMount == "" {
		return RingMount{}, false
	}
	m, err := ParseRingMount(q.Drive.RingMount)
	return m, err == nil
}

// ringSpread is how many teeth to either side of the ring now on are offered
// where the guide's range is not known.
const ringSpread = 4

// Sold are the rings that could be bought where no offer is given: every even
// number of teeth in the guide's range, else around that of the ring now on.
func (q RingQuery) Sold() []RingOffer {
	least, most := q.Drive.GuideLeast, q.Drive.GuideMost
	if most == 0 && q.Ring != 0 {
		least, most = q.Ring-ringSpread, q.Ring+ringSpread
	}
	var list []RingOffer
	for z := least + least%2; z <= most && most > 0; z += 2 {
		list = append(list, RingOffer{Teeth: z})
	}
	return list
}

// offers are the rings to judge, by teeth.
func (r *ringing) offers() []RingOffer {
	list := slices.Clone(r.q.Offers)
	if len(list) == 0 {
		list = r.q.Sold()
	}
	slices.SortStableFunc(list, func(x, y RingOffer) int { return cmp.Or(cmp.Compare(x.Teeth, y.Teeth), cmp.Compare(x.Model, y.Model)) })
	return list
}

// refuse says why a ring does not fit; empty where it does.
func (r *ringing) refuse(o RingOffer) string {
	d := r.q.Drive
	switch least := r.mount.Least(); {
	case o.Teeth < leastRing || o.Teeth > mostRing:
		return "no ring of a bike has so many teeth"
	case o.Teeth%2 != 0:
		return "odd: a narrow-wide ring has an even number of teeth"
	case d.GuideMost != 0 && (o.Teeth < d.GuideLeast || o.Teeth > d.GuideMost):
		return fmt.Sprintf("the guide takes %d to %d teeth", d.GuideLeast, d.GuideMost)
	case d.FrameMost != 0 && o.Teeth > d.FrameMost:
		return fmt.Sprintf("the frame clears %d teeth at most", d.FrameMost)
	case r.mounted && o.Teeth < least:
		return fmt.Sprintf("bolts on a circle of %g mm leave the chain room from %d teeth on", r.mount.Circle, least)
	case r.q.Speeds != 0 && len(o.Speeds) > 0 && !slices.Contains(o.Speeds, r.q.Speeds):
		return fmt.Sprintf("listed for %s speeds, the chain is for %d", enumerate(o.Speeds), r.q.Speeds)
	}
	return r.refuseMount(o)
}

func (r *ringing) refuseMount(o RingOffer) string {
	if o.Mount == "" {
		return ""
	}
	m, err := ParseRingMount(o.Mount)
	switch {
	case err != nil:
		return err.Error()
	case r.mounted && !r.mount.fits(m):
		return fmt.Sprintf("mount %s, the crank has %s", m, r.mount)
	}
	return ""
}

// choice is what a ring changes.
func (r *ringing) choice(o RingOffer) RingChoice {
	q := r.q
	c := RingChoice{Model: o.Model, Teeth: o.Teeth, Same: o.Teeth == q.Ring, Radius: PitchDiameter(o.Teeth) / 2}
	if q.Ring != 0 {
		c.Percent = 100 * (float64(o.Teeth)/float64(q.Ring) - 1)
		c.Move = GuideMove(q.Ring, o.Teeth)
	}
	c.gears(q)
	c.chain(q)
	c.line(q, o)
	return c
}

// gears are the developments; the easiest is that of the largest cog.
func (c *RingChoice) gears(q RingQuery) {
	if q.Wheel == 0 || len(q.Cogs) == 0 {
		return
	}
	for _, cog := range q.Cogs {
		g := GearShift{Cog: cog, Now: Development(c.Teeth, cog, q.Wheel)}
		if q.Ring != 0 {
			g.Was = Development(q.Ring, cog, q.Wheel)
		}
		c.Gears = append(c.Gears, g)
	}
	c.Speed = c.Gears[len(c.Gears)-1].Now // 60 turns a minute are one a second
}

// chain is the change of its length on the largest cog, where it must reach.
func (c *RingChoice) chain(q RingQuery) {
	if q.Ring == 0 || len(q.Cogs) == 0 || q.Drive.Chainstay == 0 {
		return
	}
	largest := q.Cogs[len(q.Cogs)-1]
	need := ChainPitches(c.Teeth, largest, q.Drive.Chainstay)
	more := need - ChainPitches(q.Ring, largest, q.Drive.Chainstay)
	c.Chain = &ChainChange{pairs(more), more}
	if has := q.Drive.Pitches; has != 0 && float64(has+c.Chain.Pitches) < need+2 {
		c.Chain.Pitches = pairs(need + 2 + pairSlack - float64(has))
		c.Notes = append(c.Notes, fmt.Sprintf("the chain of %d pitches is short as it is: round both largest wheels and a pair more takes %.1f, at the travel point of greatest chain growth still more", has, need+2))
	}
	if c.Chain.Pitches > 0 {
		c.Notes = append(c.Notes, "a worn chain is not lengthened: fit a new one of the right length")
	}
}

// line is the chain line with the ring: its offset against the one now on.
func (c *RingChoice) line(q RingQuery, o RingOffer) {
	if c.Line = q.Line; c.Line == 0 {
		return
	}
	if o.Offset != nil && q.Drive.Offset != nil {
		c.Line += *q.Drive.Offset - *o.Offset
	}
	if s := q.Drive.sayLine(c.Line); s != "" {
		c.Notes = append(c.Notes, s)
	}
}
