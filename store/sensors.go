package store

import (
	"encoding/binary"
	"fmt"

	"pawl/wear"
)

// tally counts rides by the sensor that they name and by their bike.
type tally = map[wear.SensorKey]map[wear.ID]int

// sensorKey is where the told rides of a bike that name a sensor are counted.
func sensorKey(s wear.SensorKey, bike wear.ID) []byte {
	k := append(make([]byte, 0, 15), s.Type)
	k = binary.BigEndian.AppendUint32(k, s.Serial)
	k = binary.BigEndian.AppendUint16(k, s.ANT)
	return be64(k, uint64(bike))
}

// sensorOf is the inverse of sensorKey.
func sensorOf(k []byte) (wear.SensorKey, wear.ID) {
	s := wear.SensorKey{Type: k[0], Serial: binary.BigEndian.Uint32(k[1:]), ANT: binary.BigEndian.Uint16(k[5:])}
	return s, idOf(k[7:])
}

// Told counts, for every sensor, the rides of each bike that name it among their
// [wear.Ride.Witnesses]: those whose bike the user named, twins too, none that
// was taken back.
func (t *Tx) Told() (map[wear.SensorKey]map[wear.ID]int, error) {
	if t.bucket(bktSensors) == nil { // an older book
		return t.countTold()
	}
	counts := tally{}
	for k, v := range t.under(bktSensors, nil) {
		if err := t.tellRow(counts, k, v); err != nil {
			return nil, err
		}
	}
	return counts, nil
}

// ToldOf counts of some sensors what [Tx.Told] counts of all.
func (t *Tx) ToldOf(sensors []wear.SensorKey) (map[wear.SensorKey]map[wear.ID]int, error) {
	if t.bucket(bktSensors) == nil {
		return t.countTold()
	}
	counts := tally{}
	for _, s := range sensors {
		for k, v := range t.under(bktSensors, sensorKey(s, 0)[:7]) {
			if err := t.tellRow(counts, k, v); err != nil {
				return nil, err
			}
		}
	}
	return counts, nil
}

// tellRow adds a row of the counts.
func (t *Tx) tellRow(counts tally, k, v []byte) error {
	if len(k) != 15 || len(v) != 4 {
		return t.corrupt("sensors", k, fmt.Errorf("%d bytes under %d", len(v), len(k)))
	}
	sensor, bike := sensorOf(k)
	tell(counts, sensor, bike, int(binary.BigEndian.Uint32(v)))
	return nil
}

func tell(counts tally, sensor wear.SensorKey, bike wear.ID, n int) {
	if counts[sensor] == nil {
		counts[sensor] = map[wear.ID]int{}
	}
	counts[sensor][bike] += n
}

// countTold counts from the rides alone.
func (t *Tx) countTold() (tally, error) {
	counts := tally{}
	c := t.bucket(bktRides).Cursor()
	for k, v := c.Seek(id8(1)); k != nil; k, v = c.Next() { // bike 0 is none
		sensors, err := t.witnesses(k, v)
		if err != nil {
			return nil, err
		}
		for _, s := range sensors {
			tell(counts, s, idOf(k), 1)
		}
	}
	return counts, nil
}

// witnesses are the sensors by which a ride tells of its bike. Only one whose
// bike the user named tells anything; of others no more than the figures are
// unpacked. The rows in old books hold what [wear.Ride.Witnesses] was when they
// were written: if it changes, a migration must count anew.
func (t *Tx) witnesses(key, raw []byte) ([]wear.SensorKey, error) {
	if raw == nil || idOf(key) == 0 {
		return nil, nil
	}
	ride, r := rideFigures(raw)
	if r.err != nil {
		return nil, t.corrupt("ride", key, r.err)
	}
	if ride.Rule != wear.Told || ride.State == wear.Void {
		return nil, nil
	}
	ride, err := t.unpackRide(key, raw)
	return ride.Witnesses(), err
}

// followSensors counts what a ride tells n times more: 1 or -1.
func (t *Tx) followSensors(key, raw []byte, n int) error {
	sensors, err := t.witnesses(key, raw)
	if err != nil {
		return err
	}
	for _, s := range sensors {
		if err := t.adjustSensor(sensorKey(s, idOf(key)), n); err != nil {
			return err
		}
	}
	return nil
}

// adjustSensor adds n to a count. One of nothing has no row.
func (t *Tx) adjustSensor(key []byte, n int) error {
	b := t.bucket(bktSensors)
	if v := b.Get(key); len(v) == 4 {
		n += int(binary.BigEndian.Uint32(v))
	}
	if n <= 0 {
		return b.Delete(key)
	}
	return b.Put(key, packCount(n))
}

func packCount(n int) []byte { return binary.BigEndian.AppendUint32(nil, uint32(n)) }

// deriveSensors counts anew.
func (t *Tx) deriveSensors(out emit) error {
	counts, err := t.countTold()
	if err != nil {
		return err
	}
	for sensor, bikes := range counts {
		for bike, n := range bikes {
			if err := out(bktSensors, sensorKey(sensor, bike), packCount(n)); err != nil {
				return err
			}
		}
	}
	return nil
}
