package desk

import (
	"strconv"
	"strings"

	"pawl/wear"
)

var lengthForm = onUse(`^([+-]?[0-9]{1,4}(?:\.[0-9]{1,3})?)\s*(mm|cm)?$`)

// ParseMM reads a length in mm, "52", "52.5mm" or "43.5cm"; flag is the one
// that gives it, for messages.
func ParseMM(flag, text string) (float64, error) {
	m := lengthForm().FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return 0, mistake("write a length in mm: --"+flag+" 52 or 52.5mm", "--%s %q: not a length in mm", flag, text)
	}
	v, _ := strconv.ParseFloat(m[1], 64) // the form admits numbers only
	if m[2] == "cm" {
		v *= 10
	}
	return v, nil
}

// ParseMMs reads a length in mm for each of some bolts, "1,1,1.5".
func ParseMMs(flag, text string) ([]float64, error) {
	var list []float64
	for word := range strings.SplitSeq(text, ",") {
		v, err := ParseMM(flag, word)
		if err != nil {
			return nil, mistake("one for each bolt, a point before decimals: --"+flag+" 1,1,1.5", "--%s %q: %q is not a length in mm", flag, text, word)
		}
		list = append(list, v)
	}
	return list, nil
}

// ParseTorques reads a torque with its unit for each of some bolts, "8Nm,8Nm,7Nm".
func ParseTorques(text string) ([]float64, error) {
	var list []float64
	for word := range strings.SplitSeq(text, ",") {
		nm, err := wear.ParseTorque(word)
		if err != nil {
			return nil, mistake("one for each bolt, each with its unit, a point before decimals: 8Nm,8Nm,7.5Nm", "%v", err)
		}
		list = append(list, nm)
	}
	return list, nil
}

var angleForm = onUse(`^([+-]?[0-9]{1,3}(?:\.[0-9]{1,2})?)\s*(°|deg)?$`)

// ParseAngle reads an angle in degrees, "-2.5" or "3°".
func ParseAngle(text string) (float64, error) {
	m := angleForm().FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return 0, mistake("write degrees, forward positive: --angle 2.5, or --angle -2.5", "--angle %q: not an angle", text)
	}
	v, _ := strconv.ParseFloat(m[1], 64) // the form admits numbers only
	return v, nil
}

var rangeForm = onUse(`^([0-9]{2})\s*(?:-|–|to)\s*([0-9]{2})$`)

// ParseTeethRange reads the rings that a guide takes, "28-36".
func ParseTeethRange(text string) (least, most int, err error) {
	m := rangeForm().FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return 0, 0, mistake("write the smallest and the largest ring: --guide-range 28-36", "--guide-range %q: not a range of teeth", text)
	}
	least, _ = strconv.Atoi(m[1]) // the form admits numbers only
	most, _ = strconv.Atoi(m[2])
	return least, most, nil
}

// LotPoints are the words for what the parking-lot check of a guide goes
// through.
var LotPoints = []string{"shifting", "rub", "clearance"}

// ParseLot makes a parking-lot check: all passed but what failed or was left out.
func ParseLot(failed, left []string) (*wear.ParkingLot, error) {
	var lot wear.ParkingLot
	answers := map[string]*wear.Answer{LotPoints[0]: &lot.Shifts, LotPoints[1]: &lot.NoRub, LotPoints[2]: &lot.Clear}
	for _, a := range answers {
		*a = wear.Passed
	}
	named := map[string]bool{}
	for _, l := range []struct {
		flag  string
		words []string
		is    wear.Answer
	}{{"fails", failed, wear.Failed}, {"unchecked", left, wear.NotAnswered}} {
		for _, w := range l.words {
			a := answers[strings.TrimSpace(w)]
			if a == nil || named[w] {
				return nil, mistake("shifting, rub or clearance, each once, as --fails rub,clearance", "--%s %q: not a point of the parking-lot check, or named twice", l.flag, w)
			}
			*a, named[w] = l.is, true
		}
	}
	return &lot, nil
}
