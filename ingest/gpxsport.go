package ingest

import (
	"strings"
	"unicode"
)

// rideWords name riding a bike. One of them outweighs any other word: a
// "cyclocross run" is a ride.
var rideWords = words("bike biking bicycle cycle cycling cyclocross ebike ebikeride mountainbike mountainbiking " +
	"mtb ride bikepacking gravel downhill enduro handcycle velomobile virtualride ebiking")

// otherWords name what is done without a bike, or with a motor, in the words
// of programs that write GPX.
var otherWords = map[string]string{
	"walk": "a walk", "walking": "a walk", "hike": "a walk", "hiking": "a walk", "trekking": "a walk",
	"mountaineering": "a walk", "snowshoe": "a walk", "snowshoeing": "a walk",
	"run": "a run", "running": "a run", "jogging": "a run", "trailrun": "a run", "trailrunning": "a run", "treadmill": "a run",
	"virtualrun": "a run", "swim": "a swim", "swimming": "a swim",
	"ski": "skiing", "skiing": "skiing", "alpineski": "skiing", "backcountryski": "skiing", "nordicski": "skiing",
	"snowboard": "skiing", "snowboarding": "skiing", "rowing": "rowing", "kayaking": "paddling", "canoeing": "paddling",
	"paddling": "paddling", "sailing": "sailing", "skating": "skating", "driving": "a drive", "car": "a drive",
	"motorcycling": "a drive", "motorcycle": "a drive", "motorbike": "a drive", "flying": "a flight", "horseback": "riding a horse",
}

var indoorWords = words("indoor virtual virtualride trainer spinning")

func words(list string) map[string]bool {
	set := map[string]bool{}
	for _, w := range strings.Fields(list) {
		set[w] = true
	}
	return set
}

func lowered(s string) string { return strings.ToLower(strings.TrimSpace(s)) }

// wordsOf splits "Mountain_Biking" into its words.
func wordsOf(sport string) []string {
	return strings.FieldsFunc(lowered(sport), func(r rune) bool { return !unicode.IsLetter(r) })
}

// otherSport says what a sport is that is surely no ride of a bike, "" where
// it is one or nobody knows: a file of riding is the rule.
func otherSport(sport string) string {
	what := ""
	for _, w := range wordsOf(sport) {
		if rideWords[w] {
			return ""
		}
		if what == "" {
			what = otherWords[w]
		}
	}
	return what
}

func indoorSport(sport string) bool {
	for _, w := range wordsOf(sport) {
		if indoorWords[w] {
			return true
		}
	}
	return false
}
