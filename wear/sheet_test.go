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

func TestSheetsByName(t *testing.T) {
	var names []string
	for _, s := range Sheets() {
		names = append(names, s.Name)
	}
	assert.Equal(t, []string{"trail"}, names)
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
		"cut":          {"name = \"x", "sheet:1:"},
	} {
		_, err := ParseSheet([]byte(c.text))
		assert.ErrorContains(t, err, c.want, name)
	}
}
