package desk

import (
	"fmt"
	"strings"

	"pawl/ingest"
	"pawl/wear"
)

var bikeColumns = map[string]string{
	"name": "name", "bike": "name", "sheet": "sheet", "build sheet": "sheet", "owner": "owner", "person": "owner", "customer": "owner",
	"rider kg": "rider", "bike kg": "bike", "wheel mm": "wheel", "motor": "motor", "fleet": "fleet", "note": "note", "notes": "note",
}

// bike enters or changes the bike of a row.
func (l *listReader) bike(row ingest.ListRow) error {
	name, _ := row.Cell("name")
	if name = plainText(name); name == "" {
		return wrongCell(row, "name", "no name")
	}
	before, known, err := l.tx.BikeNamed(name)
	if err != nil {
		return err
	}
	if !known {
		return l.addBike(row, name)
	}
	after := before
	if err := l.setBikeCells(row, &after); err != nil {
		return err
	}
	if sheet, _ := row.Cell("sheet"); sheet != "" && sheet != before.Sheet {
		return wrongCell(row, "sheet", "the bike was built by the sheet %q: fit and remove its parts", before.Sheet)
	}
	if !l.changed(before.Name, l.bikeWords(before), l.bikeWords(after)) {
		return nil
	}
	if err := l.tx.ChangeBike(after); err != nil {
		return err
	}
	if after.Wheel != before.Wheel {
		if err := keepWheel(l.tx, before, after.Wheel, wear.Ever); err != nil {
			return err
		}
	}
	if ingest.ModelOf(before) == ingest.ModelOf(after) {
		return nil
	}
	_, err = reduceAllAnew(l.tx, after)
	return err
}

func (l *listReader) addBike(row ingest.ListRow, name string) error {
	b := wear.Bike{Name: name}
	if err := l.setBikeCells(row, &b); err != nil {
		return err
	}
	sheetName, _ := row.Cell("sheet")
	if sheetName == "" {
		sheetName = "trail"
	}
	sheet, ok := wear.SheetByName(sheetName)
	if !ok {
		return wrongCell(row, "sheet", "%q is no build sheet: trail, hardtail, rigid or e-trail", sheetName)
	}
	motor, _ := row.Cell("motor")
	_, _, err := l.newBike(l.tx, BikeRequest{Bike: b, Sheet: sheet, NoMotor: strings.EqualFold(motor, "none")}, wear.Ever)
	l.added(name)
	return err
}

// bikeWords is what is known of a bike, for comparing.
func (l *listReader) bikeWords(b wear.Bike) []string {
	owner := "nobody's"
	if p, err := l.tx.Person(b.Owner); err == nil {
		owner = "of " + p.Name
	}
	fleet := "not hired out"
	if b.Fleet {
		fleet = "hired out"
	}
	return []string{
		owner, fmt.Sprintf("rider %g kg", b.RiderMass), fmt.Sprintf("bike %g kg", b.Mass), fmt.Sprintf("wheel %g mm", b.Wheel*1000),
		fmt.Sprintf("motor %d", b.Motor), fleet, "note " + b.Note,
	}
}

func (l *listReader) setBikeCells(row ingest.ListRow, b *wear.Bike) error {
	for _, f := range []struct {
		column            string
		to                *float64
		unit, least, most float64
	}{
		{"rider", &b.RiderMass, 1, 20, 250}, {"bike", &b.Mass, 1, 5, 60}, {"wheel", &b.Wheel, 0.001, 1000, 2600},
	} {
		v, said, err := row.Figure(f.column)
		if err != nil {
			return wrongCell(row, f.column, "%v", err)
		}
		if said && !(v >= f.least && v <= f.most) {
			return wrongCell(row, f.column, "%g cannot be meant: from %g to %g is usual", v, f.least, f.most)
		}
		if said {
			*f.to = v * f.unit
		}
	}
	if text, _ := row.Cell("note"); text != "" {
		b.Note = plainText(text)
	}
	if err := setMotorAndFleet(row, b); err != nil {
		return err
	}
	return l.setOwner(row, b)
}

func setMotorAndFleet(row ingest.ListRow, b *wear.Bike) error {
	motors := map[string]wear.Motor{"none": wear.NoMotor, "mid": wear.MidMotor, "hub": wear.HubMotor}
	if text, _ := row.Cell("motor"); text != "" {
		m, ok := motors[strings.ToLower(text)]
		if !ok {
			return wrongCell(row, "motor", "%q is no motor: none, mid or hub", text)
		}
		b.Motor = m
	}
	switch text, _ := row.Cell("fleet"); strings.ToLower(text) {
	case "":
	case "yes", "y", "x", "true", "1":
		b.Fleet = true
	case "no", "n", "false", "0":
		b.Fleet = false
	default:
		return wrongCell(row, "fleet", "%q is neither yes nor no", text)
	}
	return nil
}

func (l *listReader) setOwner(row ingest.ListRow, b *wear.Bike) error {
	text, _ := row.Cell("owner")
	if text == "" {
		return nil
	}
	owner, err := ownerNamed(l.tx, text)
	if isUnknown(err) {
		return wrongCell(row, "owner", "person %q is not in the book: pawl person read enters people", text)
	}
	b.Owner = owner
	return err
}
