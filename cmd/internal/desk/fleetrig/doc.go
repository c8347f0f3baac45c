// Package fleetrig makes the book of a hire fleet for the benchmarks: the same
// book from the same size, made by the operations that every program uses.
//
// The house in three sentences: wear holds the types and the rules and imports
// only the standard library and its schedule parser; ingest, store and report
// import wear and never each other; cmd wires them, and within cmd only the
// desk speaks to ingest and store.
//
// # What the fleet is
//
// Three years until [Today], in the order of time: week after week the rides of
// all bikes are entered, then the visits of a sixteenth of the bikes. All is made
// up; how often things happen is *common practice, no published source*.
//
//   - A bike has 14 parts, cassette and tyre on the rear wheel. It is hired a
//     hundred times a year where the fleet has three hundred rides a bike.
//   - Every ride is from a file of its own, which the book knows, with a title, a
//     device, in two of three a sensor, and load recorded and estimated; three in ten
//     have a gear histogram (12 gears of three bins), as files with speed and
//     cadence give it. Originals are not kept: they lie beside the book.
//   - Every sixteen weeks somebody looks after the bike: ten sign-offs or more and
//     three looks. On half of the bikes the chain is measured, on a third the pads.
//   - The chain is changed at every third visit, a pair of pads at every second, the
//     rear tyre at every fourth. One visit in fifty is left out, one look in three
//     hundred says unsafe.
package fleetrig
