// Package wear is the domain of pawl: bikes, the parts on them, what rides put
// through them, what tools and eyes said of them, the schedule of jobs, and the
// verdicts that follow.
//
// The house in three sentences: wear holds the types and the rules and imports
// only the standard library and its schedule parser; ingest, store and report
// import wear and never each other; cmd wires them.
//
// # Contract
//
// The package does no input or output and knows no clock: whatever depends on a
// day takes it as an argument. Facts (rides, stays, readings, looks, sign-offs)
// are dated and kept; figures are derived from them. The same facts give the
// same figures in whatever order they came, because every stored quantity is an
// integer (see [Quantity] for the units) and floats appear only in figures.
//
// # What is not modelled
//
// pawl cannot see cracks, cuts or loose bolts. A count or a forecast never
// condemns a part that can be measured or looked at; it asks for the reading or
// the look. The maker's manual wins over every figure of the schedule.
//
// Sums tell how much was ridden since a fit, not how long its first ride was:
// where a first check is missed, the mean of the rides since stands for it.
// The gears of all rides of a bike together give the share of its cassette's
// cogs, not ride by ride; where none tells, a fixed share of the turns is taken
// to be on one cog.
//
// Wear that a tool reads is a line over the load, start + rate × load; how that
// is found is told beside [Forecast]. What it leaves out: that wear is not even
// along a chain (the worst place decides a verdict, the mean feeds the line),
// and that the reader of a tool may change. A date takes the bike to be ridden
// on as lately; a count's date varies with that alone.
package wear
