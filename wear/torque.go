package wear

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// NmPerInLb is one inch-pound of torque in N·m: 0.0254 m × 4.4482216152605 N
// (NIST SP 811, B.8, from memory: 1.129848E-01).
const NmPerInLb = 0.0254 * 4.4482216152605

// Torques that no bolt of a bike is given, in N·m, refused as slips of the pen.
const (
	leastTorque = 0.3
	mostTorque  = 100.0
)

var torqueForm = onUse(`(?i)^\s*([0-9]+(?:[.,][0-9]+)?)\s*(n·?\.?\s*m|in[·.\s-]?lbs?f?|lbf?[·.\s-]?in|ft[·.\s-]?lbs?f?)?\s*$`)

// ParseTorque reads "8Nm", "8 N·m" or "70 in·lb" into N·m. The unit must be
// written: a bare 70 could be either.
func ParseTorque(s string) (nm float64, err error) {
	m := torqueForm().FindStringSubmatch(s)
	if m == nil {
		return 0, fmt.Errorf("torque %q: write it as 8Nm or 70in·lb", s)
	}
	if m[2] == "" {
		return 0, fmt.Errorf("torque %q: write its unit, Nm or in·lb", s)
	}
	if strings.HasPrefix(strings.ToLower(m[2]), "ft") {
		return 0, fmt.Errorf("torque %q: write it as Nm or in·lb (1 ft·lb is 12 in·lb)", s)
	}
	nm, err = strconv.ParseFloat(strings.Replace(m[1], ",", ".", 1), 64)
	if err != nil {
		return 0, fmt.Errorf("torque %q: %w", s, err)
	}
	if !strings.HasPrefix(strings.ToLower(m[2]), "n") {
		nm *= NmPerInLb
	}
	if nm < leastTorque || nm > mostTorque {
		return 0, fmt.Errorf("torque %q: %s is no torque of a bike's bolt", s, Torque(nm))
	}
	return nm, nil
}

// Torque writes N·m with its unit and in·lb beside it: "8 N·m (71 in·lb)".
func Torque(nm float64) string {
	return fmt.Sprintf("%s N·m (%.0f in·lb)", Thousands(math.Round(nm*10)/10), nm/NmPerInLb)
}

// LowerTorque is which of two makers' figures, in N·m, holds: the lower; 0 is
// not given.
func LowerTorque(a, b float64) float64 {
	if a == 0 || b == 0 {
		return max(a, b)
	}
	return min(a, b)
}

// tooMuch is how far above the maker's figure a torque may be signed off before
// it is remarked: a click wrench is good to 4 % (ISO 6789, from memory).
const tooMuch = 1.05

// torque shows the maker's figure where an override gives one, and what was
// signed off above it.
func (j *judge) torque() {
	nm := j.rule.torque
	if nm == 0 {
		return
	}
	j.f.Torque = nm
	j.f.Advice = join(j.f.Advice, ": ", Torque(nm)+" by "+j.rule.sourceOf(figTorque))
	for _, s := range slices.Backward(j.p.signoffsOf(j.job)) {
		if s.Torque == 0 {
			continue
		}
		if s.Torque > nm*tooMuch {
			j.note(fmt.Sprintf("signed off on %s at %s, above the maker's %s", j.a.day(s.At), Torque(s.Torque), Torque(nm)))
		}
		return
	}
}
