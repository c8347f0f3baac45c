package wear

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

const (
	trail ID = 1 + iota
	enduro
	hardtail // retired on day 100
)

// The sensors of these tests, and what a ride outdoors has of them.
var (
	trailShifter  = Sensor{Type: typeShifting, Serial: 11}
	trailPower    = Sensor{Type: typePower, Serial: 12}
	enduroShifter = Sensor{Type: typeShifting, Serial: 21}
	oldSpeed      = Sensor{Type: typeSpeed, Serial: 31}
	pedals        = Sensor{Type: typePower, Serial: 99} // told of two bikes
	strap         = Sensor{Type: 120, Serial: 5}
)

func key(s Sensor) SensorKey { return SensorKey{Type: s.Type, Serial: s.Serial} }

// someSigns are three bikes, their sensors and some matches.
func someSigns(matches ...BikeMatch) *Signs {
	for i := range matches {
		matches[i].ID = uint64(i + 1)
	}
	return &Signs{
		Bikes: []Candidate{{trail, "Trail", Never}, {enduro, "Enduro", Never}, {hardtail, "Hardtail", days(100)}},
		Told: map[SensorKey]map[ID]int{
			key(trailShifter): {trail: 3}, key(trailPower): {trail: 1}, key(enduroShifter): {enduro: 2},
			key(oldSpeed): {hardtail: 4}, key(pedals): {trail: 1, enduro: 2}, key(strap): {trail: 9},
		},
		Matches: matches,
	}
}

func always(bike ID, m Match) BikeMatch { return BikeMatch{Match: m, Bike: bike, From: Ever} }

func on(day float64, bike ID, m Match) BikeMatch {
	return BikeMatch{Match: m, Bike: bike, From: days(day)}
}

// Each rule on its own, and above all that come after it.
func TestWhoseRules(t *testing.T) {
	folder := always(hardtail, Match{Folder: "/rides/old"})
	s := someSigns(folder)
	c := Clues{At: days(1), Folder: "/rides/old/x", Profile: "enduro", Sensors: []Sensor{strap, trailShifter, trailPower}}
	assert.Equal(t, Whose{trail, BySensor, "power meter 12, shifter 11"}, s.Whose(c))
	c.Sensors = []Sensor{strap}
	assert.Equal(t, Whose{enduro, ByProfile, `profile "enduro"`}, s.Whose(c))
	c.Profile = "road"
	assert.Equal(t, Whose{hardtail, ByMatch, `folder "/rides/old"`}, s.Whose(c))
	c.Folder = "/rides/new"
	assert.Equal(t, Whose{Because: "nothing in the file tells which of 3 bikes"}, s.Whose(c))
	s.Bikes = s.Bikes[:1]
	assert.Equal(t, Whose{Bike: trail, Rule: OnlyBike}, s.Whose(c))
	s.Bikes = nil
	assert.Equal(t, Whose{Because: "there was no bike then"}, s.Whose(c))
}

func TestWhoseBySensor(t *testing.T) {
	twoBikes := "its sensors are of 2 bikes: shifter 11 of Trail and shifter 21 of Enduro"
	contested := "power meter 99 was on 2 bikes: Trail (1 ride) and Enduro (2 rides)"
	none := "nothing in the file tells which of 3 bikes"
	for _, tt := range []struct {
		name    string
		sensors []Sensor
		indoor  bool
		want    Whose
	}{
		{"two shifters on one head unit", []Sensor{enduroShifter, trailShifter}, false, Whose{Because: twoBikes}},
		{"one of them new", []Sensor{{Type: typeShifting, Serial: 500}, trailShifter}, false, Whose{trail, BySensor, "shifter 11"}},
		{"contested", []Sensor{pedals}, false, Whose{Because: contested}},
		{"contested, beside a clear one", []Sensor{pedals, enduroShifter}, false, Whose{enduro, BySensor, "shifter 21"}},
		{"a strap", []Sensor{strap}, false, Whose{Because: none}},
		{"one reported twice", []Sensor{trailShifter, trailShifter}, false, Whose{trail, BySensor, "shifter 11"}},
		{"no serial number", []Sensor{{Type: typeShifting}, {Type: typeShifting, Serial: 65535}}, false, Whose{Because: none}},
		{"the number of another type", []Sensor{{Type: typePower, Serial: 11}}, false, Whose{Because: none}},
		{"power indoors may be the trainer's", []Sensor{trailPower}, true, Whose{Because: none}},
		{"contested power indoors", []Sensor{pedals}, true, Whose{Because: none}},
		{"shifting indoors", []Sensor{trailPower, enduroShifter}, true, Whose{enduro, BySensor, "shifter 21"}},
	} {
		assert.Equal(t, tt.want, someSigns().Whose(Clues{At: days(1), Sensors: tt.sensors, Indoor: tt.indoor}), tt.name)
	}
}

// A contested sensor is asked about also where something else decides.
func TestWhoseContestedSensor(t *testing.T) {
	c := Clues{At: days(1), Sensors: []Sensor{pedals}, Profile: "trail"}
	doubt := []string{"power meter 99 was on 2 bikes: Trail (1 ride) and Enduro (2 rides)"}
	s := someSigns()
	assert.Equal(t, trail, s.Whose(c).Bike)
	assert.Equal(t, doubt, s.Torn(c))

	s.Matches = []BikeMatch{on(10, enduro, Match{Sensor: "power meter 99"})}
	assert.Equal(t, doubt, s.Torn(c), "before the answer holds")
	c.At = days(10)
	assert.Equal(t, Whose{enduro, BySensor, "power meter 99"}, s.Whose(c))
	assert.Empty(t, s.Torn(c), "the user has answered")

	s = someSigns()
	s.Bikes[0].Retired = days(5)
	assert.Equal(t, enduro, s.Whose(c).Bike, "the other bike is retired")
	assert.Empty(t, s.Torn(c))
	s.Told[key(pedals)][hardtail] = 1
	s.Bikes[0].Retired = Never
	assert.Equal(t, []string{"power meter 99 was on 3 bikes: Trail (1 ride) and Enduro (2 rides) and Hardtail (1 ride)"}, s.Torn(c))
}

func TestWhoseSensorMatch(t *testing.T) {
	shifter := Match{Sensor: "shifter 11"}
	moved := someSigns(always(trail, shifter), on(10, enduro, Match{Sensor: "11"}), on(20, hardtail, shifter))
	for day, want := range map[float64]Whose{
		9:   {trail, BySensor, "shifter 11"},
		10:  {enduro, BySensor, "shifter 11"},
		19:  {enduro, BySensor, "shifter 11"},
		20:  {hardtail, BySensor, "shifter 11"},
		100: {Because: "shifter 11 is of Hardtail, which was retired"},
	} {
		assert.Equal(t, want, moved.Whose(Clues{At: days(day), Sensors: []Sensor{trailShifter}}), "day %v", day)
	}

	again := someSigns(on(1, trail, shifter), on(1, enduro, shifter))
	assert.Equal(t, enduro, again.Whose(Clues{At: days(1), Sensors: []Sensor{trailShifter}}).Bike, "of two of one day the later word")

	power := someSigns(always(enduro, Match{Sensor: "power meter 12"}))
	assert.Equal(t, enduro, power.Whose(Clues{Sensors: []Sensor{trailPower}, Indoor: true}).Bike, "the user's word holds indoors")
	assert.Equal(t, "its sensors are of 2 bikes: shifter 11 of Trail and power meter 12 of Enduro",
		power.Whose(Clues{Sensors: []Sensor{trailShifter, trailPower}}).Because)

	worn := someSigns(always(enduro, Match{Sensor: "5"}), always(enduro, Match{Sensor: "5", Folder: "/"}))
	assert.Zero(t, worn.Whose(Clues{Folder: "/", Sensors: []Sensor{strap}}).Bike, "a strap never decides")
}

// Of matches that say the same, the one in force last takes over.
func TestWhoseLaterMatch(t *testing.T) {
	s := someSigns(always(trail, Match{Folder: "/sync"}), on(10, enduro, Match{Folder: "/sync"}))
	assert.Equal(t, trail, s.Whose(Clues{Folder: "/sync/x", At: days(10) - 1}).Bike)
	assert.Equal(t, enduro, s.Whose(Clues{Folder: "/sync/x", At: days(10)}).Bike)
}

func TestWhoseRetired(t *testing.T) {
	s := someSigns(always(hardtail, Match{Folder: "/old"}))
	for name, c := range map[string]Clues{
		"sensor": {Sensors: []Sensor{oldSpeed}}, "profile": {Profile: "Hardtail"}, "match": {Folder: "/old"},
	} {
		c.At = days(100) - 1
		assert.Equal(t, hardtail, s.Whose(c).Bike, name)
		c.At = days(100)
		why := "nothing in the file tells which of 2 bikes"
		if name == "sensor" {
			why = "speed sensor 31 is of Hardtail, which was retired"
		}
		assert.Equal(t, Whose{Because: why}, s.Whose(c), name)
	}
	s.Bikes[0].Retired = days(100)
	assert.Equal(t, Whose{Bike: enduro, Rule: OnlyBike}, s.Whose(Clues{At: days(100)}))
	// It may have moved to the only bike that is left, or the ride is an old one: the user is asked.
	assert.Equal(t, Whose{Because: "shifter 11 is of Trail, which was retired"}, s.Whose(Clues{At: days(100), Sensors: []Sensor{trailShifter}}))
	s.Bikes[1].Retired = days(100)
	assert.Equal(t, "there was no bike then", s.Whose(Clues{At: days(100)}).Because)
}

func TestWhoseProfile(t *testing.T) {
	s := someSigns()
	for profile, want := range map[string]ID{"Trail": trail, " en-duro ": enduro, "ENDURO": enduro, "trail2": 0, "": 0, "--": 0} {
		assert.Equal(t, want, s.Whose(Clues{Profile: profile}).Bike, profile)
	}
	s.Bikes[2].Name = "en duro"
	assert.Equal(t, Whose{Because: `profile "enduro" may be Enduro or en duro`}, s.Whose(Clues{Profile: "enduro"}))
	assert.Equal(t, enduro, s.Whose(Clues{Profile: "Enduro"}).Bike, "the very name")
	s.Bikes[2].Name = "-"
	assert.Zero(t, s.Whose(Clues{}).Bike, "no profile is no name")

	s = someSigns(always(hardtail, Match{Profile: "trail"}), always(enduro, Match{Folder: "/", Indoor: &no}))
	assert.Equal(t, Whose{hardtail, ByProfile, `profile "trail"`}, s.Whose(Clues{Profile: "Trail", Folder: "/x"}), "the user's word for the profile")
	s.Matches = append(s.Matches, always(enduro, Match{Profile: "TRAIL"}))
	assert.Equal(t, `matches of 2 bikes: profile "TRAIL" of Enduro and profile "trail" of Hardtail`, s.Whose(Clues{Profile: "trail"}).Because)
}

func TestWhoseMatch(t *testing.T) {
	s := someSigns(
		always(trail, Match{Folder: "/rides"}), always(enduro, Match{Folder: "/rides/anna"}), always(trail, Match{Folder: "/rides/anna", File: "*.gpx"}),
		always(trail, Match{Device: "900"}), always(hardtail, inside), on(10, enduro, Match{Device: "Unit 5"}),
		always(trail, Match{Folder: "/rides/"}),
	)
	for _, tt := range []struct {
		c    Clues
		want Whose
	}{
		{Clues{Folder: "/rides/annabel"}, Whose{trail, ByMatch, `folder "/rides"`}},
		{Clues{Folder: "/rides/anna/2026"}, Whose{enduro, ByMatch, `folder "/rides/anna"`}},
		{Clues{Folder: "/rides/anna", File: "a.gpx"}, Whose{trail, ByMatch, `folder "/rides/anna", file "*.gpx"`}},
		{Clues{Device: Sensor{Serial: 900}}, Whose{trail, ByMatch, `device "900"`}},
		{Clues{Device: Sensor{Serial: 900}, Indoor: true}, Whose{Because: `matches of 2 bikes: device "900" of Trail and indoors of Hardtail`}},
		{Clues{Device: Sensor{Serial: 900}, Indoor: true, At: days(100)}, Whose{trail, ByMatch, `device "900"`}},
		{Clues{Device: Sensor{Name: "unit 5"}, At: days(10) - 1}, Whose{Because: "nothing in the file tells which of 3 bikes"}},
		{Clues{Device: Sensor{Name: "unit 5"}, At: days(10)}, Whose{enduro, ByMatch, `device "Unit 5"`}},
	} {
		assert.Equal(t, tt.want, s.Whose(tt.c), "%+v", tt.c)
	}
}

// The order of bikes, matches and sensors changes no answer, word for word.
func TestWhoseWhateverTheOrder(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s, c := drawSigns(rt), drawClues(rt)
		want, torn := s.Whose(c), s.Torn(c)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		r.Shuffle(len(s.Bikes), func(i, j int) { s.Bikes[i], s.Bikes[j] = s.Bikes[j], s.Bikes[i] })
		r.Shuffle(len(s.Matches), func(i, j int) { s.Matches[i], s.Matches[j] = s.Matches[j], s.Matches[i] })
		r.Shuffle(len(c.Sensors), func(i, j int) { c.Sensors[i], c.Sensors[j] = c.Sensors[j], c.Sensors[i] })
		assert.Equal(rt, want, s.Whose(c))
		assert.Equal(rt, torn, s.Torn(c))
	})
}

// A bike that is found was ridden then, by a rule; one that is not has a reason.
// What is not bolted to a bike changes nothing.
func TestWhoseAnswersOrSaysWhy(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s, c := drawSigns(rt), drawClues(rt)
		w := s.Whose(c)
		if w.Bike == 0 {
			assert.Equal(rt, NoRule, w.Rule)
			assert.NotEmpty(rt, w.Because)
		} else {
			assert.NotEqual(rt, NoRule, w.Rule)
			assert.Equal(rt, w.Rule == OnlyBike, w.Because == "")
			assert.Len(rt, only(s.ridden(c.At), func(b Candidate) bool { return b.ID == w.Bike }), 1)
		}
		c.Sensors = append(c.Sensors, Sensor{Type: 120, Serial: 1}, Sensor{Type: 17, Serial: 1}, Sensor{Type: typeANTFS, Maker: 1, Serial: 1})
		assert.Equal(rt, w, s.Whose(c))
	})
}

func drawSigns(rt *rapid.T) *Signs {
	s := &Signs{Told: map[SensorKey]map[ID]int{}}
	for id := range ID(rapid.IntRange(0, 4).Draw(rt, "bikes")) {
		s.Bikes = append(s.Bikes, Candidate{id + 1, rapid.SampledFrom([]string{"Trail", "trail", "Enduro", "x"}).Draw(rt, "name"),
			rapid.SampledFrom([]Instant{Never, Never, days(2)}).Draw(rt, "retired")})
	}
	bike := rapid.Custom(func(rt *rapid.T) ID { return ID(rapid.IntRange(1, 5).Draw(rt, "bike")) })
	for i := range rapid.IntRange(0, 6).Draw(rt, "matches") {
		m := Match{
			Folder:  rapid.SampledFrom([]string{"", "/", "/a", "/a/b"}).Draw(rt, "folder"),
			Profile: rapid.SampledFrom([]string{"", "trail"}).Draw(rt, "profile"),
			Sensor:  rapid.SampledFrom([]string{"", "1", "shifter 2", "power meter ANT 1"}).Draw(rt, "sensor"),
			Indoor:  rapid.SampledFrom([]*bool{nil, &yes, &no}).Draw(rt, "indoor"),
		}
		if m.check() == nil {
			s.Matches = append(s.Matches, BikeMatch{m, uint64(i), bike.Draw(rt, "of"), rapid.SampledFrom([]Instant{Ever, days(1)}).Draw(rt, "from")})
		}
	}
	for range rapid.IntRange(0, 6).Draw(rt, "told") {
		if k, ok := drawSensor(rt, "told").Key(); ok {
			s.Told[k] = map[ID]int{bike.Draw(rt, "first"): 1, bike.Draw(rt, "second"): 2}
		}
	}
	return s
}

func drawClues(rt *rapid.T) Clues {
	c := Clues{
		At:      days(float64(rapid.IntRange(0, 3).Draw(rt, "day"))),
		Folder:  rapid.SampledFrom([]string{"", "/a", "/a/b/c"}).Draw(rt, "lay in"),
		Profile: rapid.SampledFrom([]string{"", "", "Trail", "TRAIL", "enduro"}).Draw(rt, "device says"),
		Indoor:  rapid.Bool().Draw(rt, "indoors"),
	}
	for range rapid.IntRange(0, 4).Draw(rt, "sensors") {
		c.Sensors = append(c.Sensors, drawSensor(rt, "sensor"))
	}
	return c
}

// Why a ride of a fleet has no bike is told in a line, however many could be it.
func TestWhoseAmongThousands(t *testing.T) {
	s := Signs{Told: map[SensorKey]map[ID]int{key(pedals): {}}}
	for id := ID(1); id <= 10_000; id++ {
		s.Bikes = append(s.Bikes, Candidate{id, "Hire", Never})
		s.Told[key(pedals)][id] = 1
		if id < 256 { // as many ways to write it
			s.Matches = append(s.Matches, BikeMatch{Match: Match{Device: inCase("headunit", id)}, ID: uint64(id), Bike: id, From: Ever})
		}
	}
	five := "Hire or Hire or Hire or Hire or Hire"
	assert.Equal(t, `profile "Hire" may be `+five+" or 9995 others", s.Whose(Clues{Profile: "Hire"}).Because)
	for _, c := range []Clues{{Device: Sensor{Name: "headunit"}}, {Sensors: []Sensor{pedals}}} {
		because := s.Whose(c).Because
		assert.Regexp(t, `\d+ bikes: .* and \d+ others$`, because)
		assert.Less(t, len(because), 300)
	}
	assert.Equal(t, "a or b or c or d or e or f", some([]string{"a", "b", "c", "d", "e", "f"}, " or "), "the last is no longer than its number")
}

// inCase is a word with those letters in upper case that the bits of n say.
func inCase(word string, n ID) string {
	out := []byte(word)
	for i := range out {
		if n>>i&1 == 1 {
			out[i] -= 'a' - 'A'
		}
	}
	return string(out)
}
