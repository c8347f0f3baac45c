package desk

import (
	"fmt"
	"math"
	"strings"

	"pawl/ingest"
	"pawl/wear"
)

// none is a cell that takes away what is there.
const none = "-"

// bikeWords is what is known of a bike, for comparing: a noun and what it is.
func (l *listReader) bikeWords(b wear.Bike) [][2]string {
	owner := ""
	if p, err := l.tx.Person(b.Owner); err == nil {
		owner = p.Name
	}
	figure := func(v float64, unit string) string {
		if v == 0 {
			return ""
		}
		return fmt.Sprintf("%.6g %s", v, unit)
	}
	fleet, price := "no", ""
	if b.Fleet {
		fleet = "yes"
	}
	if b.Price != 0 {
		price = fmt.Sprintf("%d.%02d", b.Price/100, b.Price%100)
	}
	return [][2]string{
		{"depot", b.Depot}, {"tags", strings.Join(b.Tags, " ")}, {"price", price}, {"owner", owner},
		{"rider", figure(b.RiderMass, "kg")}, {"bike", figure(b.Mass, "kg")}, {"wheel", figure(b.Wheel*1000, "mm")},
		{"motor", b.Motor.String()}, {"hired out", fleet}, {"note", b.Note},
	}
}

// differences says what differs of the same nouns, in the same order.
func differences(before, after [][2]string) (says []string) {
	for i, now := range after {
		if before[i] != now {
			says = append(says, otherwise(now[0], before[i][1], now[1]))
		}
	}
	return says
}

// otherwise says that something is now otherwise.
func otherwise(noun, was, is string) string {
	switch {
	case is == "":
		return fmt.Sprintf("no %s (was %s)", noun, was)
	case was == "":
		return noun + " " + is
	}
	return fmt.Sprintf("%s %s (was %s)", noun, is, was)
}

func (l *listReader) setBikeCells(row ingest.ListRow, b *wear.Bike) error {
	for _, set := range []func(ingest.ListRow, *wear.Bike) error{setMasses, setMotorAndFleet, setHire, l.setOwner} {
		if err := set(row, b); err != nil {
			return err
		}
	}
	switch text, _ := row.Cell("note"); {
	case text == "" || squeezed(text) == squeezed(b.Note):
	case text == none:
		b.Note = ""
	default:
		b.Note = plainText(text)
	}
	return nil
}

// figureIn is the figure of a cell within bounds; said is false where it is empty.
func figureIn(row ingest.ListRow, column string, least, most float64) (v float64, said bool, err error) {
	if text, _ := row.Cell(column); text == none {
		return 0, false, nil // a spreadsheet's nought
	}
	v, said, err = row.Figure(column)
	if err != nil {
		text, _ := row.Cell(column)
		return 0, false, wrongCell(row, column, "%q %v", text, err)
	}
	if said && !(v >= least && v <= most) {
		return 0, false, wrongCell(row, column, "%.10g cannot be meant: from %.10g to %.10g is usual", v, least, most)
	}
	return v, said, nil
}

func setMasses(row ingest.ListRow, b *wear.Bike) error {
	for _, f := range []struct {
		column             string
		to                 *float64
		parts, least, most float64 // of the figure to one
	}{
		{"rider", &b.RiderMass, 1, 20, 250}, {"bike", &b.Mass, 1, 5, 60}, {"wheel", &b.Wheel, 1000, 1000, 2600},
	} {
		v, said, err := figureIn(row, f.column, f.least, f.most)
		if err != nil {
			return err
		}
		if v /= f.parts; said && math.Abs(v-*f.to) > 1e-6 {
			*f.to = v
		}
	}
	return nil
}

// setHire sets what concerns the hire: depot, tags, and the price of a day.
func setHire(row ingest.ListRow, b *wear.Bike) (err error) {
	if text, _ := row.Cell("depot"); text != "" && squeezed(text) != squeezed(b.Depot) {
		if b.Depot, err = wear.ParseDepot(plainText(text)); err != nil {
			return wrongCell(row, "depot", "%v", err)
		}
	}
	if text, _ := row.Cell("tags"); text != "" {
		if b.Tags, err = wear.ParseTags(plainText(text)); err != nil {
			return wrongCell(row, "tags", "%v", err)
		}
	}
	if text, _ := row.Cell("price"); text == none {
		b.Price = 0
		return nil
	}
	v, said, err := figureIn(row, "price", 0, maxPrice)
	if err != nil || !said {
		return err
	}
	price := math.Round(v * 100)
	if math.Abs(v*100-price) > 1e-3 {
		return wrongCell(row, "price", "%g is no amount of money: write a price as 24.50", v)
	}
	b.Price = int64(price)
	return nil
}

// maxPrice is the most that a hire day may cost, in the book's currency.
const maxPrice = 1_000_000

func setMotorAndFleet(row ingest.ListRow, b *wear.Bike) error {
	if text, _ := row.Cell("motor"); text != "" && text != none {
		m, err := wear.ParseMotor(strings.ToLower(text))
		if err != nil {
			return wrongCell(row, "motor", "%q is no motor: none, mid or hub", text)
		}
		b.Motor = m
	}
	switch text, _ := row.Cell("fleet"); strings.ToLower(text) {
	case "":
	case "yes", "y", "x", "true", "1":
		b.Fleet = true
	case "no", "n", "false", "0", none:
		b.Fleet = false
	default:
		return wrongCell(row, "fleet", "%q is neither yes nor no", text)
	}
	return nil
}

func (l *listReader) setOwner(row ingest.ListRow, b *wear.Bike) error {
	text, _ := row.Cell("owner")
	switch text {
	case "":
		return nil
	case none:
		b.Owner = 0
		return nil
	}
	owner, err := ownerNamed(l.tx, text)
	if isUnknown(err) {
		return wrongCell(row, "owner", "person %q is not in the book: pawl person read enters people", text)
	}
	if err != nil {
		return wrongCell(row, "owner", "%v", err)
	}
	b.Owner = owner
	return nil
}
