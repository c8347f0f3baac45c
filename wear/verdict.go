package wear

import "fmt"

// Verdict is what pawl says of a job, from nothing to do to do not ride.
type Verdict uint8

// The verdicts, in order of urgency.
const (
	Fine  Verdict = iota
	Order         // have the part in
	Due           // do it before the next ride
	Stop          // do not ride
)

var verdictNames = [...]string{"fine", "order", "due", "stop"}

// String names the verdict as JSON does.
func (v Verdict) String() string {
	if int(v) < len(verdictNames) {
		return verdictNames[v]
	}
	return fmt.Sprintf("verdict %d", uint8(v))
}

// Words is the verdict as a person reads it.
func (v Verdict) Words() string {
	switch v {
	case Order:
		return "order part"
	case Stop:
		return "STOP: do not ride"
	}
	return v.String()
}

// MarshalText is the name that JSON shows.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// Basis is what a verdict rests on.
type Basis string

// The bases.
const (
	ByReading Basis = "reading" // what a tool said
	ByLook    Basis = "look"    // what an eye said
	ByCount   Basis = "count"   // what rides and days add up to, or an event
)

// Data is whether the count behind a figure was recorded by a device.
type Data string

// The kinds of data.
const (
	DataRecorded  Data = "recorded"
	DataEstimated Data = "estimated"
	DataMixed     Data = "mixed"
)

// Caution ends every list of findings.
const Caution = "Nothing due is not a safety check: pawl cannot see cracks, cuts or loose bolts"

// StopCaution stands beside every stop, after what clears it.
const StopCaution = "the maker's manual wins; if in doubt, ask a qualified mechanic"
