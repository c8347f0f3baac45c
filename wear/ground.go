package wear

import "fmt"

// Ground is what was ridden in. The last two are not ground at all but indoor
// riding, kept apart because it spares parts of the bike.
type Ground uint8

// The grounds. Unmarked is its own and not dry.
const (
	Unmarked Ground = iota
	Dry
	Dusty
	Gritty
	Wet
	Mud
	Trainer  // indoors with the rear wheel off: spares wheels, tyres, brakes, suspension and the bike's cassette
	Rollers  // indoors on the bike's own wheels: spares brakes and suspension
	NGrounds // how many there are
)

var groundNames = [NGrounds]string{"unmarked", "dry", "dusty", "gritty", "wet", "mud", "trainer", "rollers"}

// String names the ground as help text and JSON do.
func (g Ground) String() string {
	if g < NGrounds {
		return groundNames[g]
	}
	return fmt.Sprintf("ground %d", uint8(g))
}

// Indoor reports whether the ride touched no ground at all.
func (g Ground) Indoor() bool { return g == Trainer || g == Rollers }

// ParseGround is the inverse of [Ground.String].
func ParseGround(s string) (Ground, error) {
	for g, name := range groundNames {
		if name == s {
			return Ground(g), nil
		}
	}
	return 0, fmt.Errorf("ground %q: not one of %v", s, groundNames)
}
