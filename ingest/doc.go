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
// # Bundles
//
// A zip archive is told by its bytes and stands for the files in it: [Run] reads
// them one by one, in the order of its directory, each as if it lay in a folder.
// Nothing is written to disk and names are labels only: they are shown without
// what leads out of the bundle or a terminal would act upon. Hidden files are
// passed over, links too; a name that comes twice hides nothing. Of bundles
// there is one level: within one, gzip is undone, a zip archive is refused.
//
// A file may hold 40 MB, in gzip what is packed and unpacked together, a FIT 32, a
// table 16, and 1,000,000 points. Beyond 1 MB it may not grow more
// than 100-fold when it is unpacked (of files at hand the most was 12-fold for
// FIT, 10 for GPX, 16 for TCX). A bundle may have 20,000 files, 4 MB of directory, 16 GB
// unpacked and no files that overlap. All that is judged by the directory, before
// anything is unpacked, and no file gives more than its directory says. What is
// wrong with one file costs that file.
//
// Memory stays below 64 MB and 400 B for each point of the files in hand: large
// files are let in one at a time.
//
// # The folder watcher
//
// [Watch] hands over the files of folders as they become complete: still for a
// moment, and by their content (length and checksum, closing tag, trailer or
// directory) there to the end. It goes by what the system tells of changes, and
// searches everything now and then, since on network and USB mounts that is not
// all. A file comes again only when its size or time has changed.
//
// # Damaged files
//
// What is cut, was never finished or has a wrong checksum is refused with what
// is whole in it; with [Options.Salvage] that part is a ride, and says so. Only
// whole messages and whole points count. The device's own totals count only
// where the points reach to their end, and points of a leg whose session is
// lost belong to no ride. Of a zip archive without its directory nothing is read.
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
