package ingest

import "pawl/wear"

// Sample is one moment of a ride. Absent values are NaN.
type Sample struct {
	T        int64   // ms of UTC since 1970
	Lat, Lon float64 // degrees, WGS84
	Alt      float64 // m
	Dist     float64 // m, the device's own odometer, since the start
	Speed    float64 // m/s
	Cadence  float64 // turns of the crank a minute
	Power    float64 // W at the crank
}

// Pause is a time in which the device's timer was stopped, in ms of UTC.
type Pause struct{ From, To int64 }

// Shift is a recorded gear change: from T on, the chain runs in these gears.
// Zero is not known. Teeth are what the device believed.
type Shift struct {
	T                     int64
	Front, Rear           uint8 // gear numbers
	FrontTeeth, RearTeeth uint8
}

// Totals are the device's own sums; NaN where it gives none.
type Totals struct {
	Distance, Climb, Descent float64 // m
	Moving                   float64 // s of timer time
	Turns                    float64
	Work                     float64 // J
}

// Track is one ride as its file tells it: one activity, one leg of a
// multi-sport file, one part of a chained file.
type Track struct {
	Format   wear.Format
	Leg      int
	Sport    string // as the file names it, lower case; "" = not said
	Indoor   bool
	Start    int64 // ms of UTC
	End      int64 // ms of UTC
	Offset   int32 // s east of UTC; 0 where not known
	Samples  []Sample
	Breaks   []int // indices of samples that begin a new segment: nothing is known of the way to them
	Pauses   []Pause
	Totals   Totals
	Shifts   []Shift
	Sensors  []wear.Sensor
	Device   wear.Sensor
	Profile  string   // the device's own name for bike or sport profile
	Title    string   // the track's own name
	Warnings []string // what was dropped or mended while reading
	Salvaged string   // of a damaged file: how much of it is whole, "61 of 74 minutes"; "" = the file is whole
}
