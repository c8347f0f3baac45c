package rig

import (
	"fmt"
	"math/rand/v2"
	"time"

	"pawl/wear"
)

// Centre is an invented trail centre over one season: what was ridden there and
// what its workshop did, each in order of time. It is what the demo shows.
type Centre struct {
	Name    string
	Zone    string    // IANA
	Today   time.Time // the evening on which the demo looks
	Bikes   []CentreBike
	Outings []Outing
	Acts    []Act
}

// CentreBike is a bike of the centre. Bike.Sheet is the build sheet to make it from.
type CentreBike struct {
	Bike   wear.Bike // without ID
	Ring   int       // teeth
	Cogs   []int     // teeth, smallest first
	Format wear.Format
}

// Outing is one ride as its file lies there.
type Outing struct {
	Bike   string
	File   string // path with forward slashes, a folder for each bike
	Ground wear.Ground
	Spec   Spec
	Format wear.Format
}

// Bytes makes the ride and writes its file; 3 to 15 ms of work.
func (o Outing) Bytes() []byte {
	if o.Format == wear.GPX {
		return Make(o.Spec).GPX()
	}
	return Make(o.Spec).FIT()
}

// Act is one thing that the workshop did to the part of a kind that was then on
// the bike. Exactly one of Reading, Look and SignOff is set; each lacks the
// part, the bike and the instant. Fits is the new part where SignOff changes one.
type Act struct {
	At      wear.Instant
	Bike    string
	Kind    string
	Reading *wear.Reading
	Look    *wear.Look
	SignOff *wear.SignOff
	Fits    *wear.Part
}

// keeper is a bike of the season and how it is ridden and looked after.
type keeper struct {
	CentreBike
	days     map[time.Weekday]float64 // the chance of a ride
	hour     int                      // when it starts, local
	minutes  [2]int                   // from, to
	wetToo   float64                  // the chance of going out all the same when it is wet
	spec     Spec                     // what all its rides share
	measures float64                  // hours between two measurements of the chain
	stretch  [2]float64               // of the chain: % at the start, % an hour
	skips    map[string]bool          // "kind job" that the workshop forgets after the first ride, or "first kind job"
}

var (
	seasonStart = time.Date(2026, 3, 7, 0, 0, 0, 0, time.UTC)
	seasonEnd   = time.Date(2026, 10, 24, 0, 0, 0, 0, time.UTC)
	summerTime  = time.Date(2026, 3, 29, 0, 0, 0, 0, time.UTC) // the season ends before it does
)

// Season is that of the trail centre of Quillmoor, which is nowhere: four bikes
// from March to October 2026. The files are made when they are asked for.
func Season() *Centre {
	s := &Centre{Name: "Quillmoor trail centre", Zone: "Europe/Vienna", Today: local(seasonEnd, 22)}
	for i, k := range keepers() {
		outings := k.ride(uint64(i) + 1)
		s.Bikes = append(s.Bikes, k.CentreBike)
		s.Outings = append(s.Outings, outings...)
		s.Acts = append(s.Acts, k.work(outings)...)
	}
	sortOutings(s.Outings)
	sortActs(s.Acts)
	return s
}

// local is an hour of a day on the clocks of the centre.
func local(day time.Time, hour int) time.Time {
	offset := offsetOn(day)
	return time.Date(day.Year(), day.Month(), day.Day(), hour, 0, 0, 0, time.FixedZone("", offset))
}

// offsetOn is central European time; the table of zones is not needed for it.
func offsetOn(day time.Time) int {
	if day.Before(summerTime) {
		return 3600
	}
	return 7200
}

// ride draws the outings of a bike over the season.
func (k *keeper) ride(n uint64) []Outing {
	rng := rand.New(rand.NewPCG(2026, n))
	var list []Outing
	for day := seasonStart; !day.After(seasonEnd); day = day.AddDate(0, 0, 1) {
		chance, ground, minute := rng.Float64(), groundOn(day, rng), rng.IntN(60)
		length := k.minutes[0] + rng.IntN(k.minutes[1]-k.minutes[0]+1)
		if wetGround(ground) && rng.Float64() > k.wetToo {
			continue
		}
		if chance < k.days[day.Weekday()] {
			list = append(list, k.outing(n, local(day, k.hour).Add(time.Duration(minute)*time.Minute), length, ground))
		}
	}
	return list
}

// outing is one ride of the bike.
func (k *keeper) outing(n uint64, start time.Time, minutes int, ground wear.Ground) Outing {
	spec := k.spec
	spec.Seed = n*1_000_000 + uint64(start.Unix()/3600)
	spec.Trail = 1 + spec.Seed%5 // the centre has five loops
	spec.Start, spec.Offset = start, offsetOn(start)
	spec.Minutes, spec.Stands, spec.Pauses = float64(minutes), 3, minutes/60
	spec.Mass = k.Bike.RiderMass + k.Bike.Mass
	spec.Ring, spec.Cogs, spec.Wheel = k.Ring, k.Cogs, k.Bike.Wheel
	if wetGround(ground) {
		spec.Crr = wear.DefaultCrr * 1.3 // soft ground; common practice, no published source
	}
	spec.Name = fmt.Sprintf("Quillmoor loop %d", spec.Trail)
	file := fmt.Sprintf("%s/%s.%s", k.Bike.Name, start.Format("2006-01-02-1504"), k.Format)
	return Outing{Bike: k.Bike.Name, File: file, Ground: ground, Spec: spec, Format: k.Format}
}

// groundOn is what the trails are like: wet weeks are the same for every bike,
// common in spring and autumn, rare in summer.
func groundOn(day time.Time, rng *rand.Rand) wear.Ground {
	_, week := day.ISOWeek()
	sky := rand.New(rand.NewPCG(uint64(week), 5)).Float64()
	wet := 0.35
	if m := day.Month(); m >= time.May && m <= time.September {
		wet = 0.15
	}
	roll := rng.Float64()
	switch {
	case day.After(seasonEnd.AddDate(0, 0, -4)), sky < wet && roll < 0.5:
		return wear.Mud
	case sky < wet:
		return wear.Wet
	case wet < 0.2 && roll < 0.4:
		return wear.Dusty
	case roll < 0.85:
		return wear.Dry
	}
	return wear.Unmarked
}

func wetGround(g wear.Ground) bool { return g == wear.Wet || g == wear.Mud }

// keepers are the four bikes.
func keepers() []*keeper {
	return []*keeper{coach(), hired(), allWeather(), junior()}
}

// coach is ridden hard and looked after well; its chain is at its end.
func coach() *keeper {
	return &keeper{
		CentreBike: CentreBike{
			Bike: wear.Bike{Name: "coach", Sheet: "trail", RiderMass: 82, Mass: 14.5, Wheel: 2.32, Speeds: 12, Guide: true, Note: "the head coach's own"},
			Ring: 32, Cogs: wideCogs, Format: wear.FIT,
		},
		days: map[time.Weekday]float64{time.Tuesday: 0.55, time.Saturday: 0.8}, hour: 13, minutes: [2]int{75, 165}, wetToo: 0.5,
		spec: Spec{
			Hills: 30, Watts: 230, Cadence: true, Power: true, Shifts: true, Odometer: true,
			Serial: 4_100_001, Sensors: Sensors(1), Profile: "TRAIL",
		},
		measures: 8, stretch: [2]float64{0.03, 0.0059},
	}
}

// hired came new in spring; nobody has been back at the bolts of its guide.
func hired() *keeper {
	return &keeper{
		CentreBike: CentreBike{
			Bike: wear.Bike{Name: "hire-3", Sheet: "trail", RiderMass: 80, Mass: 15.5, Wheel: 2.32, Speeds: 12, Guide: true, Fleet: true, Note: "new in spring"},
			Ring: 30, Cogs: wideCogs, Format: wear.FIT,
		},
		days: map[time.Weekday]float64{time.Wednesday: 0.3, time.Saturday: 0.5, time.Sunday: 0.5}, hour: 10, minutes: [2]int{50, 120}, wetToo: 0.25,
		spec:     Spec{Hills: 25, Watts: 170, Odometer: true, Serial: 4_100_002, Sensors: Sensors(2)[:1]},
		measures: 8, stretch: [2]float64{0.03, 0.0045},
		skips: map[string]bool{"first guide-bolts check": true, "guide-bolts check": true},
	}
}

// allWeather goes to work by the trail whatever the weather, and records GPX
// without any sensor. Its last ride was muddy and it was put away dirty.
func allWeather() *keeper {
	return &keeper{
		CentreBike: CentreBike{
			Bike: wear.Bike{Name: "rain", Sheet: "trail", RiderMass: 78, Mass: 14, Wheel: 2.3, Speeds: 11, Guide: true, Note: "to work by the trail"},
			Ring: 32, Cogs: []int{11, 13, 15, 17, 19, 21, 24, 28, 32, 37, 42}, Format: wear.GPX,
		},
		days: map[time.Weekday]float64{time.Monday: 0.4, time.Thursday: 0.5, time.Friday: 0.4}, hour: 17, minutes: [2]int{42, 90}, wetToo: 1,
		spec:     Spec{Hills: 20, Watts: 190, Smart: true, Serial: 4_100_003},
		measures: 4, stretch: [2]float64{0.24, 0.0185},
		skips: map[string]bool{"guide look": true, "guide-bolts check": true, "last chain clean": true},
	}
}

// junior is ridden little, and all is well with it.
func junior() *keeper {
	return &keeper{
		CentreBike: CentreBike{
			Bike: wear.Bike{Name: "junior", Sheet: "trail", RiderMass: 48, Mass: 12.5, Wheel: 2.19, Speeds: 11, Guide: true, Note: "Sunday group"},
			Ring: 28, Cogs: []int{11, 13, 15, 17, 19, 21, 24, 28, 32, 37, 42}, Format: wear.FIT,
		},
		days: map[time.Weekday]float64{time.Sunday: 0.6}, hour: 10, minutes: [2]int{42, 75}, wetToo: 0.2,
		spec:     Spec{Hills: 20, Watts: 95, Cadence: true, Odometer: true, Serial: 4_100_004, Sensors: Sensors(4)[:2]},
		measures: 8, stretch: [2]float64{0.03, 0.004},
	}
}
