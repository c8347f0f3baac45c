package wear

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestNear(t *testing.T) {
	names := []string{"trail 12", "trail 7", "Gully", "enduro", "chain-10", "chain-2", "chain-1", "guide-bolts", "guide"}
	for asked, want := range map[string][]string{
		"Guly":       {"Gully"},
		"trail 9":    {"trail 7", "trail 12"},
		"chain":      {"chain-1", "chain-2", "chain-10"},
		"ENDURA":     {"enduro"},
		"bolts":      {"guide-bolts"},
		"guide":      {"guide", "guide-bolts"},
		"my enduro":  {"enduro"},
		"unicycle":   nil,
		"":           nil,
		"guide-blts": {"guide-bolts", "guide"},
	} {
		assert.Equal(t, want, Near(asked, names), asked)
	}
	assert.Nil(t, Near("chain", nil))
}

func TestNearestIsTheFirstOfNear(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		names := rapid.SliceOf(rapid.StringMatching(`[a-c0-2-]{0,6}`)).Draw(rt, "names")
		asked := rapid.StringMatching(`[a-cA-C0-2-]{0,6}`).Draw(rt, "asked")
		near := Near(asked, names)
		if len(near) > 3 {
			rt.Fatalf("%d names for %q", len(near), asked)
		}
		first := Nearest(asked, names)
		if len(near) == 0 && first != "" || len(near) > 0 && first != near[0] {
			rt.Fatalf("%q: nearest %q, near %q", asked, first, near)
		}
		shuffled := slices.Clone(names)
		slices.Reverse(shuffled)
		for i, n := range Near(asked, shuffled) {
			if unlike(strings.ToLower(asked), strings.ToLower(n)) != unlike(strings.ToLower(asked), strings.ToLower(near[i])) {
				rt.Fatalf("%q: the order of names matters", asked)
			}
		}
	})
}

func TestNaturally(t *testing.T) {
	in := []string{"chain-10", "chain-2", "chain", "b", "chain-02", "a 3"}
	slices.SortFunc(in, Naturally)
	assert.Equal(t, []string{"a 3", "b", "chain", "chain-2", "chain-02", "chain-10"}, in)
}
