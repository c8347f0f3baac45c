package wear

// Outing is a counted ride as costs take it.
type Outing struct {
	At   Instant // its start
	Way  int64   // cm
	Est  int64   // cm of Way that were estimated, not recorded
	Rest bool    // what an odometer left between two readings: it does not tell how often the bike went out
}

// CostBy is what costs are gathered by.
type CostBy string

// What costs can be gathered by.
const (
	ByKind  CostBy = "kind"
	ByModel CostBy = "model" // kind and model
	ByBike  CostBy = "bike"
	ByDepot CostBy = "depot"
)

// CostGroups lists them in the order of the help text.
var CostGroups = []CostBy{ByKind, ByModel, ByBike, ByDepot}

// Spent is what work on bikes took. Money is in hundredths of the book's
// currency.
type Spent struct {
	Changes int   // parts that were changed, or fitted new
	ByList  int   // of them without a cost entered, priced by the list
	Later   int   // of those by a price that was said only after the change
	NoPrice int   // changes of which no price is known: they count without money
	Jobs    int   // other work that was signed off
	Paid    int64 // as entered
	Listed  int64 // as the list has it, for ByList
	Minutes int64 // at the stand
	Typical int64 // of Minutes, those of the schedule where none were entered
	Untimed int   // changes and jobs of which nothing says how long they took
}

// Add returns the sum of both.
func (s Spent) Add(o Spent) Spent {
	return Spent{
		Changes: s.Changes + o.Changes, ByList: s.ByList + o.ByList, Later: s.Later + o.Later, NoPrice: s.NoPrice + o.NoPrice,
		Jobs: s.Jobs + o.Jobs, Paid: s.Paid + o.Paid, Listed: s.Listed + o.Listed,
		Minutes: s.Minutes + o.Minutes, Typical: s.Typical + o.Typical, Untimed: s.Untimed + o.Untimed,
	}
}

// Parts is the money that was entered and that the list gives, in hundredths.
func (s Spent) Parts() int64 { return s.Paid + s.Listed }

// Work is what the minutes cost where an hour at the stand costs so many
// hundredths, rounded to the nearest.
func (s Spent) Work(hour int64) int64 { return (s.Minutes*hour + 30) / 60 }

// Cost is parts and work together, in hundredths.
func (s Spent) Cost(hour int64) int64 { return s.Parts() + s.Work(hour) }

// CostLine is what one kind, model, bike or depot cost over a window, and what
// was ridden with it.
type CostLine struct {
	Name  string // of the bike or depot; "" where Kind says it
	Kind  string
	Model string
	Bikes int // that had it
	Spent Spent
	Way   int64 // cm that the bikes rode; of a kind or model, with such a part on
	Est   int64 // cm of Way that were estimated

	// A hire day is a day of the book's calendar with at least one counted ride
	// of the bike. Where the rides of a bike come from its odometer, its days are
	// not known.
	Days      int   // hire days of the bikes of which they are known
	DaysSpent Spent // what those bikes cost
	Blind     int   // bikes that were ridden, of which they are not known
	Fare      int64 // hundredths: price of a hire day × days, of the bikes that have both
	FareDays  int   // days in Fare
}

// PerWay is the cost of 1,000 km in hundredths; ok is false where nothing was
// ridden.
func (l *CostLine) PerWay(hour int64) (cost float64, ok bool) {
	if l.Way <= 0 {
		return 0, false
	}
	return float64(l.Spent.Cost(hour)) / (float64(l.Way) / thousandKm), true
}

// thousandKm is that way in cm.
const thousandKm = 1000 * 1000 * 100

// PerDay is the cost of a hire day in hundredths, from the bikes of which the
// days are known; ok is false where there are none.
func (l *CostLine) PerDay(hour int64) (cost float64, ok bool) {
	if l.Days == 0 {
		return 0, false
	}
	return float64(l.DaysSpent.Cost(hour)) / float64(l.Days), true
}

// FarePerDay is what a hire day brings at the bikes' prices, in hundredths; ok
// is false where no bike has a price.
func (l *CostLine) FarePerDay() (fare float64, ok bool) {
	if l.FareDays == 0 {
		return 0, false
	}
	return float64(l.Fare) / float64(l.FareDays), true
}

// Add puts what another line says to this one's; names stay.
func (l *CostLine) Add(o CostLine) {
	l.Bikes += o.Bikes
	l.Spent = l.Spent.Add(o.Spent)
	l.Way += o.Way
	l.Est += o.Est
	l.Days += o.Days
	l.DaysSpent = l.DaysSpent.Add(o.DaysSpent)
	l.Blind += o.Blind
	l.Fare += o.Fare
	l.FareDays += o.FareDays
}

// Costs is what bikes cost over a window.
type Costs struct {
	By       CostBy
	From, To Instant
	Hour     int64      // hundredths that an hour at the stand costs; 0 = work is not counted in money
	Lines    []CostLine // the dearest first
	Total    CostLine   // of the bikes, each kilometre and day once
}
