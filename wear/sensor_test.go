package wear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/tormoder/fit"
	"pgregory.net/rapid"
)

// The numbers are those of the FIT profile, as another library has them.
func TestSensorNumbersAreTheProfiles(t *testing.T) {
	for ours, theirs := range map[uint8]fit.AntplusDeviceType{
		typeANTFS:    fit.AntplusDeviceTypeAntfs,
		typePower:    fit.AntplusDeviceTypeBikePower,
		typeEBike:    fit.AntplusDeviceTypeLightElectricVehicle,
		typeShifting: fit.AntplusDeviceTypeShifting,
		typeBoth:     fit.AntplusDeviceTypeBikeSpeedCadence,
		typeCadence:  fit.AntplusDeviceTypeBikeCadence,
		typeSpeed:    fit.AntplusDeviceTypeBikeSpeed,
	} {
		assert.Equal(t, uint8(theirs), ours)
		assert.NotEmpty(t, sensorNouns[ours])
	}
	assert.Len(t, sensorNouns, 7)
	assert.Equal(t, []uint16{
		uint16(fit.ManufacturerShimano), uint16(fit.ManufacturerCampagnoloSrl), uint16(fit.ManufacturerSram),
	}, shiftingMakers)
}

func TestSensorsThatTravelAreNotBolted(t *testing.T) {
	for _, travels := range []fit.AntplusDeviceType{
		0, 4, fit.AntplusDeviceTypeFitnessEquipment, fit.AntplusDeviceTypeBikeLightMain, fit.AntplusDeviceTypeBikeRadar,
		fit.AntplusDeviceTypeHeartRate, fit.AntplusDeviceTypeStrideSpeedDistance, fit.AntplusDeviceTypeControl, fit.AntplusDeviceTypeInvalid,
	} {
		assert.False(t, Sensor{Type: uint8(travels), Maker: shiftingMakers[0], Serial: 7}.Bolted(), travels)
	}
	assert.True(t, Sensor{Type: typeANTFS, Maker: shiftingMakers[0]}.Bolted())
	assert.False(t, Sensor{Type: typeANTFS, Maker: 1}.Bolted(), "a watch")
	assert.False(t, Sensor{Type: typeANTFS}.Bolted(), "of no known maker")
	assert.True(t, Sensor{Type: typePower}.Bolted())
}

func TestSensorKey(t *testing.T) {
	for _, c := range []struct {
		serial uint32
		ant    uint16
		want   string // "" = none
	}{
		{4711, 12, "shifter 4711"},
		{0, 12, "shifter ANT 12"},
		{65535, 12, "shifter ANT 12"},
		{math.MaxUint32, 12, "shifter ANT 12"},
		{65534, 12, "shifter 65534"},
		{65536, 12, "shifter 65536"},
		{math.MaxUint32 - 1, 0, "shifter 4294967294"},
		{0, 0, ""},
		{65535, 65535, ""},
		{math.MaxUint32, 0, ""},
	} {
		k, ok := Sensor{Type: typeShifting, Serial: c.serial, ANT: c.ant}.Key()
		assert.Equal(t, c.want != "", ok, "%+v", c)
		if ok {
			assert.Equal(t, c.want, k.String())
		}
	}
	assert.Equal(t, "type-120 device 9", SensorKey{Type: 120, Serial: 9}.String())
}

func TestSensorNames(t *testing.T) {
	serial, ant := SensorKey{Type: typeShifting, Serial: 4711}, SensorKey{Type: typeSpeed, ANT: 12}
	for _, text := range []string{"shifter 4711", " Shifter  4711 ", "4711"} {
		assert.True(t, serial.Names(text), text)
		assert.False(t, ant.Names(text), text)
	}
	for _, text := range []string{"speed sensor ANT 12", "ant 12", "ANT\t12"} {
		assert.True(t, ant.Names(text), text)
		assert.False(t, serial.Names(text), text)
	}
	for _, text := range []string{"", " ", "471", "power meter 4711", "ANT 4711", "12", "shifter", "shifter4711", "04711"} {
		assert.False(t, serial.Names(text), text)
		assert.False(t, ant.Names(text), text)
	}
}

// What a sensor is called names it and no sensor of another number.
func TestSensorStringNamesIt(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a, aOK := drawSensor(rt, "a").Key()
		b, bOK := drawSensor(rt, "b").Key()
		if aOK {
			assert.True(rt, a.Names(a.String()))
			assert.Equal(rt, sensorNouns[a.Type] != "", namesBolted(a.String()))
		}
		if aOK && bOK && a.number() != b.number() {
			assert.False(rt, a.Names(b.String()))
		}
	})
}

// drawSensor draws from few numbers, so that two are often of one sensor.
func drawSensor(rt *rapid.T, name string) Sensor {
	return Sensor{
		Type:   rapid.SampledFrom([]uint8{0, typeANTFS, typePower, 17, typeEBike, typeShifting, 120, typeBoth, typeSpeed}).Draw(rt, name+" type"),
		Maker:  rapid.SampledFrom([]uint16{0, 1, 41}).Draw(rt, name+" maker"),
		Serial: rapid.SampledFrom([]uint32{0, 1, 2, 3, 65535, math.MaxUint32}).Draw(rt, name+" serial"),
		ANT:    rapid.SampledFrom([]uint16{0, 1, 2, 65535}).Draw(rt, name+" ant"),
	}
}

func TestSensorWitnesses(t *testing.T) {
	sensors := []Sensor{
		{Type: 120, Serial: 1}, {Type: typeSpeed, Serial: 2}, {Type: typeShifting, Serial: 3}, {Type: typePower, ANT: 4},
		{Type: typePower, ANT: 4, Name: "again"}, {Type: 17, Serial: 5}, {Type: typeEBike, Serial: 6}, {Type: typeSpeed, Serial: 65535},
	}
	power, motor, shifter, speed := SensorKey{Type: typePower, ANT: 4}, SensorKey{Type: typeEBike, Serial: 6},
		SensorKey{Type: typeShifting, Serial: 3}, SensorKey{Type: typeSpeed, Serial: 2}
	assert.Equal(t, []SensorKey{power, motor, shifter, speed}, Ride{Sensors: sensors, Ground: Mud}.Witnesses())
	for _, indoors := range []Ground{Trainer, Rollers} {
		assert.Equal(t, []SensorKey{motor, shifter}, Ride{Sensors: sensors, Ground: indoors}.Witnesses())
	}
	assert.Empty(t, Ride{}.Witnesses())
}
