package wear

import (
	"cmp"
	"fmt"
	"math"
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

// Key is what tells the sensor from others; false where nothing does.
func (s Sensor) Key() (SensorKey, bool) {
	switch {
	case isSerial(s.Serial):
		return SensorKey{Type: s.Type, Serial: s.Serial}, true
	case isANT(s.ANT):
		return SensorKey{Type: s.Type, ANT: s.ANT}, true
	}
	return SensorKey{}, false
}

// isSerial reports whether n is a serial number: 0 and all ones, of 16 bits or
// of 32, are what devices write where they have none.
func isSerial(n uint32) bool { return n != 0 && n != math.MaxUint16 && n != math.MaxUint32 }

func isANT(n uint16) bool { return n != 0 && n != math.MaxUint16 }

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
	return slices.DeleteFunc(bolted(r.Sensors), func(k SensorKey) bool {
		return r.Ground.Indoor() && k.trainersSend()
	})
}

// bolted are the sensors that belong to a bike, each once, in an order that
// does not depend on the file's.
func bolted(sensors []Sensor) (keys []SensorKey) {
	for _, s := range sensors {
		if k, ok := s.Key(); ok && s.Bolted() {
			keys = append(keys, k)
		}
	}
	slices.SortFunc(keys, func(a, b SensorKey) int {
		return cmp.Or(cmp.Compare(a.Type, b.Type), cmp.Compare(a.Serial, b.Serial), cmp.Compare(a.ANT, b.ANT))
	})
	return slices.Compact(keys)
}

// trainersSend reports whether a trainer may pose as such a sensor.
func (k SensorKey) trainersSend() bool {
	return k.Type != typeShifting && k.Type != typeANTFS && k.Type != typeEBike
}

// String names the sensor as a match does: "shifter 4711", or "shifter ANT 12".
func (k SensorKey) String() string {
	noun := sensorNouns[k.Type]
	if noun == "" {
		noun = fmt.Sprintf("type-%d device", k.Type)
	}
	return noun + " " + k.number()
}

func (k SensorKey) number() string {
	if k.Serial != 0 {
		return strconv.FormatUint(uint64(k.Serial), 10)
	}
	return "ANT " + strconv.Itoa(int(k.ANT))
}

// Names reports whether text names the sensor: as [SensorKey.String] does, or
// by its number alone. Case does not matter.
func (k SensorKey) Names(text string) bool {
	text = oneSpaced(text)
	return text == strings.ToLower(k.String()) || text == strings.ToLower(k.number())
}

// namesBolted reports whether text can name a sensor that belongs to a bike.
func namesBolted(text string) bool {
	for t := range sensorNouns {
		if k, ok := keyIn(oneSpaced(text), t); ok && k.Names(text) {
			return true
		}
	}
	return false
}

// keyIn is the sensor of a type with the number at the end of a text.
func keyIn(text string, t uint8) (SensorKey, bool) {
	number := text[strings.LastIndexByte(text, ' ')+1:]
	n, err := strconv.ParseUint(number, 10, 32)
	s := Sensor{Type: t, Serial: uint32(n)}
	if strings.HasSuffix(text, "ant "+number) {
		if n > math.MaxUint16 {
			return SensorKey{}, false
		}
		s = Sensor{Type: t, ANT: uint16(n)}
	}
	k, ok := s.Key()
	return k, ok && err == nil
}

// oneSpaced is a text in lower case with one space between its words.
func oneSpaced(text string) string { return strings.Join(strings.Fields(strings.ToLower(text)), " ") }
