package wear

// A way to run the fleet is what is done to a bike in the evening after a hire.
type yearWay struct {
	name  string
	plan  map[string]float64 // km at which parts of a kind are changed and "bolts" checked; nil = none
	pawl  bool               // what pawl says is due is done
	ahead float64            // days: on the stand, what pawl says will be due by then is done too; 0 = no more than is due
}

// commonPlan is a workshop's plan by distance (common practice, no published
// source), written down before the simulation was run and not touched since:
// every third chain a cassette, every fourth a ring.
var commonPlan = map[string]float64{
	"chain": 1000, "cassette": 3000, "ring": 4000, "front-pads": 500, "rear-pads": 500,
	"front-tyre": 3000, "rear-tyre": 1500, "bolts": 500,
}

// meanPlan is the plan of a workshop that knows what no workshop does: how much
// this fleet wears a kilometre on the whole. It changes parts at what the
// schedule expects them to last.
func (y *year) meanPlan() map[string]float64 {
	var km, drive, brake float64
	for n := range y.bikes {
		d := y.depot(n)
		for day := range yearDays {
			if h, ok := y.hire(n, day); ok {
				km += h.km
				drive += h.turns * d.drive[h.ground]
				brake += h.braking * d.pads[h.ground]
			}
		}
	}
	return map[string]float64{
		"chain": 320_000 * km / drive, "cassette": cassetteTurns * km / drive, "ring": 1_000_000 * km / drive,
		"front-pads": 8 * km / brake, "rear-pads": 8 * km / brake,
		"front-tyre": meanLife("front-tyre"), "rear-tyre": meanLife("rear-tyre"), "bolts": 500,
	}
}

// run lets one bike live through the year.
func (w *yearWay) run(y *year, n int, t *yearTally) {
	b := newHireBike(y, n, t)
	if w.pawl {
		b.book = newHireBook(b, w.ahead)
	}
	for day := range yearDays {
		h, ok := y.hire(n, day)
		if !ok {
			continue
		}
		t.asked++
		if b.held >= day {
			t.lost++
			continue
		}
		failed := b.ride(h, day)
		if b.book != nil {
			b.book.ride(h, day)
		}
		b.repair(failed, day)
		w.evening(b, day)
		b.close(day)
	}
	t.value += b.value()
}

// evening is the planned work on a bike that came back.
func (w *yearWay) evening(b *hireBike, day int) {
	if w.pawl {
		b.book.work()
	}
	for _, kind := range yearParts {
		if every, ok := w.plan[kind]; ok && b.parts[kind].km >= every {
			b.change(kind, Worn)
		}
	}
	if every, ok := w.plan["bolts"]; ok && b.round >= every {
		b.round = 0
		for _, kind := range yearBolts {
			b.check(kind)
			b.spend("checking", minutesOf(kind, "check"))
		}
	}
}

// repair puts right what failed on a hire. The bike is lost for half of that
// day, and held the next.
func (b *hireBike) repair(failed []string, day int) {
	for _, kind := range failed {
		b.t.incidents[kind]++
		if bolts := b.bolts[kind]; bolts != nil {
			b.tighten(kind)
			b.spend("checking", minutesOf(kind, "check"))
			continue
		}
		if kind == "ring" && b.book != nil {
			b.book.dropped()
		}
		b.change(kind, Broke)
	}
	if len(failed) > 0 {
		b.t.lost += 0.5
		b.t.minutes["fetching"] += yearFetch
		b.held = day + 1
	}
}

// spend adds minutes of work of a sort.
func (b *hireBike) spend(on string, minutes float64) {
	b.t.minutes[on] += minutes
	b.spent += minutes
}

// close ends an evening.
func (b *hireBike) close(day int) {
	if b.spent == 0 {
		return
	}
	b.t.visits++
	b.t.minutes["the stand"] += yearStand
	if b.spent+yearStand > yearEvening {
		b.held = day + 1
	}
	b.spent = 0
}

// change puts a new part on.
func (b *hireBike) change(kind string, why Cause) {
	p := b.parts[kind]
	b.t.used[kind]++
	b.t.value += yearPrice[kind]
	b.spend("changing", minutesOf(kind, "change"))
	b.t.early += boolFloat(p.share(kind) < 0.8)
	if kind == "chain" {
		b.t.offs++
		b.t.long += p.long()
	}
	if kind == "ring" || kind == "cassette" {
		b.t.killed[kind] += boolFloat(p.wear >= 1 && p.good < killedBy)
	}
	b.fresh(kind)
	if b.book != nil {
		b.book.changed(kind, why)
		return
	}
	if kind == "chain" {
		b.afterChain()
	}
}

// afterChain is what any mechanic does with a new chain: tries whether it skips,
// and looks at the ring. pawl asks for both by itself.
func (b *hireBike) afterChain() {
	b.spend("checking", minutesOf("cassette", "skip-test"))
	b.spend("looking", minutesOf("ring", "look"))
	for _, kind := range []string{"cassette", "ring"} {
		if b.parts[kind].wear >= 1 {
			b.change(kind, Worn)
		}
	}
}

// check finds bolts that are loose.
func (b *hireBike) check(kind string) {
	b.t.found += boolFloat(b.bolts[kind].loose)
	b.tighten(kind)
}

// tighten leaves bolts as they are after a check. Bolts that were not ridden
// since they were worked on settle later.
func (b *hireBike) tighten(kind string) {
	bolts := b.bolts[kind]
	bolts.loose, bolts.checked = false, bolts.checked || bolts.hours > 0
}

// killedBy: a ring or cassette is killed by its chains where with good ones it
// would have come to less than this share of its life.
const killedBy = 2.0 / 3

// minutesOf is the bench time of a job by the schedule, whatever the way.
func minutesOf(kind, job string) float64 {
	j, _ := Default().kind(kind).Job(job)
	return float64(j.Minutes)
}
