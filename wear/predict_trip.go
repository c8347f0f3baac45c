package wear

import (
	"fmt"
	"strconv"
	"strings"
)

// Trip is a ride of some days that is planned. What is not given follows from
// how the bike is ridden.
type Trip struct {
	Days     float64 // at least 1
	Distance float64 // m; 0 = as many as such days have
	Climb    float64 // m; 0 = as such a distance has
	Moving   float64 // s; 0 = as such a distance takes
}

// TripError is a trip that cannot be read.
type TripError struct{ Text, Why string }

// Error says what is wrong.
func (e *TripError) Error() string { return fmt.Sprintf("trip %q: %s", e.Text, e.Why) }

// Hint says how a trip is written.
func (e *TripError) Hint() string {
	return `days or weeks, distance, climb and hours of riding, as far as known: "7 days, 250km, 9000m, 30h"; mi and ft do as well`
}

var tripWord = onUse(`^([0-9]+(?:[.,][0-9]+)*)\s*([a-z]+)\s*(?:,|;|\band\b|\s|$)\s*`)

// tripUnits are what a word of a trip can be in, and how much of SI it is.
var tripUnits = map[string]struct {
	of   string
	unit float64
	most float64
}{
	"d": {"days", 1, 366}, "day": {"days", 1, 366}, "days": {"days", 1, 366},
	"w": {"days", 7, 52}, "week": {"days", 7, 52}, "weeks": {"days", 7, 52},
	"km": {"distance", 1000, 50_000}, "mi": {"distance", 1609.344, 30_000},
	"m": {"climb", 1, 1e6}, "ft": {"climb", 0.3048, 3e6},
	"h": {"hours", 3600, 5000}, "hour": {"hours", 3600, 5000}, "hours": {"hours", 3600, 5000},
}

// ParseTrip reads "7 days, 250km, 9000m": days or weeks, distance, climb and
// hours in any order, each once. Errors are of type *TripError.
func ParseTrip(text string) (Trip, error) {
	var t Trip
	to := map[string]*float64{"days": &t.Days, "distance": &t.Distance, "climb": &t.Climb, "hours": &t.Moving}
	rest := strings.ToLower(strings.TrimSpace(text))
	for first := true; first || rest != ""; first = false {
		m := tripWord().FindStringSubmatch(rest)
		if m == nil || to[tripUnits[m[2]].of] == nil {
			word, _, _ := strings.Cut(rest, ", ")
			return Trip{}, &TripError{text, fmt.Sprintf("%q is neither days, distance, climb nor hours", word)}
		}
		rest = rest[len(m[0]):]
		u := tripUnits[m[2]]
		v, ok := tripNumber(m[1])
		switch {
		case !ok || v <= 0 || v > u.most:
			return Trip{}, &TripError{text, fmt.Sprintf("%s%s: not between 0 and %s %s", m[1], m[2], Thousands(u.most), m[2])}
		case *to[u.of] != 0:
			return Trip{}, &TripError{text, u.of + " given twice"}
		}
		*to[u.of] = v * u.unit
	}
	if t.Days == 0 && t.Distance == 0 && t.Moving == 0 && t.Climb > 0 {
		return Trip{}, &TripError{text, "a climb alone tells no trip"}
	}
	if t.Days == 0 {
		t.Days = 1
	}
	return t, nil
}

var tripThousands = onUse(`^[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?$`)

// tripNumber is a figure with commas between thousands, or with a comma or a
// point before decimals.
func tripNumber(s string) (float64, bool) {
	if tripThousands().MatchString(s) {
		s = strings.ReplaceAll(s, ",", "")
	}
	v, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	return v, err == nil
}

// What a bike that was not ridden yet is taken to do (common practice, no
// published source), and what 100 m of climb add to a way: as much riding as a
// kilometre.
const (
	tripKmPerDay    = 35
	tripSpeed       = 12e3 / 3600 // m/s
	tripTurnsPerKm  = 200
	tripClimbPerKm  = 20.0 // m
	tripBrakingPerM = 500.0
	tripClimbAsWay  = 10.0
	tripSpread      = 0.2 // of the logarithm of what a trip puts through a bike
)

// sums are what the trip puts through the bike, on the grounds and in the way
// that it was ridden on lately, or ever; of a bike that was not ridden, as most are.
func (t Trip) sums(c *Case) Sums {
	base, days := c.Use.Sums, c.Use.Days
	if base.All().Total()[Distance] == 0 {
		base, days = Sums{}, 0
		for _, span := range c.Lines[c.Bike.ID] {
			base = base.Add(span.Sums)
		}
	}
	total := base.All().Total()
	if total[Distance] == 0 {
		base, days = usualDay(), 1
		total = base.All().Total()
	}
	km, climb := total.SI(Distance), total.SI(Climb)
	way := t.way(total, days)
	up := way * climb / km
	if t.Climb > 0 {
		up = t.Climb
	}
	riding := (way + tripClimbAsWay*up) / (km + tripClimbAsWay*climb)
	scale := [NQuantities]float64{Distance: way / km, Climb: riding, Descent: riding, Moving: riding, Turns: riding, Work: riding, Braking: way / km}
	if climb > 0 {
		scale[Climb], scale[Descent], scale[Braking] = up/climb, up/climb, up/climb
	}
	if t.Moving > 0 && total[Moving] > 0 {
		scale[Moving] = t.Moving / total.SI(Moving)
	}
	return t.scaled(base, scale)
}

// way is the distance of the trip: as given, else by its hours or days.
func (t Trip) way(total Load, days float64) float64 {
	switch {
	case t.Distance > 0:
		return t.Distance
	case t.Moving > 0 && total[Moving] > 0:
		return total.SI(Distance) * t.Moving / total.SI(Moving)
	case days > 0:
		return max(total.SI(Distance)/days, tripKmPerDay*1000) * t.Days
	}
	return tripKmPerDay * 1000 * t.Days
}

func usualDay() Sums {
	var l Load
	km := float64(tripKmPerDay)
	l[Distance], l[Climb], l[Descent] = Distance.Stored(km*1000), Climb.Stored(km*tripClimbPerKm), Descent.Stored(km*tripClimbPerKm)
	l[Moving], l[Turns] = Moving.Stored(km*1000/tripSpeed), Turns.Stored(km*tripTurnsPerKm)
	l[Braking] = Braking.Stored(km * tripClimbPerKm * tripBrakingPerM)
	var s Sums
	s[Unmarked] = Sum{Rides: 1, Long: 1, Estimated: l}
	return s
}

// scaled is a day's ride for each day of the trip, of so much of each quantity.
func (t Trip) scaled(base Sums, scale [NQuantities]float64) Sums {
	rides := base.All().Rides
	for g := range base {
		s := &base[g]
		for q := range s.Recorded {
			s.Recorded[q] = int64(float64(s.Recorded[q])*scale[q] + 0.5)
			s.Estimated[q] = int64(float64(s.Estimated[q])*scale[q] + 0.5)
		}
		s.Lacking = [NQuantities]int64{}
		n := int64(t.Days*float64(s.Rides)/float64(max(1, rides)) + 0.5)
		s.Rides, s.Long = n, n
	}
	return base
}
