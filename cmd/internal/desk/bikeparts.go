package desk

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"pawl/ingest"
	"pawl/wear"
)

// partCell is what a row says of a part.
type partCell struct {
	kind   string
	column string // that says it
	said   wear.Part
}

// teethFirst is a model with its teeth before it: "32 Model", "32T", "32".
var teethFirst = onUse(`^([0-9]{1,2})[tT]?(?:\s+(.*))?$`)

// partCells are what a row says of parts, in the order of the schedule.
func partCells(row ingest.ListRow) (cells []partCell, err error) {
	for _, k := range wear.Default().Kinds() {
		c := partCell{kind: k.Name, column: modelColumn + k.Name}
		if text, _ := row.Cell(c.column); text != "" && text != none {
			c.said.Model = plainText(text)
		}
		if m := teethFirst().FindStringSubmatch(c.said.Model); m != nil && wear.Toothed(k.Name) {
			c.said.Teeth, _ = strconv.Atoi(m[1]) // the form admits numbers only
			c.said.Model = m[2]
		}
		column := teethColumn + k.Name
		v, said, err := figureIn(row, column, 8, 60)
		switch {
		case err != nil:
			return nil, err
		case said && v != float64(int(v)):
			return nil, wrongCell(row, column, "%g is no number of teeth", v)
		case said:
			c.said.Teeth, c.column = int(v), column
		}
		if c.said.Model != "" || c.said.Teeth != 0 {
			cells = append(cells, c)
		}
	}
	return cells, nil
}

// partsOfRow is a build sheet with the parts of a row that it has not, and by
// kind what the row says of those.
func partsOfRow(row ingest.ListRow, sheet wear.Sheet) (wear.Sheet, map[string]wear.Part, error) {
	cells, err := partCells(row)
	if err != nil || len(cells) == 0 {
		return sheet, nil, err
	}
	parts := map[string]wear.Part{}
	sheet.Parts, sheet.On = slices.Clone(sheet.Parts), maps.Clone(sheet.On)
	for _, c := range cells {
		i := slices.IndexFunc(sheet.Parts, func(p wear.Part) bool { return p.Kind == c.kind })
		if i < 0 {
			i = addKind(&sheet, c.kind)
		}
		if err := successor(sheet.Parts[i], c.said).Check(wear.Default()); err != nil {
			return sheet, nil, wrongCell(row, c.column, "%v", err)
		}
		parts[c.kind] = c.said
	}
	return sheet, parts, nil
}

// addKind adds a part to a sheet, on the wheel that carries such parts where the
// sheet has it.
func addKind(sheet *wear.Sheet, kind string) int {
	sheet.Parts = append(sheet.Parts, wear.Part{Kind: kind})
	wheel, carried := wear.CarriedBy(kind)
	if carried && slices.ContainsFunc(sheet.Parts, func(p wear.Part) bool { return p.Kind == wheel }) {
		if sheet.On == nil {
			sheet.On = map[string]string{}
		}
		sheet.On[kind] = wheel
	}
	return len(sheet.Parts) - 1
}

// correctParts corrects the model and teeth of parts that came with the bike and
// are on it still, and says so. What was fitted since stays as it was entered:
// that the table says otherwise is a note.
func (l *listReader) correctParts(row ingest.ListRow, b wear.Bike) (says []string, err error) {
	cells, err := partCells(row)
	if err != nil || len(cells) == 0 {
		return nil, err
	}
	on, err := l.partsSince(b)
	if err != nil {
		return nil, err
	}
	for _, c := range cells {
		p, there := on[c.kind]
		switch {
		case !there:
			return nil, wrongCell(row, c.column, "no %s came with bike %q: pawl fit %q %s --model …", c.kind, b.Name, b.Name, c.kind)
		case p.stay.To != wear.Never && p.stay.To <= wear.At(l.Now):
			l.leave("%s: the %s came off on %s: the table's %s is left aside", b.Name, c.kind, day(p.stay.To, l.tx.Zone()), sayPart(c.said))
			continue
		}
		said, err := l.correctPart(row, c, p)
		if err != nil {
			return nil, err
		}
		if said != "" {
			says = append(says, said)
		}
	}
	return says, nil
}

// partOn is a part and its latest stay on a bike.
type partOn struct {
	part wear.Part
	stay wear.Stay
}

// partsSince are by kind the latest parts of a bike, on it now or not.
func (l *listReader) partsSince(b wear.Bike) (map[string]partOn, error) {
	stays, err := l.tx.StaysOn(b.ID)
	if err != nil {
		return nil, err
	}
	on := make(map[string]partOn, len(stays))
	for _, s := range stays {
		if s.From > wear.At(l.Now) {
			continue
		}
		p, err := l.tx.Part(s.Part)
		if err != nil {
			return nil, err
		}
		on[p.Kind] = partOn{p, s} // in order of time
	}
	return on, nil
}

// correctPart corrects one part where the row says otherwise.
func (l *listReader) correctPart(row ingest.ListRow, c partCell, on partOn) (says string, err error) {
	p := successor(on.part, c.said)
	if p.Model == on.part.Model && p.Teeth == on.part.Teeth {
		return "", nil
	}
	if !on.stay.Came {
		text, _ := row.Cell("name")
		l.leave("%s: the %s fitted on %s stays, %s (%s); the table says %s", plainText(text), c.kind,
			day(on.stay.From, l.tx.Zone()), on.part.Name, cmp.Or(sayPart(on.part), "no model"), sayPart(c.said))
		return "", nil
	}
	if err := p.Check(wear.Default()); err != nil {
		return "", wrongCell(row, c.column, "%v", err)
	}
	corrected := on.part
	corrected.Model, corrected.Teeth = p.Model, p.Teeth
	if err := l.tx.ChangePart(corrected); err != nil {
		return "", err
	}
	return otherwise(c.kind, sayPart(on.part), sayPart(corrected)), nil
}

// leave notes what of a row was left aside.
func (l *listReader) leave(format string, args ...any) {
	l.res.Notes = append(l.res.Notes, fmt.Sprintf(format, args...))
}

// sayPart is teeth and model as a table has them.
func sayPart(p wear.Part) string {
	teeth := ""
	if p.Teeth != 0 && wear.Toothed(p.Kind) || p.Kind == "" && p.Teeth != 0 {
		teeth = strconv.Itoa(p.Teeth)
	}
	return strings.TrimSpace(teeth + " " + p.Model)
}
