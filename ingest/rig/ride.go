package rig

import (
	"math/rand/v2"
)

// Truth is what the ride really put through the bike. Lifts are kept apart;
// all else is of the ridden way only.
type Truth struct {
	Distance     float64   // m along the ground
	Climb        float64   // m, every rise of the ground counted
	Descent      float64   // m
	Moving       float64   // s with the wheels turning
	Timer        float64   // s with the timer running
	Elapsed      float64   // s from start to end
	Turns        float64   // of the crank
	Work         float64   // J at the crank
	Braking      float64   // J
	CogTurns     []float64 // turns on each of Spec.Cogs
	CogWork      []float64 // J on each of Spec.Cogs
	LiftDistance float64   // m carried
	LiftClimb    float64   // m carried up
	LiftTime     float64   // s carried
	SensorTurns  float64   // turns until the cadence sensor died
}

// Pause is a time in which the device's timer was stopped, in ms of UTC.
type Pause struct{ From, To int64 }

// Shift is a gear change: from T on the chain runs on Spec.Cogs[Cog].
type Shift struct {
	T   int64 // ms of UTC
	Cog int
}

// Ride is one simulated outing.
type Ride struct {
	Spec    Spec // with its defaults filled in
	Steps   []Step
	Truth   Truth
	Pauses  []Pause
	Changes []Shift
	Samples []Sample // as the device recorded it
}

// Make simulates the ride that the spec asks for.
func Make(s Spec) *Ride {
	s = s.filled()
	t := newTrail(s)
	m := &maker{
		ride:  &Ride{Spec: s},
		trail: t,
		rng:   rand.New(rand.NewPCG(s.Seed, 2)),
		now:   s.Start.UnixMilli(),
	}
	m.rider = rider{spec: &m.ride.Spec, trail: t, rng: m.rng, cog: len(s.Cogs) / 2, height: 120}
	m.plan()
	m.run()
	m.ride.Truth = truthOf(m.ride)
	m.ride.record()
	return m.ride
}

// maker runs the clock of a simulation.
type maker struct {
	ride  *Ride
	trail *trail
	rider rider
	rng   *rand.Rand
	now   int64
	timer float64 // s with the timer running
	way   float64 // m
	lifts int     // still to come
	stops []stop  // still to come, by when
}

// stop is a halt planned for a share of the ride.
type stop struct {
	at     float64
	timer  bool // the timer stops too
	length int  // s
}

// plan spreads the halts over the ride.
func (m *maker) plan() {
	s := m.ride.Spec
	m.lifts = s.Uplifts
	for i := range s.Pauses + s.Stands {
		at := (float64(i) + 0.2 + 0.6*m.rng.Float64()) / float64(s.Pauses+s.Stands)
		m.stops = append(m.stops, stop{at: at})
	}
	for _, i := range m.rng.Perm(len(m.stops))[:s.Pauses] {
		m.stops[i].timer = true
	}
	for i := range m.stops {
		if m.stops[i].timer {
			m.stops[i].length = 30 + m.rng.IntN(570)
		} else {
			m.stops[i].length = 10 + m.rng.IntN(50)
		}
	}
}

// run rides until the wanted time or distance is reached, then stops the bike.
func (m *maker) run() {
	if m.lifts > 0 {
		m.rider.along = m.trail.low
	}
	m.stand(1)
	for m.done() < 1 {
		switch {
		case m.atLift():
			m.halt()
			m.lift()
		case len(m.stops) > 0 && m.done() >= m.stops[0].at:
			m.halt()
			m.rest(m.stops[0])
			m.stops = m.stops[1:]
		default:
			m.add(m.rider.step())
		}
	}
	m.halt()
}

// done is the share of the ride that lies behind.
func (m *maker) done() float64 {
	if m.ride.Spec.Km > 0 {
		return m.way / (1000 * m.ride.Spec.Km)
	}
	return m.timer / (60 * m.ride.Spec.Minutes)
}

// add books one second.
func (m *maker) add(s Step) {
	if n := len(m.ride.Steps); n > 0 {
		m.now += 1000
		m.timer++
		if s.Cog != m.ride.Steps[n-1].Cog {
			m.ride.Changes = append(m.ride.Changes, Shift{T: m.now, Cog: s.Cog})
		}
	} else {
		m.ride.Changes = append(m.ride.Changes, Shift{T: m.now, Cog: s.Cog})
	}
	s.T = m.now
	m.way += s.Way
	m.ride.Steps = append(m.ride.Steps, s)
}

// halt brings the bike to rest.
func (m *maker) halt() {
	m.rider.stopping = true
	for m.rider.speed > 0 {
		m.add(m.rider.step())
	}
	m.rider.stopping = false
}

// stand adds seconds at rest.
func (m *maker) stand(seconds int) {
	for range seconds {
		m.add(m.rider.settle(0, 0, false))
	}
}

// rest is a halt with the timer running or stopped.
func (m *maker) rest(s stop) {
	if !s.timer {
		m.stand(s.length)
		return
	}
	from := m.now
	m.now += int64(s.length) * 1000
	m.ride.Pauses = append(m.ride.Pauses, Pause{From: from, To: m.now})
}

// truthOf sums the steps.
func truthOf(r *Ride) Truth {
	t := Truth{CogTurns: make([]float64, len(r.Spec.Cogs)), CogWork: make([]float64, len(r.Spec.Cogs))}
	for i, s := range r.Steps {
		rise := 0.0
		if i > 0 {
			rise = s.Height - r.Steps[i-1].Height
			t.Timer++
		}
		if s.Mode == Lifted {
			t.LiftDistance += s.Way
			t.LiftClimb += rise
			t.LiftTime++
			continue
		}
		if s.Mode != Standing {
			t.Moving++
		}
		t.Distance += s.Way
		t.Climb += max(0, rise)
		t.Descent += max(0, -rise)
		t.Turns += s.Turns
		t.Work += s.Work
		t.Braking += s.Brake
		t.CogTurns[s.Cog] += s.Turns
		t.CogWork[s.Cog] += s.Work
		if i <= r.lastCadence() {
			t.SensorTurns += s.Turns
		}
	}
	t.Elapsed = float64(r.Steps[len(r.Steps)-1].T-r.Steps[0].T) / 1000
	return t
}

// lastCadence is the last step at which the cadence sensor still worked.
func (r *Ride) lastCadence() int {
	if r.Spec.DiesAt <= 0 {
		return len(r.Steps)
	}
	return int(r.Spec.DiesAt * float64(len(r.Steps)))
}
