package wear

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// world is a bike and what happened to it, from which tests make cases the way
// a book would: spans cut at every dated fact, rides put where they start.
type world struct {
	t     *testing.T
	bike  Bike
	today Instant
	parts []*PartCase
	rides []worldRide
	next  uint64

	incidents []Incident
	statuses  []Status
	settings  []Setting
}

type worldRide struct {
	at Instant
	g  Ground
	l  Load
}

// bikeID is the bike of every world.
const bikeID ID = 1

func newWorld(t *testing.T, today float64) *world {
	return &world{t: t, bike: Bike{ID: bikeID, Name: "enduro", Speeds: 12}, today: days(today), next: 100}
}

// days is an instant: that many days after the beginning of the test's time.
func days(n float64) Instant { return Instant(20_000*Day) + Instant(n*Day) }

// load is what one hour of riding puts through the bike in these tests.
var anHour = Load{Distance: 10 * 1000 * 100, Moving: 3_600_000, Turns: 4_000 * 1000, Braking: 100_000, Work: 500_000}

func hours(h float64) Load {
	var l Load
	for q, v := range anHour {
		l[q] = int64(float64(v) * h)
	}
	return l
}

// turns is a ride of that many turns of the crank and nothing else.
func turns(n float64) Load { return Load{Turns: int64(n * 1000), Moving: 60_000} }

func (w *world) ride(day float64, g Ground, l Load) *world {
	w.rides = append(w.rides, worldRide{days(day), g, l})
	return w
}

// fit puts a part on the bike from a day on; a negative infinity of days, ever,
// is written as came.
func (w *world) fit(kind string, from Instant) *PartCase {
	w.next++
	id := ID(w.next)
	p := &PartCase{Part: Part{ID: id, Kind: kind, Name: kind + "-1"}, Stays: []Stay{{Part: id, Host: bikeID, From: from, To: Never}}}
	for _, o := range w.parts {
		if o.Part.Kind == kind {
			p.Part.Name = kind + "-2"
		}
	}
	w.parts = append(w.parts, p)
	return p
}

// off takes a part off the bike.
func (w *world) off(p *PartCase, at Instant, cause Cause) {
	p.Stays[len(p.Stays)-1].To = at
	if cause != "" {
		p.Part.End = &End{At: at, Cause: cause}
	}
}

func (w *world) signoff(p *PartCase, day float64, job string) {
	w.next++
	p.SignOffs = append(p.SignOffs, SignOff{ID: w.next, Part: p.Part.ID, Bike: bikeID, At: days(day), Job: job})
}

func (w *world) look(p *PartCase, day float64, word Word) {
	w.next++
	p.Looks = append(p.Looks, Look{ID: w.next, Part: p.Part.ID, Bike: bikeID, At: days(day), Word: word})
}

func (w *world) read(p *PartCase, day, value float64) {
	w.next++
	of := Default().kind(p.Part.Kind).Measurable()
	p.Readings = append(p.Readings, Reading{ID: w.next, Part: p.Part.ID, Bike: bikeID, At: days(day), Of: of, Value: value, Tool: "caliper"})
}

// happened notes an incident of the bike, or of one part of it.
func (w *world) happened(what Happening, day float64, part *PartCase) {
	w.next++
	i := Incident{ID: w.next, Bike: bikeID, At: days(day), What: what}
	if part != nil {
		i.Part = part.Part.ID
	}
	w.incidents = append(w.incidents, i)
}

func (w *world) decline(p *PartCase, day float64, job string) {
	w.signoff(p, day, job)
	p.SignOffs[len(p.SignOffs)-1].Declined = true
}

// cuts are the instants at which the bike's spans begin.
func (w *world) cuts() []Instant {
	cuts := []Instant{Ever}
	for _, p := range w.parts {
		for _, s := range p.Stays {
			cuts = append(cuts, s.From, s.To)
		}
		for _, r := range p.Readings {
			cuts = append(cuts, r.At)
		}
		for _, l := range p.Looks {
			cuts = append(cuts, l.At)
		}
		for _, s := range p.SignOffs {
			cuts = append(cuts, s.At)
		}
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	return slices.DeleteFunc(cuts, func(i Instant) bool { return i == Never })
}

func (w *world) timeline() Timeline {
	var tl Timeline
	for _, c := range w.cuts() {
		tl = append(tl, Span{From: c, Ring: w.ringAt(c)})
	}
	for _, r := range w.rides {
		i := len(tl) - 1
		for tl[i].From > r.at {
			i--
		}
		one := Ride{Start: r.at, Ground: r.g, Recorded: r.l}
		tl[i].Sums[r.g] = tl[i].Sums[r.g].Add(one.Sum())
	}
	w.onsets(tl)
	return tl
}

// onsets tells how each span begins.
func (w *world) onsets(tl Timeline) {
	rides := slices.Clone(w.rides)
	slices.SortStableFunc(rides, func(a, b worldRide) int { return int(a.at - b.at) })
	for i := range tl {
		tl[i].Onset = OnsetOf(func(yield func(Ride) bool) {
			for _, r := range rides {
				in := r.at >= tl[i].From && (i+1 == len(tl) || r.at < tl[i+1].From)
				if in && !yield(Ride{Start: r.at, Ground: r.g, Recorded: r.l}) {
					return
				}
			}
		})
	}
}

func (w *world) ringAt(at Instant) int {
	for _, p := range w.parts {
		if p.Part.Kind == "ring" && p.Stays[0].Holds(at) {
			return p.Part.Teeth
		}
	}
	return 0
}

func (w *world) build() Case {
	c := Case{Bike: w.bike, Today: w.today, First: Ever, Lines: map[ID]Timeline{bikeID: w.timeline()},
		Incidents: w.incidents, Statuses: w.statuses, Settings: w.settings}
	for _, p := range w.parts {
		if p.Stays[len(p.Stays)-1].Holds(w.today) {
			c.Parts = append(c.Parts, *p)
		} else {
			c.Past = append(c.Past, *p)
		}
	}
	for _, r := range w.rides {
		if c.First == Ever || r.at < c.First {
			c.First = r.at
		}
		c.Use.Last = max(c.Use.Last, r.at)
		if r.at >= w.today-84*Day {
			one := Ride{Ground: r.g, Recorded: r.l}
			c.Use.Sums[r.g] = c.Use.Sums[r.g].Add(one.Sum())
			c.Use.Days = 84
		}
	}
	return c
}

// judged is the finding of a job of the part of a kind that is on the bike.
func (w *world) judged(kind, job string) Finding {
	w.t.Helper()
	fs := Assess(w.build(), Default())
	i := slices.IndexFunc(fs, func(f Finding) bool { return f.Kind == kind && f.Job == job })
	require.GreaterOrEqual(w.t, i, 0, "no finding for %s %s", kind, job)
	return fs[i]
}
