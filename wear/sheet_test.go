package wear

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTrailSheetHasEveryKindOfSuchABike(t *testing.T) {
	s, ok := SheetByName("trail")
	require.True(t, ok)
	// What such a bike has not: a drive idler; and kinds without a job.
	without := []string{"drive-idler", "crank", "linkage"}
	for _, k := range Default().Kinds() {
		has := slices.ContainsFunc(s.Parts, func(p Part) bool { return p.Kind == k.Name })
		assert.Equal(t, !slices.Contains(without, k.Name), has, k.Name)
	}
	ring := s.Parts[slices.IndexFunc(s.Parts, func(p Part) bool { return p.Kind == "ring" })]
	assert.True(t, ring.Narrow)
	assert.Equal(t, 32, ring.Teeth)
}

// What a sheet lacks of all kinds, and why: the rest of the schedule is there.
func TestEverySheetHasTheKindsOfSuchABike(t *testing.T) {
	never := []string{"drive-idler", "crank", "linkage"} // high pivots only; kinds without a job
	for name, lacks := range map[string][]string{
		"trail":    nil,
		"e-trail":  {"bottom-bracket"}, // its cranks turn in the motor
		"hardtail": {"shock", "pivot-bolts"},
		"rigid":    {"shock", "pivot-bolts", "fork", "dropper", "guide", "guide-bolts", "idler"},
	} {
		s, ok := SheetByName(name)
		require.True(t, ok, name)
		for _, k := range Default().Kinds() {
			has := slices.ContainsFunc(s.Parts, func(p Part) bool { return p.Kind == k.Name })
			assert.Equal(t, !slices.Contains(append(never, lacks...), k.Name), has, "%s: %s", name, k.Name)
			wheel, carried := CarriedBy(k.Name)
			assert.Equal(t, wheel, s.On[k.Name], "%s: %s", name, k.Name)
			if carried && has {
				at := func(kind string) int {
					return slices.IndexFunc(s.Parts, func(p Part) bool { return p.Kind == kind })
				}
				assert.Less(t, at(wheel), at(k.Name), "%s: the wheel before what it carries", name)
			}
		}
		assert.Equal(t, name == "e-trail", s.Bike.Motor == MidMotor, name)
		assert.Equal(t, name != "rigid", s.Bike.Guide, name)
	}
}

func TestWheelsCarryParts(t *testing.T) {
	for kind, want := range map[string]string{
		"front-tyre": "front-wheel", "front-rotor": "front-wheel", "front-sealant": "front-wheel", "front-hub": "front-wheel",
		"rear-tyre": "rear-wheel", "rear-rotor": "rear-wheel", "rear-sealant": "rear-wheel", "rear-hub": "rear-wheel", "cassette": "rear-wheel",
		"chain": "", "rear-wheel": "", "front-pads": "", "no such kind": "", "": "",
	} {
		wheel, ok := CarriedBy(kind)
		assert.Equal(t, want, wheel, kind)
		assert.Equal(t, want != "", ok, kind)
	}
	for _, k := range Default().Kinds() {
		assert.Equal(t, k.Name == "front-wheel" || k.Name == "rear-wheel", Carries(k.Name), k.Name)
	}
	assert.False(t, Carries(""))
}

func TestSheetsByName(t *testing.T) {
	var names []string
	for _, s := range Sheets() {
		names = append(names, s.Name)
	}
	assert.Equal(t, []string{"e-trail", "hardtail", "rigid", "trail"}, names)
	_, ok := SheetByName("../schedule")
	assert.False(t, ok)
}

func TestDressKeepsTheBikesOwnFigures(t *testing.T) {
	s, _ := SheetByName("trail")
	b := s.Dress(Bike{Name: "a", Mass: 12.5})
	assert.Equal(t, Bike{Name: "a", Sheet: "trail", Mass: 12.5, Wheel: 2.326, Speeds: 12, Guide: true}, b)
}

func TestParseSheetErrors(t *testing.T) {
	part := "\n[[part]]\nkind = \"chain\"\n"
	for name, c := range map[string]struct{ text, want string }{
		"no name":      {part, "no name"},
		"no parts":     {"name = \"x\"", "no parts"},
		"unknown kind": {"name = \"x\"\n[[part]]\nkind = \"chaim\"", `part 1 (chaim): kind "chaim": not in the schedule (did you mean chain?)`},
		"twice":        {"name = \"x\"" + part + part, "part 2 (chain): the sheet has one already"},
		"setting":      {"name = \"x\"\n[bike]\nweight = 3" + part, "sheet:3:1: bike.weight: no such setting"},
		"mass":         {"name = \"x\"\n[bike]\nmass = 150" + part, "bike: mass 150: not between 5 and 60"},
		"not a number": {"name = \"x\"\n[bike]\nwheel = nan" + part, "wheel NaN"},
		"motor":        {"name = \"x\"\n[bike]\nmotor = \"front\"" + part, `motor "front": not one of [none mid hub]`},
		"odd ring":     {"name = \"x\"\n[[part]]\nkind = \"ring\"\nteeth = 33\nnarrow = true", "even number"},
		"teeth":        {"name = \"x\"\n[[part]]\nkind = \"ring\"\nteeth = 3", "3 teeth"},
		"cogs":         {"name = \"x\"\n[[part]]\nkind = \"cassette\"\ncogs = [12, 10]", "smallest first"},
		"stamp":        {"name = \"x\"\n[[part]]\nkind = \"front-rotor\"\nstamp = 15", "stamp 15 mm"},
		"not carried":  {"name = \"x\"" + part + "on = \"rear-wheel\"\n[[part]]\nkind = \"rear-wheel\"", `part 1 (chain): on "rear-wheel": such a part sits on the bike itself`},
		"wrong wheel":  {"name = \"x\"\n[[part]]\nkind = \"cassette\"\non = \"front-wheel\"", `on "front-wheel": such a part sits on the rear-wheel`},
		"no wheel":     {"name = \"x\"\n[[part]]\nkind = \"cassette\"\non = \"rear-wheel\"", "the sheet has no such wheel"},
		"cut":          {"name = \"x", "sheet:1:"},
	} {
		_, err := ParseSheet([]byte(c.text))
		assert.ErrorContains(t, err, c.want, name)
	}
}
