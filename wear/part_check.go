package wear

import (
	"fmt"
	"slices"
)

// Check refuses a part whose figures no such part has, or of a kind that the
// schedule does not know.
func (p Part) Check(s *Schedule) error {
	if s.kind(p.Kind) == nil {
		return fmt.Errorf("kind %q: not in the schedule%s", p.Kind, s.near(p.Kind))
	}
	if p.Teeth != 0 && (p.Teeth < 8 || p.Teeth > 60) {
		return fmt.Errorf("%d teeth: not between 8 and 60", p.Teeth)
	}
	if p.Narrow && p.Teeth%2 != 0 {
		return fmt.Errorf("%d teeth: a narrow-wide ring has an even number", p.Teeth)
	}
	if p.Speeds < 0 || p.Speeds > 14 {
		return fmt.Errorf("%d speeds: not between 1 and 14", p.Speeds)
	}
	if p.Stamp != 0 && !(p.Stamp >= 1 && p.Stamp <= 3) {
		return fmt.Errorf("stamp %g mm: not between 1 and 3", p.Stamp)
	}
	return checkCogs(p.Cogs)
}

func checkCogs(cogs []int) error {
	if len(cogs) > 14 {
		return fmt.Errorf("%d cogs: more than 14", len(cogs))
	}
	for i, c := range cogs {
		if c < 8 || c > 60 {
			return fmt.Errorf("cog of %d teeth: not between 8 and 60", c)
		}
		if i > 0 && c <= cogs[i-1] {
			return fmt.Errorf("cogs %v: write them smallest first, each once", cogs)
		}
	}
	return nil
}

// near is a hint at the kind that was meant.
func (s *Schedule) near(kind string) string {
	var names []string
	for i := range s.kinds {
		names = append(names, s.kinds[i].Name)
	}
	if n := Nearest(kind, names); n != "" && !slices.Contains(names, kind) {
		return fmt.Sprintf(" (did you mean %s?)", n)
	}
	return ""
}

var motorNames = [...]string{"none", "mid", "hub"}

// String names the motor as flags and sheets do.
func (m Motor) String() string {
	if int(m) < len(motorNames) {
		return motorNames[m]
	}
	return fmt.Sprintf("motor %d", uint8(m))
}

// ParseMotor is the inverse of [Motor.String]; nothing said is none.
func ParseMotor(s string) (Motor, error) {
	if s == "" {
		return NoMotor, nil
	}
	for m, name := range motorNames {
		if name == s {
			return Motor(m), nil
		}
	}
	return NoMotor, fmt.Errorf("motor %q: not one of %v", s, motorNames)
}
