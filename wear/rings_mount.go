package wear

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// RingMount is how a ring sits on its crank: on bolts on a circle, or straight
// on the crank.
type RingMount struct {
	Circle float64 // mm, of the bolts; 0 = direct
	Bolts  int     // 0 = not given
}

var ringMountForm = onUse(`^(?:bcd\s*)?([0-9]+(?:\.[0-9]+)?)\s*(?:mm)?\s*(?:[/x×]\s*([3-6]))?$`)

// ParseRingMount reads "direct", "104" or "104/4" (circle of the bolts in mm,
// and how many).
func ParseRingMount(s string) (RingMount, error) {
	text := strings.ToLower(strings.TrimSpace(s))
	if text == "direct" {
		return RingMount{}, nil
	}
	f := ringMountForm().FindStringSubmatch(text)
	if f == nil {
		return RingMount{}, fmt.Errorf("ring mount %q: write direct, or the circle of its bolts and their number, as 104/4", s)
	}
	circle, err := strconv.ParseFloat(f[1], 64)
	if err != nil || circle < 50 || circle > 160 {
		return RingMount{}, fmt.Errorf("ring mount %q: a circle of bolts measures 50 to 160 mm", s)
	}
	m := RingMount{Circle: circle}
	if f[2] != "" {
		m.Bolts = int(f[2][0] - '0')
	}
	return m, nil
}

// String writes the mount as ParseRingMount reads it.
func (m RingMount) String() string {
	switch {
	case m.Circle == 0:
		return "direct"
	case m.Bolts == 0:
		return fmt.Sprintf("%g", m.Circle)
	}
	return fmt.Sprintf("%g/%d", m.Circle, m.Bolts)
}

// Chord is the distance in mm of two neighbouring bolts, which a ruler reaches
// where it does not reach the circle: circle × sin(180° / bolts).
func (m RingMount) Chord() float64 {
	if m.Bolts == 0 {
		return 0
	}
	return m.Circle * math.Sin(math.Pi/float64(m.Bolts))
}

// fits reports whether a ring of one mount goes on another.
func (m RingMount) fits(o RingMount) bool {
	return m.Circle == o.Circle && (m.Bolts == o.Bolts || m.Bolts == 0 || o.Bolts == 0)
}

// boltRoom is what a chain needs from the circle of the bolts to its pins, in
// mm: half the height of a plate (4.3) and half a bolt's head (6.5). It gives
// the smallest rings that are sold for 58, 64, 74, 94, 104, 110 and 130 mm.
const boltRoom = 10.8

// Least is the smallest ring, in teeth, whose chain clears the bolts; 0 for a
// direct mount.
func (m RingMount) Least() int {
	if m.Circle == 0 {
		return 0
	}
	return int(math.Ceil(math.Pi/math.Asin(Pitch/2/(m.Circle/2+boltRoom)) - 1e-9))
}
