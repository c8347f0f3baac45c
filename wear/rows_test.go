package wear

import (
	"cmp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// step is something that happens to a part fitted on the first day.
type step func(w *world, p *PartCase)

func then(steps ...step) step {
	return func(w *world, p *PartCase) {
		for _, s := range steps {
			s(w, p)
		}
	}
}

// rides is that much in the dry after the fit.
func rides(l Load) step { return func(w *world, _ *PartCase) { w.ride(1, Dry, l) } }

// aged makes the day of the case that many days after the fit.
func aged(d float64) step { return func(w *world, _ *PartCase) { w.today = days(d) } }

func reads(v float64) step { return func(w *world, p *PartCase) { w.read(p, 0.5, v) } }

func looks(word Word) step { return func(w *world, p *PartCase) { w.look(p, 0.5, word) } }

func hired(w *world, _ *PartCase) { w.bike.Fleet = true }

// checked is the first check, done after the first ride.
func checked(job string) step {
	return func(w *world, p *PartCase) {
		w.ride(0.2, Dry, hours(1))
		w.signoff(p, 0.5, job)
	}
}

// missed is two rides of 5 h: the first check fell due after the first of them.
func missed(w *world, _ *PartCase) { w.ride(1, Dry, hours(5)).ride(2, Dry, hours(5)) }

// another fits a second chain.
func another(w *world, _ *PartCase) {
	w.off(w.fit("chain", Ever), days(3), Worn)
	w.fit("chain", days(3))
}

// nearlyWorn is ninety days of riding that end five such days before what the
// part is expected to last, and a look that says watch.
func nearlyWorn(life Load) step {
	return func(w *world, p *PartCase) {
		w.daily(90, part(life, 95))
		w.look(p, 89.8, Watch)
		w.today = days(90)
	}
}

// soonAt is ninety days of riding in which the reading came to nine tenths of
// the way to its limit.
func soonAt(v float64, perDay Load) step {
	return func(w *world, p *PartCase) {
		w.daily(90, perDay)
		w.read(p, 89.8, v)
		w.today = days(90)
	}
}

func (w *world) daily(n int, l Load) {
	for i := range n {
		w.ride(float64(i)+0.1, Dry, l)
	}
}

func part(l Load, of int64) Load {
	for q := range l {
		l[q] = (l[q] + of - 1) / of
	}
	return l
}

func km(v float64) Load { return Load{Distance: int64(v * 100_000), Moving: 60_000} }
func mj(v float64) Load { return Load{Braking: int64(v * 1e6), Moving: 60_000} }

// reach is how each verdict of a job comes about.
type reach map[Verdict]step

// torqueCheck is a check after the first ride, then every h hours.
func torqueCheck(h float64) reach {
	return reach{
		Fine: then(checked("check"), rides(hours(h-0.1))), Due: then(checked("check"), rides(hours(h))), Stop: missed,
	}
}

func playCheck() reach { return reach{Fine: rides(hours(49.9)), Due: rides(hours(50))} }

func yearly() reach { return reach{Fine: aged(364), Due: aged(365)} }

// row is a job of the design's table of defaults; a family stands for the
// front and the rear kind.
type row struct {
	kind, job string
	reach     reach
}

var rowsOfTheSchedule = []row{
	{"chain", "clean", reach{Fine: rides(turns(24_999)), Due: rides(turns(25_000))}},
	{"chain", "measure", reach{Fine: then(reads(0.02), rides(turns(59_999))), Due: then(reads(0.02), rides(turns(60_000)))}},
	{"chain", "change", reach{
		Fine: reads(0.49), Order: soonAt(0.45, turns(1000)), Due: reads(0.5), Stop: then(hired, reads(1.0)),
	}},
	{"ring", "look", reach{Fine: rides(turns(299_999)), Due: rides(turns(300_000)), Stop: looks(Unsafe)}},
	{"ring", "change", reach{Fine: looks(Watch), Order: nearlyWorn(turns(1_000_000)), Due: looks(Replace)}},
	// 32 teeth of the ring and 14 of the idler are taken where not given.
	{"idler", "look", reach{Fine: rides(turns(218_749)), Due: rides(turns(218_750)), Stop: looks(Unsafe)}},
	{"idler", "change", reach{Fine: looks(Good), Order: nearlyWorn(turns(875_000)), Due: looks(Replace)}},
	{"drive-idler", "look", reach{Fine: then(another, looksLater), Due: another, Stop: looks(Unsafe)}},
	{"drive-idler", "change", reach{Fine: looks(Good), Order: nearlyWorn(turns(800_000)), Due: looks(Replace)}},
	{"guide", "look", reach{Fine: then(checked("look"), rides(hours(24.9))), Due: then(checked("look"), rides(hours(25))), Stop: looks(Unsafe)}},
	{"guide", "change", reach{Fine: looks(Watch), Due: looks(Replace)}},
	{"guide-bolts", "check", torqueCheck(25)},
	{"ring-bolts", "check", torqueCheck(50)},
	{"crank-bolt", "check", torqueCheck(50)},
	{"pedals", "check", torqueCheck(50)},
	// 20 % of the turns on a cog of 18 are taken where the gears are not known.
	{"cassette", "look", reach{Fine: rides(turns(1_124_999)), Due: rides(turns(1_125_000)), Stop: looks(Unsafe)}},
	{"cassette", "skip-test", reach{Fine: then(another, signsLater("skip-test")), Due: another}},
	{"cassette", "change", reach{Fine: looks(Watch), Order: nearlyWorn(turns(1_687_500)), Due: looks(Replace)}},
	{"derailleur-pulleys", "look", reach{Fine: then(another, looksLater), Due: another, Stop: looks(Unsafe)}},
	{"derailleur-pulleys", "change", reach{Fine: looks(Watch), Order: nearlyWorn(turns(750_000)), Due: looks(Replace)}},
	{"cable", "change", reach{Fine: aged(350), Order: aged(352), Due: aged(365)}},

	{"pads", "measure", reach{Fine: rides(mj(2.49)), Due: rides(mj(2.5)), Stop: then(hired, rides(mj(5)))}},
	{"pads", "change", reach{Fine: reads(1.01), Order: soonAt(1.1, mj(0.08)), Due: reads(1.0), Stop: reads(0.5)}},
	{"rotor", "measure", reach{Fine: rides(mj(11.9)), Due: rides(mj(12)), Stop: then(hired, rides(mj(24)))}},
	{"rotor", "change", reach{Fine: reads(1.56), Order: soonAt(1.575, mj(0.4)), Due: reads(1.55), Stop: reads(1.5)}},
	{"brake-fluid", "change", reach{Fine: aged(350), Order: aged(352), Due: aged(365)}},
	{"caliper-bolts", "check", torqueCheck(50)},

	{"wheel", "look", reach{Fine: rides(hours(49.9)), Due: rides(hours(50)), Stop: looks(Unsafe)}},
	{"tyre", "look", reach{Fine: rides(km(499)), Due: rides(km(500)), Stop: looks(Unsafe)}},
	{"tyre", "change", reach{Fine: reads(2.1), Order: soonAt(2.2, km(12)), Due: reads(2.0)}},
	{"sealant", "top-up", reach{Fine: aged(89), Due: aged(90)}},
	{"axles", "check", torqueCheck(50)},
	{"hub", "check", playCheck()},
	{"hub", "service", yearly()},

	{"fork", "lowers", playCheck()},
	{"fork", "service", reach{Fine: then(aged(364), rides(hours(199.9))), Due: rides(hours(200))}},
	{"shock", "air-can", playCheck()},
	{"shock", "service", reach{Fine: then(aged(364), rides(hours(199.9))), Due: aged(365)}},
	{"pivot-bolts", "check", torqueCheck(50)},
	{"dropper", "service", reach{Fine: then(aged(364), rides(hours(99.9))), Due: rides(hours(100))}},

	{"stem-bar-bolts", "check", torqueCheck(50)},
	{"headset", "check", reach{Fine: rides(hours(49.9)), Due: rides(hours(50)), Stop: then(hired, rides(hours(100)))}},
	{"headset", "service", yearly()},
	{"bottom-bracket", "check", playCheck()},
	{"bottom-bracket", "service", yearly()},
	{"frame", "look", reach{Fine: rides(hours(49.9)), Due: rides(hours(50)), Stop: func(w *world, _ *PartCase) { w.happened(Crashed, 1, nil) }}},
}

func looksLater(w *world, p *PartCase) { w.look(p, 4, Good) }

func signsLater(job string) step { return func(w *world, p *PartCase) { w.signoff(p, 4, job) } }

// exists are the verdicts that a job can come to, by how the schedule has it.
func exists(k *Kind, j *Job) []Verdict {
	iv, change := j.Interval, j.Act == ActChange
	list := []Verdict{Fine}
	if change && (iv.Reading != nil || len(iv.Expect)+len(iv.Then) > 0) {
		list = append(list, Order)
	}
	list = append(list, Due)
	hard := iv.Reading != nil && (iv.Reading.Stop != 0 || iv.Reading.FleetStop != 0)
	safety := j.Safety && (len(iv.First) > 0 || j.Act.Inspects() && len(iv.Then) > 0)
	if j.Act == ActLook || hard || safety {
		list = append(list, Stop)
	}
	return list
}

// Every row of the design's table reaches each of its verdicts, and no job of
// the schedule is without a row.
func TestEveryRowReachesEachOfItsVerdicts(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range rowsOfTheSchedule {
		for i := range Default().kinds {
			k := &Default().kinds[i]
			if k.Name != r.kind && k.Family != r.kind {
				continue
			}
			j, ok := k.Job(r.job)
			require.True(t, ok, "%s %s", r.kind, r.job)
			seen[k.Name+" "+r.job] = true
			var reached []Verdict
			for v, how := range r.reach {
				reached = append(reached, v)
				w := newWorld(t, 80)
				p := w.fit(k.Name, days(0))
				how(w, p)
				f := w.judged(k.Name, r.job)
				assert.Equal(t, v, f.Verdict, "%s %s: %s (%v)", k.Name, r.job, v, f.Reasons)
				assert.NotEmpty(t, f.Source)
				assert.Equal(t, v == Stop, f.Clears != "")
			}
			slices.SortFunc(reached, cmp.Compare[Verdict])
			assert.Equal(t, exists(k, j), reached, "%s %s: verdicts with a test", k.Name, r.job)
		}
	}
	for _, k := range Default().Kinds() {
		for _, j := range k.Jobs {
			assert.True(t, seen[k.Name+" "+j.Name], "%s %s: no row", k.Name, j.Name)
		}
	}
}

// What the design's table of defaults lists for a full-suspension bike with a
// chain guide, kind by kind; positions are kinds.
var listedForATrailBike = map[string][]string{
	"chain": {"clean", "measure", "change"}, "ring": {"look", "change"}, "idler": {"look", "change"},
	"guide": {"look", "change"}, "guide-bolts": {"check"}, "ring-bolts": {"check"}, "crank-bolt": {"check"}, "pedals": {"check"},
	"cassette": {"look", "skip-test", "change"}, "derailleur-pulleys": {"look", "change"},
	"front-pads": {"change"}, "rear-pads": {"change"}, "front-rotor": {"change"}, "rear-rotor": {"change"},
	"front-tyre": {"look", "change"}, "rear-tyre": {"look", "change"}, "front-sealant": {"top-up"}, "rear-sealant": {"top-up"},
	"fork": {"lowers", "service"}, "shock": {"air-can", "service"},
	"pivot-bolts": {"check"}, "stem-bar-bolts": {"check"}, "caliper-bolts": {"check"}, "axles": {"check"},
	"headset": {"check", "service"}, "front-hub": {"check", "service"}, "rear-hub": {"check", "service"},
	"bottom-bracket": {"check", "service"}, "dropper": {"service"}, "brake-fluid": {"change"}, "cable": {"change"}, "frame": {"look"},
}

func TestATrailBikeMissesNothingThatTheDesignLists(t *testing.T) {
	sheet, ok := SheetByName("trail")
	require.True(t, ok)
	w := newWorld(t, 30)
	w.bike = sheet.Dress(w.bike)
	for _, p := range sheet.Parts {
		pc := w.fit(p.Kind, Ever)
		p.ID, p.Name = pc.Part.ID, pc.Part.Name
		pc.Part = p
	}
	w.ride(1, Dry, hours(2))
	found := map[string][]string{}
	for _, f := range Assess(w.build(), Default()) {
		found[f.Kind] = append(found[f.Kind], f.Job)
		for what, s := range map[string]string{"title": f.Title, "advice": f.Advice, "source": f.Source, "rule": f.Rule} {
			assert.NotEmpty(t, s, "%s %s: %s", f.Kind, f.Job, what)
		}
	}
	for kind, jobs := range listedForATrailBike {
		assert.Subset(t, found[kind], jobs, kind)
	}
}
