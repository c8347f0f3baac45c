package fleetrig

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"slices"
	"time"

	"pawl/store"
	"pawl/wear"
)

// rideWeek enters the rides of a bike in a week, so that in the end each has had
// as many as the others.
func (f *fleet) rideWeek(tx *store.Tx, n, week int) error {
	if f.Summed {
		return f.sumWeek(tx, n, week)
	}
	first, behind := f.ridesOf(n, week)
	for k := first; k < behind; k++ {
		r, g := f.ride(n, k, Begin.AddDate(0, 0, 7*week).Add(time.Duration(k-first)*48*time.Hour))
		if err := f.enter(tx, r, g); err != nil {
			return err
		}
	}
	return nil
}

// ridesOf are the numbers of a bike's rides in a week: from the first, up to behind.
func (f *fleet) ridesOf(n, week int) (first, behind int) {
	each := f.Rides / f.Bikes
	if n < f.Rides%f.Bikes {
		each++
	}
	shift := int(dice(n) % uint64(weeks)) // else all would be out in the same weeks
	return (each*week + shift) / weeks, (each*(week+1) + shift) / weeks
}

// sumWeek enters one ride in the weeks that end a stretch of time, for all of it.
func (f *fleet) sumWeek(tx *store.Tx, n, week int) error {
	last := weeks - 1
	for last > 0 && (last+n)%every != 0 {
		last--
	}
	ends := []int{last / 2, last, weeks - 1}
	at := slices.Index(ends, week)
	if at < 0 {
		return nil
	}
	since := 0
	if at > 0 {
		since = ends[at-1] + 1
	}
	first, _ := f.ridesOf(n, since)
	_, behind := f.ridesOf(n, week)
	if first == behind {
		return nil
	}
	r, g := f.ride(n, first, Begin.AddDate(0, 0, 7*week))
	for k := first + 1; k < behind; k++ {
		more, gears := f.ride(n, k, Begin)
		r.Elapsed += more.Elapsed
		for q := range r.Recorded {
			r.Recorded[q] += more.Recorded[q]
			r.Estimated[q] += more.Estimated[q]
		}
		g = sumGears(g, gears)
	}
	return f.enter(tx, r, g)
}

// sumGears adds histograms, which have the same bins or none.
func sumGears(a, b wear.Gears) wear.Gears {
	if len(a.ByDevelopment) == 0 {
		return b
	}
	for i, gear := range b.ByDevelopment {
		a.ByDevelopment[i].Turns += gear.Turns
		a.ByDevelopment[i].Work += gear.Work
	}
	return a
}

// enter adds a ride and its file.
func (f *fleet) enter(tx *store.Tx, r wear.Ride, g wear.Gears) error {
	fact := store.FileFact{
		Hash: r.File, Name: r.Title, Size: int64(60_000 + dice(int(r.Start))%240_000), Format: r.Format,
		Outcome: "taken", Rides: []wear.RideID{r.ID}, Folder: "/srv/rides",
	}
	if err := tx.AddFile(fact, nil); err != nil {
		return err
	}
	_, err := tx.AddRide(r, g)
	return err
}

// ride is the kth ride of a bike, and where in the gears it was ridden.
func (f *fleet) ride(n, k int, day time.Time) (wear.Ride, wear.Gears) {
	key := binary.BigEndian.AppendUint64(binary.BigEndian.AppendUint64(nil, uint64(n)), uint64(k))
	file, leg := sha256.Sum256(key), sha256.Sum256(append(key, 1))
	start := day.Add(time.Duration(between(8*3600, 15*3600, n, k, 2)) * time.Second)
	r := wear.Ride{
		ID: wear.RideID(leg[:12]), File: wear.Hash(file[:12]), Bike: f.bikes[n].id, Start: wear.At(start),
		Format: wear.FIT, Version: 1, Offset: 3600, Rule: wear.ByProfile, Ground: wear.Ground(dice(n, k, 3) % 5),
		Title: start.Format("2006-01-02-15-04-05") + ".fit", Profile: "HIRE", Marked: wear.ByUser,
		Device: wear.Sensor{Type: 1, Maker: 255, Product: 3, Serial: uint32(1_000_000 + n)},
	}
	metres := between(6_000, 22_000, n, k, 4)
	moving := metres * 1000 / 3 // 3 m/s
	r.Elapsed = moving + between(300_000, 2_400_000, n, k, 5)
	r.Recorded = wear.Load{metres * 100, metres * 3, metres * 3, moving}
	turns, work := moving*70/60*6/10, metres*22
	if n%3 != 0 {
		r.Sensors = []wear.Sensor{{Type: 121, Maker: 255, Serial: uint32(2_000_000 + n)}}
		r.Recorded[wear.Turns] = turns
	} else {
		r.Estimated[wear.Turns] = turns
	}
	r.Estimated[wear.Work], r.Estimated[wear.Braking] = work, metres*10
	return r, gears(n, k, turns, work)
}

// gears are of three rides in ten: twelve gears of three bins each.
func gears(n, k int, turns, work int64) (g wear.Gears) {
	if dice(n, k, 6)%10 >= 3 {
		return g
	}
	for i := range 36 {
		share := between(500, 5_000, n, k, 7, i)
		g.ByDevelopment = append(g.ByDevelopment, wear.Gear{
			Bin: int16(24 + 7*(i/3) + i%3), Turns: turns * share / 100_000, Work: work * share / 100_000,
		})
	}
	return g
}

// model is one of a few, so that parts of one model are in many bikes.
func model(kind string, n int) string { return fmt.Sprintf("%s no. %d", kind, 1+n%4) }
