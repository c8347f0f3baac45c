package ingest

import "pawl/wear"

// maxFITSensors bounds the sensors of one file: more are not ridden with.
const maxFITSensors = 64

// Source types of device_info (FIT profile).
const (
	sourceBluetooth = 3
	sourceWifi      = 4
	sourceLocal     = 5
)

// bluetoothType is the ANT+ type of each Bluetooth sensor type of the FIT
// profile: heart rate, power, speed and cadence, speed, cadence, foot pod, trainer.
var bluetoothType = map[byte]byte{1: 120, 2: 11, 3: 121, 4: 123, 5: 122, 6: 124, 7: 17}

// fitDevice is a device_info message.
type fitDevice struct {
	index, kind, source byte
	sensor              wear.Sensor // without its type
}

// sensor takes a device_info message: the recording device itself, or a sensor
// that can be told from others of its type. The same one is reported up to a
// hundred times a file.
func (f *fitFacts) sensor(d fitDevice) {
	s := clean(d.sensor)
	switch {
	case d.index == 0:
		f.device = merged(f.device, s)
		return
	case d.source == sourceLocal || d.source == sourceWifi:
		return
	case d.source == sourceBluetooth:
		d.kind = bluetoothType[d.kind]
	}
	// 0, 4 and 255 are head units.
	if d.kind == 0 || d.kind == 4 || d.kind == no8 || s.Serial == 0 && s.ANT == 0 {
		return
	}
	s.Type = d.kind
	for i, known := range f.sensors {
		if sameSensor(known, s) {
			f.sensors[i] = merged(known, s)
			return
		}
	}
	if len(f.sensors) < maxFITSensors {
		f.sensors = append(f.sensors, s)
	}
}

// clean drops what devices write where they know nothing.
func clean(s wear.Sensor) wear.Sensor {
	if s.Serial == no16 || s.Serial == no32 {
		s.Serial = 0
	}
	if s.ANT == no16 {
		s.ANT = 0
	}
	if s.Maker == no16 {
		s.Maker = 0
	}
	if s.Product == no16 {
		s.Product = 0
	}
	return s
}

// sameSensor reports whether two reports are of one sensor: by serial number
// where both have one, else by ANT number.
func sameSensor(a, b wear.Sensor) bool {
	if a.Type != b.Type {
		return false
	}
	if a.Serial != 0 && b.Serial != 0 {
		return a.Serial == b.Serial
	}
	return a.ANT != 0 && a.ANT == b.ANT
}

// merged fills what a does not know from b.
func merged(a, b wear.Sensor) wear.Sensor {
	if a.Maker == 0 {
		a.Maker = b.Maker
	}
	if a.Product == 0 {
		a.Product = b.Product
	}
	if a.Serial == 0 {
		a.Serial = b.Serial
	}
	if a.ANT == 0 {
		a.ANT = b.ANT
	}
	if a.Name == "" {
		a.Name = b.Name
	}
	return a
}
