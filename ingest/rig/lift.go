package rig

import "math"

// atLift reports whether a lift is still wanted and the bike has come down to it.
func (m *maker) atLift() bool {
	return m.lifts > 0 && m.trail.on(m.trail.low, m.rider.along) < 12
}

// lift carries bike and rider to the highest place, by cable or by road.
func (m *maker) lift() {
	t, r := m.trail, &m.rider
	c := carrying{m: m, from: r.height, relief: t.relief}
	c.start = Place{t.at(t.lat, r.along), t.at(t.lon, r.along)}
	c.end = Place{t.at(t.lat, t.high), t.at(t.lon, t.high)}
	north, east := perMetre(c.start.Lat)
	c.plan = hypot((c.end.Lat-c.start.Lat)/north, (c.end.Lon-c.start.Lon)/east)
	if m.ride.Spec.Shuttle {
		m.stand(loading)
		c.byRoad()
	} else {
		c.byCable()
	}
	m.lifts--
	r.along, r.speed, r.height = t.high, 0, c.from+c.relief
	if m.ride.Spec.Shuttle {
		m.stand(loading)
	}
}

// How vans go (common practice, no published source).
const (
	loading  = 40   // s of standing at either end
	winding  = 2.2  // times the straight way
	roadPace = 17.0 // m/s at best
	starting = 1.0  // m/s²
	halting  = 1.5  // m/s²
)

// carrying is one way up.
type carrying struct {
	m          *maker
	start, end Place
	plan       float64 // m from start to end in a straight line
	from       float64 // m, the height of the start
	relief     float64 // m
}

// byCable goes in a straight line at a steady speed.
func (c *carrying) byCable() {
	const along, up = 4.0, 0.8 // m/s at least
	seconds := max(1, int(min(c.plan/along, c.relief/up)))
	way := hypot(c.plan, c.relief) / float64(seconds)
	for i := range seconds {
		c.step(float64(i+1)/float64(seconds), 0, Step{Speed: way, Way: way, Slope: c.relief / c.plan})
	}
}

// byRoad goes to and fro across the straight line, from rest to rest.
func (c *carrying) byRoad() {
	length := winding * c.plan
	bends := max(2, math.Round(length/800))
	wide := math.Sqrt(length*length-c.plan*c.plan) / (4 * bends)
	steep := hypot(1, c.relief/length)
	for gone, speed := 0.0, 0.0; gone < length; {
		speed = min(speed+starting, roadPace, math.Sqrt(2*halting*(length-gone))+0.5)
		before := gone
		gone = min(gone+speed, length)
		part := gone / length
		c.step(part, wide*zigzag(bends*part), Step{Speed: (gone - before) * steep, Way: (gone - before) * steep, Slope: c.relief / length})
	}
}

// zigzag is a triangle wave from 0 to 1, -1 and back, once for each 1 of x.
func zigzag(x float64) float64 {
	x -= math.Floor(x)
	switch {
	case x < 0.25:
		return 4 * x
	case x < 0.75:
		return 2 - 4*x
	}
	return 4*x - 4
}

// step books a second of being carried: to which part of the straight line,
// and how many m beside it.
func (c *carrying) step(part, beside float64, s Step) {
	north, east := perMetre(c.start.Lat)
	up, right := (c.end.Lat-c.start.Lat)/north/c.plan, (c.end.Lon-c.start.Lon)/east/c.plan
	s.Lat = c.start.Lat + part*(c.end.Lat-c.start.Lat) - beside*right*north
	s.Lon = c.start.Lon + part*(c.end.Lon-c.start.Lon) + beside*up*east
	s.Height, s.Cog, s.Mode = c.from+part*c.relief, c.m.rider.cog, Lifted
	c.m.add(s)
}
