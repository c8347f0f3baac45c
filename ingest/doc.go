// Package ingest turns the bytes of ride files into loads.
//
// The house in three sentences: wear holds the types and the rules and imports
// only the standard library and its schedule parser; ingest, store and report
// import wear and never each other; cmd wires them.
//
// # Contract
//
// [Read] tells a file's format by its bytes, never by its name, and decodes it
// into tracks; [Reduce] turns a track into a load. SI inside: metres, seconds,
// joules; instants are milliseconds of UTC. A file is taken whole or it is not:
// the error is a [NotRideError] (sound, but no ride of a bike) or a
// [RefusedError] (something is wrong, with a hint). [ReadTable] turns a
// spreadsheet's list of rides or odometer readings into rows; there a wrong row
// is left out and named.
//
// # What formats leave out
//
// GPX and TCX have no timer stops: gaps between the tracks of a lap are such,
// and so are gaps of more than 10 s over which the bike got nowhere. Some
// programs leave out cadence and power of zero, which are put back. The sums of
// the laps of a TCX are the device's own totals.
//
// # What a ride really was
//
// A lift or shuttle with the computer running is cut out of every quantity and
// said in a note. Found are the stretches that took more than a strong rider
// has, on the best of roads: 1,500 m/h of climb for as long as it takes and 20 m
// more once; where a living cadence or power sensor says that nobody pedalled,
// or no gear was changed for long, more than 1,500 m/h for a minute is enough.
// What a sensor heard being pedalled is never cut.
//
// Indoors there is neither climb nor braking. Distance, time and turns count:
// which parts that spares, the ride's ground says (trainer or rollers).
//
// E-bikes: turns are the crank's and never multiplied here; that a mid-drive's
// chain wears twice as fast per turn is a factor of the kinds in wear. Work is
// what the chain carries: a mid-drive's motor is estimated to add as much as
// the rider's recorded power, and the road-load equation has both in it; of a
// hub motor's bike half of the equation is the rider's. So no quantity is
// doubled in both places, as long as no kind with a mid-drive factor counts
// work.
package ingest
