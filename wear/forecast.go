package wear

// Forecast is how a part that can be measured wears, and how that was found:
// reading = start + rate × load, over the load since it came to the bike.
type Forecast struct {
	Of         ReadingOf
	Unit       string // of readings: % or mm
	By         string // what the load counts: turns, MJ, km
	LoadUnit   string // turns, J, m
	New, Limit float64

	Prior   Line // before any reading of the part
	Earlier int  // earlier parts of this bike that moved it
	Guessed bool // the schedule does not say what such a part lasts
	Weights []Weight
	Line    Line // with all readings

	Load     float64 // so far
	Last     float64 // at the last reading
	Now      Range   // what a tool would read today
	Crossing Range   // load at which the limit is reached; nil where too far to tell
	Left     Range   // of load
	Days     Range   // until then; nil where the bike stands
	PerDay   float64 // load that a day lately brings
	Spread   float64 // of the logarithm of it, over the way to the limit
	Lead     float64 // days
	Chance   float64 // that the limit is reached within Lead

	Band []BandPoint // the line and its range, for a plot
	Turn string      // what would change the verdict, one sentence
}

// Line is wear over load before the wear speeds up.
type Line struct {
	Start, StartSD float64 // reading at load 0 and its standard deviation
	Rate           float64 // median, in the reading's unit per unit of load
	RateSpread     float64 // standard deviation of ln rate
}

// Weight is what one reading adds.
type Weight struct {
	Reading Reading
	Load    float64 // at which it was made; -1 = on an earlier bike, in the start
	Share   float64 // of what is known of the rate; the prior has the rest of 1
	Off     float64 // standard deviations that it lies above the line; 0 of a gauge
}

// BandPoint is the reading to expect at a load: below P10 in one case of ten.
type BandPoint struct{ Load, P10, P50, P90 float64 }
