package wear

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// ANT+ device types (FIT profile, antplus_device_type) of what is bolted to a bike.
const (
	typeANTFS    = 1 // as electronic shifting of some makers reports itself
	typePower    = 11
	typeEBike    = 20 // "light electric vehicle": the bike itself
	typeShifting = 34
	typeBoth     = 121 // speed and cadence
	typeCadence  = 122
	typeSpeed    = 123
)

// shiftingMakers are the makers of electronic shifting (FIT profile,
// manufacturer) that report it as type 1.
var shiftingMakers = []uint16{41, 100, 268}

var sensorNouns = map[uint8]string{
	typeANTFS: "shifter", typePower: "power meter", typeEBike: "e-bike", typeShifting: "shifter",
	typeBoth: "speed and cadence sensor", typeCadence: "cadence sensor", typeSpeed: "speed sensor",
}

// SensorKey tells a sensor from all others: by its type and serial number, by
// its type and ANT number where it has no serial number.
type SensorKey struct {
	Type   uint8
	Serial uint32
	ANT    uint16
}

// Key is what tells the sensor from others; false where nothing does. A serial
// number of 0 or of all ones is none.
func (s Sensor) Key() (SensorKey, bool) {
	switch {
	case s.Serial != 0 && s.Serial != 0xffff && s.Serial != 0xffffffff:
		return SensorKey{Type: s.Type, Serial: s.Serial}, true
	case s.ANT != 0 && s.ANT != 0xffff:
		return SensorKey{Type: s.Type, ANT: s.ANT}, true
	}
	return SensorKey{}, false
}

// Bolted reports whether such a sensor belongs to a bike: shifting, power, speed
// and cadence do, straps, lights, trainers and head units travel.
func (s Sensor) Bolted() bool {
	if s.Type == typeANTFS {
		return slices.Contains(shiftingMakers, s.Maker)
	}
	return sensorNouns[s.Type] != ""
}

// Witnesses are the sensors by which a ride may tell its bike: those bolted to
// it. Indoors, where a trainer sends power, speed and cadence of its own, only
// the shifting and the e-bike itself are.
func (r Ride) Witnesses() []SensorKey {
	return witnesses(r.Sensors, r.Ground.Indoor())
}

func witnesses(sensors []Sensor, indoor bool) (keys []SensorKey) {
	for _, s := range sensors {
		stays := s.Type == typeShifting || s.Type == typeANTFS || s.Type == typeEBike
		if k, ok := s.Key(); ok && s.Bolted() && (stays || !indoor) && !slices.Contains(keys, k) {
			keys = append(keys, k)
		}
	}
	return keys
}

// String names the sensor as a match does: "shifter 4711", or "shifter ANT 12".
func (k SensorKey) String() string {
	noun := sensorNouns[k.Type]
	if noun == "" {
		noun = fmt.Sprintf("type-%d device", k.Type)
	}
	if k.Serial != 0 {
		return fmt.Sprintf("%s %d", noun, k.Serial)
	}
	return fmt.Sprintf("%s ANT %d", noun, k.ANT)
}

// Names reports whether text names the sensor: as [SensorKey.String] does, or
// by its number alone.
func (k SensorKey) Names(text string) bool {
	text = strings.ToLower(strings.TrimSpace(text))
	if text == strings.ToLower(k.String()) {
		return true
	}
	if k.Serial != 0 {
		return text == strconv.FormatUint(uint64(k.Serial), 10)
	}
	return text == "ant "+strconv.Itoa(int(k.ANT))
}
