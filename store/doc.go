// Package store is the book: the one file that holds everything, and the folder
// of originals beside it. Facts go in, totals are kept.
//
// The house in three sentences: wear holds the types and the rules and imports
// only the standard library and its schedule parser; ingest, store and report
// import wear and never each other; cmd wires them.
//
// # Contract
//
// Nobody holds the book between operations: [Book.View] and [Book.Update] take
// the lock, open, run one transaction and close. A program that waits longer
// than ten seconds gets a [HeldError] that names the holder. Facts (rides,
// stays, readings, looks, sign-offs, incidents, …) are kept as they were given; whatever is
// derived from them is a pure function of the facts, kept up to date within the
// same transaction, and can be rebuilt and compared ([Book.Audit]).
//
// Sums are kept per bike and span. The spans of a bike begin at Ever, at the
// ends of every stay on it, at its incidents, and at every reading, look and
// sign-off of a part while it was on that bike, be they taken back or not. A ride
// touches one span and one week; a late fact splits one span by re-reading only
// that span's rides. A stay on a wheel is one on every bike that the wheel was on
// meanwhile (see wheels.go).
//
// # Buckets
//
// Numbers in keys are big-endian, so that keys sort; an instant is 6 bytes,
// biased, with Ever = 0 and Never = ff. Ids are book32|seq32.
//
//	meta        format, id, zone, pack; its sequence numbers bikes, parts and dated facts
//	entries     seq8                {at, who, verb, target, undoes, undone, erased}
//	before      seq8                what the entry's writes found: (bucket, key, bytes before)…
//	bikes       id8                 wear.Bike
//	parts       id8                 wear.Part
//	stays       host8|from6|part8   wear.Stay; host: a bike or a wheel, whose ids never meet
//	rides       bike8|start6|rid6   packed by hand, see riderec.go; bike 0: not known yet
//	gears       bike8|start6|rid6   packed histograms
//	files       hash12              {name, size, format, outcome, why, rides, original {pack, offset, length}, folder}
//	readings    part8|at6|id8       wear.Reading; looks and signoffs alike
//	incidents   bike8|at6|id8       wear.Incident; statuses, odometers, setups, visits and turnrounds alike
//	settings    scope|key|at6|id8   wear.Setting; key: a kind or model and 0, or id8
//	stock       id8                 wear.Stock
//	devices     id4                 wear.Sensor, written once however many rides name it
//	words       id4                 text that many rides or files share: notes, profiles, reasons, folders
//	-- no facts: neither listed by entries nor taken back --
//	refusals    hash12 of the path  {path, format, why, hint, size, hash, at} of a file that was refused
//	people      id8                 wear.Person
//	outbox      id8                 wear.Message
//	tombs       id8                 {at} of a person who was forgotten
//	-- derived, rebuilt by audit --
//	rides.id    rid12               bike8|start6
//	rides.time  start6|rid6         bike8
//	stays.part  part8|from6         host8|to6
//	spans       bike8|from6         how the span begins, packed sums per ground
//	gears.bike  bike8               packed histograms of the counted rides
//	spangears   bike8|from6         of them, what is believed: recorded gear changes win
//	weeks       bike8|week2         packed sums per ground, weeks from Monday in the book's zone
//	sensors     type1|serial4|ant2|bike8  4 bytes: how many rides that the user gave to the bike name the sensor
//	names       noun|lower name     id8
//	devices.key sensor              id4
//	words.key   text                id4
//	people.email   lower address    id8
//	outbox.person  person8|id8      state1
//	outbox.state   state1|id8       person8
//
// # People
//
// People and messages are personal: no entry remembers what was before them, none
// names a person, and undo leaves them. [Book.Forget] writes the book anew without
// one of them, since bbolt's free pages keep what was deleted. It does not reach
// the ride files as they were received, nor copies of the book, nor what the disk
// keeps of the file that was replaced.
//
// # Originals
//
// Files are kept as they were received in append-only packs of about 64 MB in
// the folder BOOK.originals. Each record describes itself (see packs.go). A
// batch is written to the pack, synced, and only then committed. A torn record
// beyond the length that the book knows is cut off by the next writer; whole
// ones, which a newer copy of the book may know, stay, and a new pack begins.
package store
