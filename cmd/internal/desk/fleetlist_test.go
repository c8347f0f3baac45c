package desk

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"
	"pgregory.net/rapid"

	"pawl/report"
	"pawl/store"
	"pawl/wear"
)

var fleetNow = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

// smallSheet is a sheet of a few parts, one of them on a wheel.
const smallSheet = `name = "small"
[bike]
mass = 14.0
[[part]]
kind = "chain"
model = "Plain"
[[part]]
kind = "ring"
teeth = 32
narrow = true
[[part]]
kind = "rear-wheel"
[[part]]
kind = "cassette"
on = "rear-wheel"
`

func ownSheet(name string) (wear.Sheet, error) {
	if name != "small.toml" {
		return wear.Sheet{}, os.ErrNotExist
	}
	return wear.ParseSheet([]byte(smallSheet))
}

// fleetDesk is a desk of a book of its own, which is audited in the end.
func fleetDesk(t testing.TB, path string) *Desk {
	t.Helper()
	d := Open(path, "Europe/Vienna", "test", fleetNow)
	t.Cleanup(func() {
		if audit, err := d.Book.Audit(context.Background()); !Empty(err) {
			require.NoError(t, err)
			assert.True(t, audit.Clean(), audit.Problems)
		}
	})
	return d
}

func newFleetDesk(t testing.TB) *Desk {
	t.Helper()
	return fleetDesk(t, filepath.Join(t.TempDir(), "fleet.book"))
}

// readFleet reads a table; every line is one of the table.
func readFleet(t require.TestingT, d *Desk, lines ...string) ListResult {
	req := ListRequest{Raw: []byte(strings.Join(lines, "\n") + "\n"), File: "fleet.csv", Sheet: ownSheet}
	res, err := d.ReadFleet(context.Background(), req)
	require.NoError(t, err)
	return res
}

// partsNow are the parts of a bike by kind.
func partsNow(t require.TestingT, d *Desk, bike string) map[string]PartState {
	list, _, err := d.Parts(context.Background(), bike, "")
	require.NoError(t, err)
	parts := map[string]PartState{}
	for _, p := range list {
		parts[p.Part.Kind] = p
	}
	return parts
}

// TestFleetForms: the same fleet in every form of a table is the same fleet.
func TestFleetForms(t *testing.T) {
	comma := "Bike,Build sheet,DEPOT,Tags,Price per hire day,Odometer (km),Odometer-on,Chain,Ring,Ring teeth,rider_kg,Note\n" +
		"hire 1,small.toml,Höhe,red XL,\"45.50\",\"1234.5\",2026-05-03,Twelve,Round,34,72.5,grün\n"
	semicolon := "bike;sheet;depot;tags;price;odometer km;odometer on;chain model;RING;rider kg;note\r\n" +
		"hire 1;small.toml;Höhe;XL|red;45,5;1.234,5;3.5.2026;Twelve;34 Round;72,5;grün\r\n"
	wide := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(comma)) {
		wide = append(wide, byte(u), byte(u>>8))
	}
	old, err := charmap.Windows1252.NewEncoder().Bytes([]byte(semicolon))
	require.NoError(t, err)
	for name, raw := range map[string][]byte{
		"commas": []byte(comma), "semicolons": []byte(semicolon), "UTF-16": wide, "Windows-1252": old,
		"tabs and a BOM": []byte("\ufeff" + strings.ReplaceAll(strings.ReplaceAll(comma, ",", "\t"), "\n", "\r\n")),
		"miles":          []byte(strings.Replace(strings.Replace(comma, "(km)", "miles", 1), "1234.5", "767.0827", 1)),
	} {
		t.Run(name, func(t *testing.T) {
			d := newFleetDesk(t)
			res, err := d.ReadFleet(t.Context(), ListRequest{Raw: raw, File: "fleet.csv", Sheet: ownSheet})
			require.NoError(t, err)
			require.Empty(t, res.Wrong)
			assert.Empty(t, res.Unread)
			assert.Equal(t, []string{`hire 1: new, by the sheet "small", 4 parts, odometer 1234.5 km on 2026-05-03`}, res.New)
			list, _, err := d.Bikes(t.Context(), "")
			require.NoError(t, err)
			require.Len(t, list, 1)
			b := list[0].Bike
			b.ID, b.Added = 0, 0
			assert.Equal(t, wear.Bike{Name: "hire 1", Sheet: "small", RiderMass: 72.5, Mass: 14, Depot: "Höhe", Tags: []string{"red", "XL"},
				Price: 4550, Fleet: true, Note: "grün"}, b)
			parts := partsNow(t, d, "hire 1")
			assert.Equal(t, "Twelve", parts["chain"].Part.Model)
			assert.Equal(t, "Round", parts["ring"].Part.Model)
			assert.Equal(t, 34, parts["ring"].Part.Teeth)
			assert.InDelta(t, 1234.5e3, parts["cassette"].Total.Total().SI(wear.Distance), 1)
			assert.Equal(t, "2026-05-03", day(parts["cassette"].Since, time.UTC), "the end of that day in Vienna")
		})
	}
}

// TestFleetSameAgain: the same table leaves the file of the book as it is.
func TestFleetSameAgain(t *testing.T) {
	table, err := os.ReadFile("../../../testdata/fleet.csv")
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "fleet.book")
	d := fleetDesk(t, path)
	res := readFleet(t, d, string(table))
	require.Equal(t, 13, res.Added, res.Wrong)
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	later := fleetDesk(t, path)
	later.Now = fleetNow.AddDate(0, 1, 3)
	for range 2 {
		res = readFleet(t, later, string(table))
		assert.Equal(t, ListResult{Same: 13}, res)
		after, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.True(t, bytes.Equal(before, after))
	}
}

// TestFleetUndo: a fleet of more than one batch is taken back at once, and nothing
// but it.
func TestFleetUndo(t *testing.T) {
	d := newFleetDesk(t)
	readFleet(t, d, "bike,sheet", "own,small.toml")
	lines := []string{"bike,sheet,odometer_km"}
	for i := range 2*batchBikes + 10 {
		lines = append(lines, fmt.Sprintf("hire %d,small.toml,%d", i, i))
	}
	d.Now = fleetNow.Add(time.Hour)
	d.Book = Open(d.Book.Path(), "UTC", "test", d.Now).Book
	require.Equal(t, len(lines)-1, readFleet(t, d, lines...).Added)
	require.Equal(t, len(lines)-1, readFleet(t, d, lines...).Same)
	e, err := d.Undo(t.Context())
	require.NoError(t, err)
	assert.Equal(t, "fleet read fleet.csv", e.Verb+" "+e.Target)
	list, _, err := d.Bikes(t.Context(), "")
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, "own", list[0].Bike.Name)
	parts, _, err := d.Parts(t.Context(), "", "")
	require.NoError(t, err)
	assert.Len(t, parts, 4)
}

// TestFleetDryRun: it says what the reading then does, and writes nothing.
func TestFleetDryRun(t *testing.T) {
	d := newFleetDesk(t)
	readFleet(t, d, "bike,sheet,depot", "hire 1,small.toml,North")
	raw := []byte("bike,sheet,depot,chain\nhire 1,,South,Twelve\nhire 2,small.toml,North,\nhire 3,none,,\n")
	req := ListRequest{Raw: raw, File: "fleet.csv", Sheet: ownSheet, DryRun: true}
	would, err := d.ReadFleet(t.Context(), req)
	require.NoError(t, err)
	list, _, err := d.Bikes(t.Context(), "")
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, "North", list[0].Bike.Depot)
	req.DryRun = false
	did, err := d.ReadFleet(t.Context(), req)
	require.NoError(t, err)
	would.DryRun = false
	assert.Equal(t, would, did)
	assert.Equal(t, []string{"hire 1: depot South (was North), chain Twelve (was Plain)"}, did.Says)
}

// TestFleetWrongRows: each wrong cell is named, and leaves no trace of its row.
func TestFleetWrongRows(t *testing.T) {
	head := "bike,sheet,depot,tags,price,odometer_km,odometer_on,chain,ring,rider_kg,motor,fleet,owner"
	rapid.Check(t, func(t *rapid.T) {
		faults := []struct{ cells, where string }{
			{",small.toml", `column 1 ("bike"): no name`},
			{strings.Repeat("x", 101) + ",small.toml", `column 1 ("bike"): bike`},
			{"NAME,smal.toml", `column 2 ("sheet")`},
			{"NAME,small.toml," + strings.Repeat("d", 70), `column 3 ("depot")`},
			{"NAME,small.toml,," + strings.Repeat("t", 70), `column 4 ("tags")`},
			{"NAME,small.toml,,,1.234", `column 5 ("price")`},
			{"NAME,small.toml,,,-4", `column 5 ("price"): "-4" is negative`},
			{"NAME,small.toml,,,,1e9", `column 6 ("odometer_km")`},
			{"NAME,small.toml,,,,12,2026-06-02", `column 7 ("odometer_on"): the day of the odometer is in the future`},
			{"NAME,small.toml,,,,12,2026-13-02", `column 7 ("odometer_on")`},
			{"NAME,small.toml,,,,,2026-05-02", `column 7 ("odometer_on"): a day without`},
			{"NAME,small.toml,,,,,,,33 Odd", `column 9 ("ring")`},
			{"NAME,small.toml,,,,,,,,500", `column 10 ("rider_kg")`},
			{"NAME,small.toml,,,,,,,,,steam", `column 11 ("motor")`},
			{"NAME,small.toml,,,,,,,,,,maybe", `column 12 ("fleet")`},
			{"NAME,small.toml,,,,,,,,,,,Nobody Known", `column 13 ("owner")`},
			{"NAME,small.toml,,,,,,,,,,,,too many", "more cells"},
			{"NAME,small.toml,\"a\" b", "line"},
		}
		d := Open(filepath.Join(tempDir(t), "fleet.book"), "UTC", "test", fleetNow)
		lines, wrong, good := []string{head}, []string{}, []string{}
		for i := range rapid.IntRange(1, 8).Draw(t, "rows") {
			name := fmt.Sprintf("hire %d", i)
			if fault := rapid.IntRange(-8, len(faults)-1).Draw(t, "fault"); fault >= 0 {
				lines = append(lines, strings.Replace(faults[fault].cells, "NAME", name, 1))
				wrong = append(wrong, fmt.Sprintf("line %d", i+2)+"\x00"+faults[fault].where)
				continue
			}
			good = append(good, name)
			lines = append(lines, name+",small.toml,North,a b,12.50,900,2026-05-01,Twelve,32 Round,80,none,yes,")
		}
		res := readFleet(t, d, lines...)
		require.Len(t, res.Wrong, len(wrong), res.Wrong)
		all := strings.Join(res.Wrong, "\n")
		for _, w := range wrong {
			line, where, _ := strings.Cut(w, "\x00")
			assert.Contains(t, all, line)
			assert.Contains(t, all, where)
		}
		assert.Equal(t, len(good), res.Added)
		audit, err := d.Book.Audit(context.Background())
		if len(good) == 0 {
			return
		}
		require.NoError(t, err)
		assert.True(t, audit.Clean(), audit.Problems)
		assert.Equal(t, [2]int{len(good), 4 * len(good)}, [2]int{audit.Bikes, audit.Parts})
	})
}

// TestFleetWrongChange: of a row that is wrong in its last cell nothing is changed.
func TestFleetWrongChange(t *testing.T) {
	d := newFleetDesk(t)
	head := "bike,sheet,depot,odometer_km,odometer_on,chain,ring"
	readFleet(t, d, head, "hire 1,small.toml,North,900,2026-05-01,Ten,32 Round")
	entries := func() (n int) {
		require.NoError(t, d.Book.View(t.Context(), func(tx *store.Tx) error {
			for range tx.Entries(false) {
				n++
			}
			return nil
		}))
		return n
	}
	before := entries()
	res := readFleet(t, d, head, "hire 1,,South,950,2026-05-02,Twelve,33 Round")
	require.Len(t, res.Wrong, 1)
	assert.Contains(t, res.Wrong[0], `column 7 ("ring")`)
	res.Wrong = nil
	assert.Equal(t, ListResult{}, res)
	assert.Equal(t, before, entries())
	assert.Equal(t, 1, readFleet(t, d, head, "hire 1,small.toml,North,900,2026-05-01,Ten,32 Round").Same)
}

// tempDir is a folder that goes with the check.
func tempDir(t *rapid.T) string {
	dir, err := os.MkdirTemp("", "fleet")
	require.NoError(t, err)
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	return dir
}

// hostile are texts as lists may hold them: what spreadsheets take for formulas,
// separators, quotes and wide letters.
func hostile(least, most int) *rapid.Generator[string] {
	runes := rapid.RuneFrom([]rune("ab1 =+-@;,|'\"\\/#%ö日😀＝＠.\u00a0"))
	return rapid.Map(rapid.StringOfN(runes, least, most, 60), strings.TrimSpace)
}

// TestBikesReadBack: what a list of bikes writes is read back without a change.
func TestBikesReadBack(t *testing.T) {
	sheet, err := ownSheet("small.toml")
	require.NoError(t, err)
	rapid.Check(t, func(t *rapid.T) {
		d := Open(filepath.Join(tempDir(t), "fleet.book"), "UTC", "test", fleetNow)
		names := map[string]bool{}
		for range rapid.IntRange(1, 5).Draw(t, "bikes") {
			name := hostile(1, 12).Draw(t, "name")
			if key := strings.ToLower(squeezed(name)); name == "" || names[key] {
				continue
			} else {
				names[key] = true
			}
			mass := func(label string) float64 {
				return rapid.SampledFrom([]float64{0, 1}).Draw(t, label) * rapid.Float64Range(21, 59).Draw(t, label)
			}
			tags, err := wear.ParseTags(hostile(0, 20).Draw(t, "tags"))
			require.NoError(t, err)
			depot, err := wear.ParseDepot(hostile(0, 20).Draw(t, "depot"))
			require.NoError(t, err)
			b := wear.Bike{
				Name: name, Depot: depot, Tags: tags, Price: rapid.Int64Range(0, 9_999_999).Draw(t, "price"),
				RiderMass: mass("rider"), Mass: mass("bike"), Wheel: mass("wheel") / 30,
				Motor: wear.Motor(rapid.IntRange(0, 2).Draw(t, "motor")), Fleet: rapid.Bool().Draw(t, "fleet"), Note: hostile(0, 30).Draw(t, "note"),
			}
			if b.Wheel != 0 && (b.Wheel < 1 || b.Wheel > 2.6) {
				b.Wheel = 2.3456789
			}
			_, _, err = d.AddBike(context.Background(), BikeRequest{Bike: b, Sheet: sheet, Used: Nothing(), NoMotor: b.Motor == 0})
			require.NoError(t, err)
		}
		list, _, err := d.Bikes(context.Background(), "")
		if Empty(err) {
			return
		}
		require.NoError(t, err)
		var lines []report.BikeLine
		for _, b := range list {
			lines = append(lines, report.BikeLine{Bike: b.Bike, Owner: b.Owner})
		}
		var table bytes.Buffer
		require.NoError(t, report.BikesCSV(&table, lines, report.Style{}))
		for _, dry := range []bool{true, false} {
			res, err := d.ReadFleet(context.Background(), ListRequest{Raw: table.Bytes(), File: "back.csv", Sheet: ownSheet, DryRun: dry})
			require.NoError(t, err)
			assert.Equal(t, len(list), res.Same, "%v %v %v\n%s", res.Says, res.New, res.Wrong, table.String())
			assert.Empty(t, slices.Concat(res.Says, res.New, res.Wrong, res.Notes))
		}
	})
}

// TestFleetAnyTable: whatever stands in the cells, each row is entered or refused,
// the book stays whole, and what was entered is the same when it is read again.
func TestFleetAnyTable(t *testing.T) {
	columns := []string{
		"name", "sheet", "depot", "tags", "price", "odometer", "odometer on", "owner", "rider kg", "bike kg", "wheel mm", "motor", "fleet",
		"note", "chain", "ring", "ring teeth", "rear tyre", "cassette model", "drive idler teeth", "front wheel",
	}
	cell := rapid.OneOf(hostile(0, 12), rapid.SampledFrom([]string{
		"", "", "-", "small.toml", "trail", "32 Round", "33", "12.5", "1,5", "2026-05-02", "01/02/2026", "mid", "yes", "hire 1", "hire 2", "\x01", "1e300", "NaN",
	}))
	rapid.Check(t, func(t *rapid.T) {
		d := Open(filepath.Join(tempDir(t), "fleet.book"), "UTC", "test", fleetNow)
		var raw bytes.Buffer
		out := csv.NewWriter(&raw)
		require.NoError(t, out.Write(columns))
		rows := rapid.IntRange(1, 6).Draw(t, "rows")
		for range rows {
			row := []string{rapid.OneOf(cell, rapid.SampledFrom([]string{"hire 1", "hire 2", "hire 3"})).Draw(t, "name"), "small.toml"}
			for range columns[2:] {
				row = append(row, rapid.OneOf(rapid.Just(""), rapid.Just(""), rapid.Just(""), cell).Draw(t, "cell"))
			}
			require.NoError(t, out.Write(row))
		}
		out.Flush()
		req := ListRequest{Raw: raw.Bytes(), File: "fleet.csv", Sheet: ownSheet}
		res, err := d.ReadFleet(context.Background(), req)
		require.NoError(t, err)
		require.Equal(t, rows, res.Added+res.Changed+res.Same+len(res.Wrong))
		again, err := d.ReadFleet(context.Background(), req)
		require.NoError(t, err)
		assert.Equal(t, res.Added, again.Same, "%v %v", again.Says, res.New)
		assert.Equal(t, res.Wrong, again.Wrong)
		if audit, err := d.Book.Audit(context.Background()); !Empty(err) {
			require.NoError(t, err)
			assert.True(t, audit.Clean(), audit.Problems)
		}
	})
}

// TestFleetPartsStay: a part that was changed since stays as it is, one that came
// with the bike is corrected, one that came off is left aside.
func TestFleetPartsStay(t *testing.T) {
	d := newFleetDesk(t)
	head := "bike,sheet,chain,ring,cassette,guide"
	readFleet(t, d, head, "hire 1,small.toml,Ten,30 Oval,Step,", "hire 2,small.toml,Ten,30 Oval,Step,Upper")
	_, err := d.Fit(t.Context(), FitRequest{Bike: "hire 1", Kind: "chain", New: wear.Part{Model: "Twelve"}, Used: Nothing(), Old: "worn"})
	require.NoError(t, err)
	_, _, err = d.Remove(t.Context(), Fact{Bike: "hire 1", Part: "ring"}, shelf)
	require.NoError(t, err)
	d.Now = fleetNow.AddDate(0, 0, 1)
	res := readFleet(t, d, head, "hire 1,small.toml,Eleven,32 Round,Stairs,")
	assert.Equal(t, []string{"hire 1: cassette Stairs (was Step)"}, res.Says)
	assert.Equal(t, []string{
		"hire 1: the chain fitted on 2026-06-01 stays, chain-3 (Twelve); the table says Eleven",
		"hire 1: the ring came off on 2026-06-01: the table's 32 Round is left aside",
	}, res.Notes)
	parts := partsNow(t, d, "hire 1")
	assert.Equal(t, "Twelve", parts["chain"].Part.Model)
	assert.Equal(t, "Stairs", parts["cassette"].Part.Model)
	res = readFleet(t, d, head, "hire 1,,Twelve,,,", "hire 2,,Ten,32,Step,Upper")
	assert.Equal(t, []string{"hire 2: ring 32 Oval (was 30 Oval)"}, res.Says)
	assert.Empty(t, res.Notes)
	res = readFleet(t, d, head, "hire 1,,,,,Upper")
	assert.Equal(t, []string{`fleet.csv: line 2, column 6 ("guide"): no guide came with bike "hire 1": pawl fit "hire 1" guide --model …`}, res.Wrong)
}
