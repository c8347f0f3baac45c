package wear

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// fullBike is a bike of the trail sheet after a season: parts changed, looked
// at, measured and worked on, on every ground.
func fullBike(t *testing.T) *world {
	w := newWorld(t, 200)
	sheet, ok := SheetByName("trail")
	require.True(t, ok)
	for _, p := range sheet.Parts {
		pc := w.fit(p.Kind, Ever)
		p.ID, p.Name = pc.Part.ID, pc.Part.Name
		pc.Part = p
	}
	by := func(kind string) *PartCase {
		return w.parts[slices.IndexFunc(w.parts, func(p *PartCase) bool { return p.Part.Kind == kind })]
	}
	for i := range 150 {
		w.ride(float64(i)*1.3, Ground(i%int(NGrounds)), hours(0.3+float64(i%7)/3))
	}
	w.read(by("chain"), 20, 0.1)
	w.read(by("chain"), 60, 0.52)
	w.off(by("chain"), days(61), Worn)
	w.fit("chain", days(61))
	w.read(w.parts[len(w.parts)-1], 150, 0.31)
	w.read(by("rear-pads"), 100, 0.9)
	w.look(by("ring"), 62, Watch)
	w.look(by("guide"), 120, Good)
	w.look(by("guide"), 140, Unsafe)
	w.signoff(by("guide-bolts"), 30, "check")
	w.signoff(by("fork"), 80, "service")
	w.signoff(by("bottom-bracket"), 90, "service")
	return w
}

// The same facts in another order give the same findings, to the last bit.
func TestOrderOfFactsDoesNotMatter(t *testing.T) {
	want := Assess(fullBike(t).build(), Default())
	for seed := range uint64(5) {
		r := rand.New(rand.NewPCG(seed, 1))
		w := fullBike(t)
		r.Shuffle(len(w.rides), func(i, j int) { w.rides[i], w.rides[j] = w.rides[j], w.rides[i] })
		r.Shuffle(len(w.parts), func(i, j int) { w.parts[i], w.parts[j] = w.parts[j], w.parts[i] })
		for _, p := range w.parts {
			r.Shuffle(len(p.Readings), func(i, j int) { p.Readings[i], p.Readings[j] = p.Readings[j], p.Readings[i] })
			r.Shuffle(len(p.Looks), func(i, j int) { p.Looks[i], p.Looks[j] = p.Looks[j], p.Looks[i] })
			r.Shuffle(len(p.SignOffs), func(i, j int) { p.SignOffs[i], p.SignOffs[j] = p.SignOffs[j], p.SignOffs[i] })
		}
		assert.Equal(t, want, Assess(w.build(), Default()), "seed %d", seed)
	}
}

// Package wear knows no zone: TZ changes nothing.
func TestZoneDoesNotMatter(t *testing.T) {
	want := Assess(fullBike(t).build(), Default())
	for _, zone := range []string{"UTC", "Asia/Kolkata", "America/St_Johns"} {
		t.Setenv("TZ", zone)
		assert.Equal(t, want, Assess(fullBike(t).build(), Default()), zone)
	}
}

func TestAssessChangesNothing(t *testing.T) {
	w := fullBike(t)
	slices.Reverse(w.parts)
	c, same := w.build(), w.build()
	Assess(c, Default())
	assert.Equal(t, same, c)
}

// A cut in a span (a fact of another part) changes no figure, and one more
// ride lowers none that counts.
func TestCutsAndRidesNeverLowerACount(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(t, 100)
		w.fit("chain", days(0))
		w.fit("rear-pads", days(0))
		w.fit("cassette", days(0))
		n := rapid.IntRange(1, 30).Draw(rt, "rides")
		for range n {
			w.ride(rapid.Float64Range(0, 99).Draw(rt, "day"), Ground(rapid.IntRange(0, int(NGrounds)-1).Draw(rt, "ground")),
				hours(rapid.Float64Range(0, 9).Draw(rt, "hours")))
		}
		before := used(Assess(w.build(), Default()))
		frame := w.fit("frame", days(0))
		for range rapid.IntRange(0, 5).Draw(rt, "cuts") {
			w.look(frame, rapid.Float64Range(0, 99).Draw(rt, "cut"), Good)
		}
		for name, v := range before {
			if got := used(Assess(w.build(), Default()))[name]; got != v {
				rt.Fatalf("%s: a cut changed %v to %v", name, v, got)
			}
		}
		w.ride(50, Unmarked, hours(1))
		for name, v := range before {
			if got := used(Assess(w.build(), Default()))[name]; got < v {
				rt.Fatalf("%s: a ride lowered %v to %v", name, v, got)
			}
		}
	})
}

func used(fs []Finding) map[string]float64 {
	m := map[string]float64{}
	for _, f := range fs {
		m[f.Part+" "+f.Job] = f.Used
	}
	return m
}

func TestAnEmptyBikeHasNoFindingsAndNoPanic(t *testing.T) {
	assert.Empty(t, Assess(Case{}, Default()))
	w := newWorld(t, 0)
	for _, k := range Default().Kinds() {
		w.fit(k.Name, Ever)
	}
	for _, f := range Assess(w.build(), Default()) {
		if f.Job != "measure" {
			assert.Equal(t, Fine, f.Verdict, "%s %s on a bike not ridden yet", f.Part, f.Job)
		}
		assert.Zero(t, f.Used)
	}
}

func BenchmarkAssess(b *testing.B) {
	w := fullBike(&testing.T{})
	c := w.build()
	slices.SortFunc(c.Parts, func(x, y PartCase) int { return int(x.Part.ID) - int(y.Part.ID) })
	c.Parts = c.Parts[:16]
	s := Default()
	b.ReportAllocs()
	for b.Loop() {
		Assess(c, s)
	}
}
