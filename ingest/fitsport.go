package ingest

import (
	"fmt"
	"strings"

	"github.com/muktihari/fit/profile/typedef"
)

// unnamed reports whether a sport is generic, all or absent.
func unnamed(sport byte) bool {
	return sport == byte(typedef.SportGeneric) || sport >= byte(typedef.SportAll)
}

// cycled reports whether a session was ridden. Gym programs name the equipment
// as the sport and cycling below it.
func cycled(sport, sub byte) bool {
	switch typedef.Sport(sport) {
	case typedef.SportCycling, typedef.SportEBiking:
		return true
	case typedef.SportFitnessEquipment:
		return typedef.SubSport(sub) == typedef.SubSportIndoorCycling || typedef.SubSport(sub) == typedef.SubSportSpin
	}
	return false
}

// indoor reports whether a session was ridden on the spot. A velodrome is not:
// the bike rolls there.
func indoor(sub byte) bool {
	switch typedef.SubSport(sub) {
	case typedef.SubSportIndoorCycling, typedef.SubSportSpin, typedef.SubSportVirtualActivity, typedef.SubSportIndoorHandCycling:
		return true
	}
	return false
}

// sportName is a sport in the profile's own word; "" where none is named.
func sportName(sport byte) string {
	if sport >= byte(typedef.SportAll) {
		return ""
	}
	if name := typedef.Sport(sport).String(); !strings.Contains(name, "Invalid") {
		return name
	}
	return fmt.Sprintf("sport %d", sport)
}
