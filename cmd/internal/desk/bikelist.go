package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"

	"pawl/ingest"
	"pawl/store"
	"pawl/wear"
)

// batchBikes is how many bikes of a list are written at once: bbolt keeps what one
// transaction writes in a row, where putting a thing in costs the more the longer
// it is.
const batchBikes = 250

// bikeReader is what the rows of a list of bikes share.
type bikeReader struct {
	hired  bool                                  // the bikes are hired out, where no cell says otherwise
	sheet  func(name string) (wear.Sheet, error) // reads a build sheet of the user's own; nil = there are none
	sheets map[string]sheetRead                  // by what the cells say
	lines  map[string]int                        // by name, the line on which the bike is
	spaced map[string]wear.ID                    // bikes whose names have more blanks than a table shows; nil = not asked yet
}

type sheetRead struct {
	sheet wear.Sheet
	err   error
}

// ReadBikes enters bikes from a table, or changes what differs: a bike is told
// by its name. An empty cell says nothing, a "-" that there is none.
func (d *Desk) ReadBikes(ctx context.Context, req ListRequest) (ListResult, error) {
	return d.readBikes(ctx, req, "bike read", false)
}

// ReadFleet is ReadBikes for bikes that are hired out.
func (d *Desk) ReadFleet(ctx context.Context, req ListRequest) (ListResult, error) {
	return d.readBikes(ctx, req, fleetVerb, true)
}

// The verbs of lists of bikes. All batches of one reading have the same moment
// and target, by which undo takes them back together.
const (
	fleetVerb = "fleet read"
	bikesVerb = "bike read"
)

func (d *Desk) readBikes(ctx context.Context, req ListRequest, verb string, hired bool) (ListResult, error) {
	bikes := &bikeReader{hired: hired, sheet: req.Sheet, sheets: map[string]sheetRead{}, lines: map[string]int{}}
	return d.readList(ctx, req, listSource{bikeForm(), verb, batchBikes, (*listReader).bike, bikes})
}

// bike enters or changes the bike of a row.
func (l *listReader) bike(row ingest.ListRow) error {
	text, _ := row.Cell("name")
	name := plainText(text)
	if name == "" {
		return wrongCell(row, "name", "no name")
	}
	key := strings.ToLower(name)
	if line := l.bikes.lines[key]; line != 0 && line != row.Line {
		return wrongCell(row, "name", "bike %q is on line %d already", name, line)
	}
	l.bikes.lines[key] = row.Line
	before, known, err := l.bikeNamed(name)
	if err != nil {
		return err
	}
	if !known {
		return l.addBike(row, name)
	}
	return l.changeBike(row, before)
}

// bikeNamed is the bike of that name, also where the name has two blanks of which
// a list shows one.
func (l *listReader) bikeNamed(name string) (wear.Bike, bool, error) {
	b, known, err := l.tx.BikeNamed(name)
	if known || err != nil {
		return b, known, err
	}
	if l.bikes.spaced == nil {
		l.bikes.spaced = map[string]wear.ID{}
		all, err := l.tx.Bikes()
		if err != nil {
			return b, false, err
		}
		for _, b := range all {
			if shown := squeezed(b.Name); shown != b.Name {
				l.bikes.spaced[strings.ToLower(shown)] = b.ID
			}
		}
	}
	id, known := l.bikes.spaced[strings.ToLower(name)]
	if !known {
		return b, false, nil
	}
	b, err = l.tx.Bike(id)
	return b, err == nil, err
}

// squeezed is a text with one blank where it has several, as lists show it.
func squeezed(text string) string { return strings.Join(strings.Fields(text), " ") }

func (l *listReader) addBike(row ingest.ListRow, name string) error {
	b := wear.Bike{Name: name, Fleet: l.bikes.hired}
	if err := l.setBikeCells(row, &b); err != nil {
		return err
	}
	sheet, err := l.sheetOf(row, "")
	if err != nil {
		return err
	}
	req := BikeRequest{Bike: b, Used: Nothing()}
	if req.Sheet, req.Parts, err = partsOfRow(row, sheet); err != nil {
		return err
	}
	opening, err := l.opening(row)
	if err != nil {
		return err
	}
	motor, _ := row.Cell("motor")
	req.NoMotor = strings.EqualFold(motor, wear.NoMotor.String())
	from := wear.Ever
	if opening.said {
		req.Used, from = opening.used(), opening.at
	}
	b, parts, err := l.newBike(l.tx, req, from)
	var conflict *store.ConflictError
	if errors.As(err, &conflict) {
		return wrongCell(row, "name", "%v: %s", conflict, conflict.Do)
	}
	if err != nil {
		return err
	}
	line := fmt.Sprintf("%s: new, by the sheet %q, %s", b.Name, b.Sheet, counted(len(parts), "part"))
	if opening.said {
		line += ", " + opening.String(l.tx.Zone())
		_, err = l.tx.AddOdometer(opening.reading(b.ID))
	}
	l.added(line)
	return err
}

func (l *listReader) changeBike(row ingest.ListRow, before wear.Bike) error {
	after := before
	after.Fleet = before.Fleet || l.bikes.hired
	if err := l.setBikeCells(row, &after); err != nil {
		return err
	}
	if _, err := l.sheetOf(row, before.Sheet); err != nil {
		return err
	}
	says, err := l.putChanged(before, after)
	if err != nil {
		return err
	}
	for _, step := range []func(ingest.ListRow, wear.Bike) ([]string, error){l.correctOpening, l.correctParts} {
		more, err := step(row, after)
		if err != nil {
			return err
		}
		says = append(says, more...)
	}
	l.differs(before.Name, says)
	return nil
}

// putChanged writes what differs of a bike and says it.
func (l *listReader) putChanged(before, after wear.Bike) (says []string, err error) {
	if says = differences(l.bikeWords(before), l.bikeWords(after)); len(says) == 0 {
		return nil, nil
	}
	if err := l.tx.ChangeBike(after); err != nil {
		return nil, err
	}
	if after.Wheel != before.Wheel {
		if err := keepWheel(l.tx, before, after.Wheel, wear.Ever); err != nil {
			return nil, err
		}
	}
	if ingest.ModelOf(before) == ingest.ModelOf(after) {
		return says, nil
	}
	again, err := reduceAllAnew(l.tx, after)
	if again > 0 {
		says = append(says, "estimates of "+counted(again, "ride")+" made anew")
	}
	return says, err
}

// sheetOf is the build sheet that a row names, the trail bike's where it names
// none. Of a bike that was built already it must be the same.
func (l *listReader) sheetOf(row ingest.ListRow, built string) (wear.Sheet, error) {
	name, _ := row.Cell("sheet")
	if built != "" && (name == "" || name == built) {
		return wear.Sheet{}, nil
	}
	name = cmp.Or(name, "trail")
	read, known := l.bikes.sheets[name]
	if !known {
		read.sheet, read.err = l.bikes.read(name)
		l.bikes.sheets[name] = read
	}
	switch {
	case read.err != nil:
		return read.sheet, wrongCell(row, "sheet", "%v", read.err)
	case built != "" && read.sheet.Name != built:
		return read.sheet, wrongCell(row, "sheet", "the bike was built by the sheet %q, and stays so: pawl fit and pawl remove change its parts", built)
	}
	return read.sheet, nil
}

// read reads a build sheet, a shipped one or the user's own.
func (r *bikeReader) read(name string) (wear.Sheet, error) {
	if sheet, ok := wear.SheetByName(name); ok {
		return sheet, nil
	}
	if r.sheet == nil || !strings.HasSuffix(strings.ToLower(name), ".toml") {
		return wear.Sheet{}, fmt.Errorf("%q is no build sheet: %s, or a TOML file beside the table", name, sheetNames())
	}
	return r.sheet(name)
}

func sheetNames() string {
	var names []string
	for _, s := range wear.Sheets() {
		names = append(names, s.Name)
	}
	return strings.Join(names, ", ")
}
