package ingest

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"time"

	"pawl/wear"
)

// Bounds of a table: a fleet of two thousand bikes, read twice a week for a
// year, is as much.
const (
	maxTable     = 16 << 20 // bytes
	maxTableRows = 200_000
	splitTable   = "split it into several tables and import those"
)

// Table is a list of rides or odometer readings as a spreadsheet writes it.
type Table struct {
	Rows   []Row
	Bad    []BadRow // what does not count, in the order of the file
	Unread []string // names of columns that mean nothing here, as written
}

// Row is one row that counts. Figures that are not given are NaN.
type Row struct {
	Line     int       // in the file, the first is 1
	Bike     string    // as written; "" = not said
	On       time.Time // as written, told as if in UTC; see [Row.At]
	Km       float64   // ridden
	Odometer float64   // km that the bike's odometer said
	Ran      float64   // hours that its hour meter said
	Began    float64   // km that a new odometer showed when it was fitted
	Climb    float64   // m
	Hours    float64   // of riding
	New      bool      // the odometer is a new one, or was set back, before this reading
	NewHours bool      // the hour meter is
	Nth      int       // how many rows before it say exactly the same

	clock bool // On has a time of day
	zoned bool // with a zone: On is an instant
}

// At is the instant of the row: the end of its day where it gives a bare date,
// else its time of day in zone, unless it names a zone of its own.
func (r Row) At(zone *time.Location) wear.Instant {
	y, m, d := r.On.Date()
	switch {
	case r.zoned:
		return wear.At(r.On)
	case r.clock:
		return wear.At(time.Date(y, m, d, r.On.Hour(), r.On.Minute(), r.On.Second(), r.On.Nanosecond(), zone))
	}
	return wear.EndOfDay(time.Date(y, m, d, 12, 0, 0, 0, zone), zone)
}

// Meters are the readings of a bike's meters in the row, as the book keeps them.
func (r Row) Meters(bike wear.ID, at wear.Instant) (list []wear.Odometer) {
	if !math.IsNaN(r.Odometer) {
		list = append(list, wear.Odometer{
			Bike: bike, At: at, Metres: rounded(1000 * r.Odometer), Climb: rounded(r.Climb), Minutes: rounded(60 * r.Hours),
			Replaced: r.New || r.Began >= 0, Began: rounded(1000 * r.Began),
		})
	}
	if !math.IsNaN(r.Ran) {
		h := wear.Odometer{Bike: bike, At: at, Of: wear.HourMeter, Ran: rounded(60 * r.Ran), Replaced: r.NewHours}
		if len(list) == 0 {
			h.Climb, h.Replaced = rounded(r.Climb), r.NewHours || r.New
		}
		list = append(list, h)
	}
	return list
}

// rounded is a figure as it is kept, 0 where it is not given.
func rounded(x float64) int64 {
	if !(x > 0) {
		return 0
	}
	return int64(math.Round(x))
}

// BadRow is a row, or a cell of one, that is wrong. It stops nothing else.
type BadRow struct {
	Line   int    // in the file, the first is 1
	Column int    // of the table, the first is 1; 0 = the row as a whole
	Name   string // of the column, as the first row has it; "" = not said
	Why    string // what is wrong and what to write instead
}

// String names place and reason.
func (b BadRow) String() string {
	if b.Column == 0 {
		return fmt.Sprintf("line %d: %s", b.Line, b.Why)
	}
	name := ""
	if b.Name != "" {
		name = fmt.Sprintf(" (%q)", b.Name)
	}
	return fmt.Sprintf("line %d, column %d%s: %s", b.Line, b.Column, name, b.Why)
}

// TableRideID names the ride of a table's row: by bike, moment and figures. The
// same row in another table is the same ride.
func TableRideID(bike wear.ID, at wear.Instant, figures ...float64) wear.RideID {
	key := binary.BigEndian.AppendUint64([]byte("table row"), uint64(bike))
	key = binary.BigEndian.AppendUint64(key, uint64(at))
	for _, x := range figures {
		key = binary.BigEndian.AppendUint64(key, bitsOf(x))
	}
	sum := sha256.Sum256(key)
	return wear.RideID(sum[:len(wear.RideID{})])
}

// bitsOf is the same for figures that mean the same: there are many NaN and two zeros.
func bitsOf(x float64) uint64 {
	switch {
	case math.IsNaN(x):
		return math.Float64bits(math.NaN())
	case x == 0:
		return 0
	}
	return math.Float64bits(x)
}

// ReadTable reads a table, which may be compressed by gzip. Its first row must
// name a date and one of km, odometer, hours and hour meter; columns may come in any order,
// separated by comma, semicolon, tab or bar. Wrong rows are told in the table
// and are no error. The error is nil, a [*NotRideError] or a [*RefusedError]:
// what is damaged is not read in part, since a number that is cut is another
// number. raw is not changed.
func ReadTable(raw []byte, o Options) (*Table, error) {
	data, flaw, err := unzipped(raw)
	if err != nil {
		return nil, err
	}
	if flaw != nil {
		return nil, flaw
	}
	var t *Table
	_, err = guarded(func(data []byte, o Options) (_ []*Track, err error) {
		t, err = readTable(data, o)
		return nil, err
	}, data, o)
	if err != nil {
		return nil, err
	}
	return t, nil
}

// readTable reads decompressed bytes.
func readTable(data []byte, o Options) (*Table, error) {
	var text string
	if len(data) <= maxTable {
		text = tableText(data)
	}
	if size := max(len(data), len(text)); size > maxTable {
		return nil, refused(splitTable, "a table of %d MB, more than the %d MB that one may hold", size>>20, maxTable>>20)
	}
	head, rest, ok := tableHeadOf(text)
	if !ok {
		return nil, &NotRideError{"not a ride file", knownFormats}
	}
	if head.doubt != nil {
		return nil, head.doubt
	}
	mark, rows := head.survey(rest)
	switch {
	case rows > maxTableRows:
		return nil, refused(splitTable, "more than %d rows", maxTableRows)
	case rows == 0:
		return nil, notRide("a table without rows")
	}
	r := tableReader{head: head, o: o, mark: mark, seen: map[rowKey]int{}}
	r.table.Unread = head.unread
	for record := range rest.records() {
		r.take(record)
	}
	return &r.table, nil
}

// isTable reports whether bytes begin with a header row of a table.
func isTable(data []byte) bool {
	_, _, ok := tableHeadOf(tableText(data[:min(len(data), 2*maxTableLine)]))
	return ok
}

// noTracks reads the tracks of a table: it has none, see [ReadTable].
func noTracks([]byte, Options) ([]*Track, error) { return nil, nil }

// tableReader takes the rows.
type tableReader struct {
	head  tableHead
	o     Options
	mark  byte // the table's decimal mark, 0 where nothing tells
	table Table
	seen  map[rowKey]int
}

// rowKey is what makes two rows the same.
type rowKey struct {
	bike string
	on   time.Time
	bits [5]uint64
}

func (r *tableReader) take(record tableRecord) {
	row, bad := r.row(record)
	switch {
	case bad != nil:
		bad.Line = record.line
		r.table.Bad = append(r.table.Bad, *bad)
	case row != nil:
		row.Line = record.line
		key := rowKey{
			strings.ToLower(row.Bike), row.On,
			[5]uint64{bitsOf(row.Km), bitsOf(row.Odometer), bitsOf(row.Climb), bitsOf(row.Hours), bitsOf(row.Ran)},
		}
		row.Nth = r.seen[key]
		r.seen[key]++
		r.table.Rows = append(r.table.Rows, *row)
	}
}
