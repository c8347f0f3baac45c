// Package rig makes rides for the demo, the tests and the benchmarks: a rider
// on an invented trail, simulated second by second, and what a head unit would
// have recorded of it.
//
// The house in three sentences: wear holds the types and the rules and imports
// only the standard library and its schedule parser; ingest, store and report
// import wear and never each other; cmd wires them. Rig imports wear alone, so
// that the tests of ingest can use it.
//
// # Contract
//
// SI inside: metres, seconds, joules, watts; instants are milliseconds of UTC.
// The same [Spec] gives the same ride and the same bytes on every machine: all
// chance comes from PCG generators seeded by the Spec, there is no clock and no
// map order. What really happened is in [Ride.Steps] and [Ride.Truth]; what the
// device made of it, with noise, rounding and dead sensors, is in
// [Ride.Samples]. Files are written from the samples.
//
// # What is assumed
//
// The road-load equation (gravity, rolling, air, inertia) with the defaults of
// package wear, 4 % lost in the drivetrain, still air, no slip, no inertia of
// the wheels. The crank turns with the wheel while the rider pedals and rests
// while he coasts. Places, names and serial numbers are invented: trails lie out
// at sea.
package rig
