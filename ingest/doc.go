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
// [RefusedError] (something is wrong, with a hint).
package ingest
