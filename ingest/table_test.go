package ingest

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

func readRows(t *testing.T, text string) *Table {
	t.Helper()
	table, err := ReadTable([]byte(text), Options{Now: wear.At(morning)})
	require.NoError(t, err)
	return table
}

// said is a row in short: line, bike, time, km, odometer, climb, hours.
func said(r Row) string {
	return fmt.Sprintf("%d %s %s %g %g %g %.3f", r.Line, r.Bike, r.On.Format("2006-01-02 15:04:05"), r.Km, r.Odometer, r.Climb, r.Hours)
}

func TestTableFormsSayTheSame(t *testing.T) {
	want := []string{"2 Fox 2024-04-03 00:00:00 42.5 1234.5 900 3.100", "3 Owl 2024-04-13 00:00:00 12 NaN NaN NaN"}
	plain := "Date,Bike,km,Odometer,Climb,Hours\n2024-04-03,Fox,42.5,1234.5,900,3.1\n2024-04-13,Owl,12,,,\n"
	commas := "Date;Bike;km;Odometer;Climb;Hours\n03.04.2024;Fox;42,5;1.234,5;900;3,1\n13.04.2024;Owl;12;;;\n"
	latin := strings.ReplaceAll(plain, "Fox", "F\xF6x")
	for name, text := range map[string]string{
		"commas":                plain,
		"semicolons":            commas,
		"tabs":                  strings.ReplaceAll(plain, ",", "\t"),
		"bars":                  strings.ReplaceAll(plain, ",", "|"),
		"a mark":                "\xEF\xBB\xBF" + plain,
		"UTF-16":                utf16LE(plain),
		"UTF-16 without a mark": utf16LE(plain)[2:],
		"lines as of Windows":   strings.ReplaceAll(plain, "\n", "\r\n"),
		"lines as of old":       strings.ReplaceAll(plain, "\n", "\r"),
		"no last line end":      strings.TrimSuffix(plain, "\n"),
		"quotes":                "\"Date\",Bike,\"km\",Odometer,Climb,Hours\n\"2024-04-03\",\"Fox\",\"42,5\",\"1.234,5\",900,\"3:06\"\n2024-04-13,Owl,12,,,\n",
		"capitals and spaces":   strings.Replace(plain, "Date,Bike,km", " DATE , bike name ,KM", 1),
		"units in brackets":     strings.Replace(plain, "km,Odometer,Climb,Hours", "Distance (km),Odo [km],Elevation gain (m),Moving time (h)", 1),
		"units behind":          strings.Replace(plain, "km,Odometer,Climb,Hours", "distance_km,odometer km,climb m,ride time hrs", 1),
		"the old coding":        latin,
		"gzip":                  string(zipped(t, []byte(plain))),
	} {
		t.Run(name, func(t *testing.T) {
			table := readRows(t, text)
			assert.Empty(t, table.Bad)
			require.Len(t, table.Rows, 2)
			for i, r := range table.Rows {
				assert.Equal(t, want[i], strings.Replace(said(r), "Föx", "Fox", 1))
			}
		})
	}
	moved := readRows(t, "sep=;\n\n  \n"+commas)
	assert.Equal(t, []int{5, 6}, []int{moved.Rows[0].Line, moved.Rows[1].Line}, "lines are those of the file")
}

// One table, a row for each way in which rows go wrong: each is named by line
// and column, and the sound ones between them count.
func TestTableRowsGoWrongAlone(t *testing.T) {
	const head = "date,bike,km,odo,climb,hours,new\n"
	for name, c := range map[string]struct{ row, want string }{
		"two ways of a date":    {"03/04/2024,Fox,1,,,,", `line 3, column 1: date: "03/04/2024" can be read in two ways: write 2024-04-03 or 2024-03-04`},
		"no such day":           {"2024-02-30,Fox,1,,,,", `line 3, column 1: date: "2024-02-30" is not a date: write it as 2026-04-03`},
		"no such day either":    {"31/11/2023,Fox,1,,,,", `line 3, column 1: date: "31/11/2023" is not a date: write it as 2026-04-03`},
		"no such month":         {"3 Abc 2024,Fox,1,,,,", `line 3, column 1: date: "3 Abc 2024" is not a date: write it as 2026-04-03`},
		"short year":            {"3.4.24,Fox,1,,,,", `line 3, column 1: date: "3.4.24" has a year of two figures: write it as 2026-04-03`},
		"day number":            {"45385,Fox,1,,,,", `line 3, column 1: date: "45385" is a spreadsheet's number of a day: let it show the column as a date, 2026-04-03`},
		"no date":               {",Fox,1,,,,", `line 3, column 1: date: no date`},
		"future":                {"2024-05-03,Fox,1,,,,", `line 3, column 1: date: 2024-05-03 is in the future`},
		"past":                  {"1989-12-31,Fox,1,,,,", `line 3, column 1: date: 1989-12-31 is before 1990`},
		"no time of day":        {"2024-04-03 25:10,Fox,1,,,,", `line 3, column 1: date: "2024-04-03 25:10" has a time of day that makes no sense: leave it out, or write it as 2026-04-03 09:15`},
		"words":                 {"2024-04-03,Fox,far,,,,", `line 3, column 3: km: "far" is not a number`},
		"another unit":          {"2024-04-03,Fox,12 ft,,,,", `line 3, column 3: km: "12 ft" is not a number`},
		"negative":              {"2024-04-03,Fox,-4,,,,", `line 3, column 3: km: "-4" is negative`},
		"negative, typeset":     {"2024-04-03,Fox,−4,,,,", `line 3, column 3: km: "−4" is negative`},
		"absurd km":             {"2024-04-03,Fox,5000.1,,,,", `line 3, column 3: km: "5000.1" is more than one row can hold, 5000 km`},
		"absurd odometer":       {"2024-04-03,Fox,,500001,,,", `line 3, column 4: odo: "500001" is more than one row can hold, 500000 km`},
		"absurd climb":          {"2024-04-03,Fox,1,,100001,,", `line 3, column 5: climb: "100001" is more than one row can hold, 100000 m`},
		"absurd hours":          {"2024-04-03,Fox,,,,745,", `line 3, column 6: hours: "745" is more than one row can hold, 744 hours`},
		"exponent":              {"2024-04-03,Fox,1e3,,,,", `line 3, column 3: km: "1e3" is not a number`},
		"not a number":          {"2024-04-03,Fox,NaN,,,,", `line 3, column 3: km: "NaN" is not a number`},
		"infinite":              {"2024-04-03,Fox,Inf,,,,", `line 3, column 3: km: "Inf" is not a number`},
		"groups of two":         {`2024-04-03,Fox,"1,23,456.5",,,,`, `line 3, column 3: km: "1,23,456.5" is not a number`},
		"two points":            {"2024-04-03,Fox,1.2.3,,,,", `line 3, column 3: km: "1.2.3" is not a number`},
		"minutes beyond sixty":  {"2024-04-03,Fox,1,,,3:60,", `line 3, column 6: hours: "3:60" is not a number`},
		"too fast":              {"2024-04-03,Fox,300,,,2,", `line 3, column 6: hours: 300 km in 2 hours: no bike is that fast`},
		"too slow":              {"2024-04-03,Fox,12,,,45:30,", `line 3, column 6: hours: 12 km in 45.5 hours: no ride is that slow; hours are written 3.1 or 3:06`},
		"nothing":               {"2024-04-03,Fox,,,900,,", `line 3: nothing to count: neither a distance, an odometer nor hours`},
		"zero":                  {"2024-04-03,Fox,0,,,0,", `line 3: nothing to count: neither a distance, an odometer nor hours`},
		"too many cells":        {"2024-04-03,Fox,12,5,,,,7", `line 3, column 8: more cells than the 7 of the first row: put a number with a comma in it in quotes`},
		"a quote never closed":  {`2024-04-03,"Fox,12,,,,`, `line 3: a quote that is never closed: close it, or write two where one is meant`},
		"a quote within":        {`2024-04-03,"Fo"x,12,,,,`, `line 3: a quote in the middle of a cell: put the whole cell in quotes and write two for each within`},
		"neither yes nor no":    {"2024-04-03,Fox,1,,,,maybe", `line 3, column 7: new: "maybe" is neither yes nor no`},
		"a long line":           {"2024-04-03," + strings.Repeat("x", maxTableLine), `line 3: a line of more than 64 kB, which no row is`},
		"a name with an escape": {"2024-04-03,Fo\x1bx,1,,,,", `line 3, column 2: bike: "Fo x" is no name`},
		"a total":               {"Total,,55,,,,", `line 3, column 1: date: "Total" is not a date: write it as 2026-04-03`},
	} {
		t.Run(name, func(t *testing.T) {
			table := readRows(t, head+"2024-04-02,Fox,10.5,,,,\n"+c.row+"\n2024-04-04,Fox,11,,,,\n")
			require.Len(t, table.Bad, 1)
			assert.Equal(t, c.want, table.Bad[0].String())
			require.Len(t, table.Rows, 2)
			assert.Equal(t, "2 Fox 2024-04-02 00:00:00 10.5 NaN NaN NaN", said(table.Rows[0]))
			assert.Equal(t, "4 Fox 2024-04-04 00:00:00 11 NaN NaN NaN", said(table.Rows[1]))
		})
	}
}

func TestTableCells(t *testing.T) {
	nan := math.NaN()
	row := func(text string) []float64 {
		table := readRows(t, text)
		require.Empty(t, table.Bad, text)
		require.Len(t, table.Rows, 1, text)
		r := table.Rows[0]
		return []float64{r.Km, r.Odometer, r.Climb, r.Hours}
	}
	for _, c := range []struct {
		text string
		want []float64
	}{
		{"date,miles\n2024-04-03,10", []float64{16.09344, nan, nan, nan}},
		{"date,distance (mi),climb (ft)\n2024-04-03,26.2,1000", []float64{42.1648128, nan, 304.8, nan}},
		{"date,odometer (mi)\n2024-04-03,1000", []float64{nan, 1609.344, nan, nan}},
		{"date,km\n2024-04-03,10 mi", []float64{16.09344, nan, nan, nan}},
		{"date,km,climb\n2024-04-03,42 km,900m", []float64{42, nan, 900, nan}},
		{"date,distance metres\n2024-04-03,1500", []float64{1.5, nan, nan, nan}},
		{"date,minutes\n2024-04-03,186", []float64{nan, nan, nan, 3.1}},
		{"date,duration\n2024-04-03,3:06", []float64{nan, nan, nan, 3.1}},
		{"date,duration (hh:mm:ss)\n2024-04-03,3:06:36", []float64{nan, nan, nan, 3.11}},
		{"date,hours\n2024-04-03,3h06", []float64{nan, nan, nan, 3.1}},
		{"date,hours\n2024-04-03,3 h 6 min", []float64{nan, nan, nan, 3.1}},
		{"date,hours\n2024-04-03,186 min", []float64{nan, nan, nan, 3.1}},
		{"date,km,climb\n2024-04-03,-,–", nil},
		{"date,km,hours\n2024-04-03,0,2", []float64{0, nan, nan, 2}},
		{"date,odo\n2024-04-03,0", []float64{nan, 0, nan, nan}},
	} {
		if c.want == nil {
			assert.Len(t, readRows(t, c.text).Bad, 1, c.text)
			continue
		}
		for i, got := range row(c.text) {
			assert.InDelta(t, orZero(c.want[i]), orZero(got), 1e-9, "%s", c.text)
			assert.Equal(t, math.IsNaN(c.want[i]), math.IsNaN(got), c.text)
		}
	}
}

func orZero(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}

// 1,234 is read where the rest of the table shows what a comma is in it.
func TestThousandsOrThousandths(t *testing.T) {
	for _, c := range []struct {
		sep, cell, beside string
		want              float64 // 0 = in two ways
	}{
		{",", `"1,234"`, "12", 0}, {",", `"1,234"`, "12.5", 1234}, {",", `"1,234"`, `"12,5"`, 1.234},
		{",", "1.234", "12", 1.234}, {",", "1.234", `"12,5"`, 1234}, {",", "1.234", "12.5", 1.234},
		{";", "1.234", "12", 0}, {";", "1,234", "12", 0}, {";", "1.234", "12,5", 1234}, {";", "1,234", "12.5", 1234},
		{";", "1.234", "12.5", 1.234}, {"\t", "1.234", "12", 0}, {";", "0.234", "12", 0.234}, {";", "0,234", "12", 0.234},
		{";", "1.234,5", "12", 1234.5}, {";", "1,234.5", "12", 1234.5}, {";", "1 234,5", "12", 1234.5}, {";", "1'234.5", "12", 1234.5},
		{";", "1\u00a0234", "12", 1234}, {";", "12,34", "12", 12.34}, {";", "12.3456", "12", 12.3456}, {";", "1.234.567", "12", -1},
		{";", "1,234", "1.234,5", 1.234}, {";", "1.2345", "9,5", 1.2345},
	} {
		table := readRows(t, strings.Join([]string{"date", "odo", "climb"}, c.sep)+"\n"+
			strings.Join([]string{"2024-04-03", c.cell, ""}, c.sep)+"\n"+strings.Join([]string{"2024-04-04", "", c.beside}, c.sep)+"\n")
		rows := map[int]float64{}
		for _, r := range table.Rows {
			rows[r.Line] = r.Odometer
		}
		why := ""
		for _, b := range table.Bad {
			if b.Line == 2 {
				why = b.Why
			}
		}
		switch {
		case c.want == 0:
			assert.Contains(t, why, "can be read in two ways: write 1234 or 1.2340", "%+v", c)
		case c.want < 0:
			assert.Contains(t, why, "more than one row can hold", "%+v", c)
		default:
			assert.Empty(t, why, "%+v", c)
			assert.InDelta(t, c.want, rows[2], 1e-9, "%+v", c)
		}
	}
}

func TestTableDates(t *testing.T) {
	for cell, want := range map[string]string{
		"2024-04-03":                "2024-04-03 00:00:00",
		"2024/4/3":                  "2024-04-03 00:00:00",
		"20240403":                  "2024-04-03 00:00:00",
		"3.4.2024":                  "2024-04-03 00:00:00",
		"25/04/2024":                "2024-04-25 00:00:00",
		"04/25/2024":                "2024-04-25 00:00:00",
		"04/04/2024":                "2024-04-04 00:00:00",
		"25-04-2024":                "2024-04-25 00:00:00",
		"3 Apr 2024":                "2024-04-03 00:00:00",
		"3rd of April 2024":         "",
		"3rd April 2024":            "2024-04-03 00:00:00",
		"April 3, 2024":             "2024-04-03 00:00:00",
		"3-sept-2023":               "2023-09-03 00:00:00",
		"2024-04-03 09:15":          "2024-04-03 09:15:00",
		"2024-04-03T09:15:30.25":    "2024-04-03 09:15:30",
		"4/25/2024 9:15 PM":         "2024-04-25 21:15:00",
		"2024-04-03T09:15:30Z":      "2024-04-03 09:15:30",
		"2024-04-03 09:15:30+02:00": "2024-04-03 07:15:30",
		"2024-04-03 12:30 am":       "2024-04-03 00:30:00",
		"2024-04-03 13:30 am":       "",
		"2024-04-03 9":              "",
		"2024-04/03":                "",
		"yesterday":                 "",
	} {
		table := readRows(t, "date\tkm\n"+cell+"\t12\n")
		if want == "" {
			assert.Len(t, table.Bad, 1, cell)
			continue
		}
		require.Empty(t, table.Bad, cell)
		assert.Equal(t, want, table.Rows[0].On.Format("2006-01-02 15:04:05"), cell)
	}
	told := readRows(t, "Date (DD/MM/YYYY);km\n03/04/2024;12\n")
	assert.Equal(t, "2024-04-03", told.Rows[0].On.Format(time.DateOnly))
	told = readRows(t, "Date (mm/dd/yyyy);km\n03/04/2024;12\n25/04/2024;3\n")
	assert.Equal(t, "2024-03-04", told.Rows[0].On.Format(time.DateOnly))
	assert.Len(t, told.Bad, 1, "no month 25")
}

// A bare date is the end of its day, a time of day one of the book's zone.
func TestRowAt(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Zurich")
	require.NoError(t, err)
	rows := readRows(t, "date,km\n2024-04-03,1\n2024-04-03 09:15,1\n2024-04-03 09:15:00Z,1\n2024-03-31,1\n").Rows
	for i, want := range []string{
		"2024-04-03T21:59:59.999Z", "2024-04-03T07:15:00Z", "2024-04-03T09:15:00Z", "2024-03-31T21:59:59.999Z",
	} {
		assert.Equal(t, want, rows[i].At(zone).Time().Format(time.RFC3339Nano))
	}
}

func TestTableHeaders(t *testing.T) {
	for header, want := range map[string]bool{
		"date,km": true, "Day;Odo": true, "date\thours": true, "bike,date,mi": true, "when|Distance": true, "date,mileage (km)": true,
		"Date (UTC),Moving Time (min)": true,
		"date,bike":                    false, "km,hours": false, "date,climb": false, "date,mileage": false, "date,time": false, "date,ride": false,
		"date,speed (km/h)": false, "date,avg km": false, "date,km/h": false, "Dear diary, today 12 km": false, "date": false, "": false, "\x00,date,km": false,
	} {
		assert.Equal(t, want, isTable([]byte(header+"\nx")), header)
		_, _, format, err := Read([]byte(header+"\nx"), Options{})
		assert.Equal(t, want, err == nil && format == wear.Table, header)
		if !want && header != "" {
			_, err = ReadTable([]byte(header+"\nx"), Options{})
			var not *NotRideError
			require.ErrorAs(t, err, &not, header)
			assert.Equal(t, "not a ride file", not.Why)
		}
	}
	for text, why := range map[string]string{
		"date,km,miles\n2024-04-03,1,1":                "two columns for the distance: \"km\" and \"miles\"",
		"date,day,km\n2024-04-03,,1":                   "two columns for the date: \"date\" and \"day\"",
		"date,distance (yd)\n2024-04-03,1":             "column \"distance (yd)\": in what unit?",
		"date,odometer (m),hours\n2024-04-03,1,1":      "column \"odometer (m)\": in what unit?",
		"date,km\n" + strings.Repeat(" ", maxTable):    "a table of 16 MB, more than the 16 MB that one may hold",
		"date,km\n" + strings.Repeat("x\n", 1_000_000): "more than 200000 rows",
	} {
		_, err := ReadTable([]byte(text), Options{})
		require.EqualError(t, err, why)
		var refusal *RefusedError
		require.ErrorAs(t, err, &refusal)
		assert.NotEmpty(t, refusal.Hint)
	}
	_, err := ReadTable([]byte("date,km\n\n , \n"), Options{})
	require.EqualError(t, err, "a table without rows")
	table := readRows(t, "date,km,Notes,,max speed (km/h)\n2024-04-03,12,\"wet,\nand \"\"cold\"\"\",,40\n2024-04-04,13,29\" wheels,,40\n")
	assert.Equal(t, []string{"Notes", "max speed (km/h)"}, table.Unread)
	assert.Equal(t, []int{2, 4}, []int{table.Rows[0].Line, table.Rows[1].Line}, "the first row has two lines")
}

func TestNewOdometersAndRowsTwice(t *testing.T) {
	table := readRows(t, "date,bike,odo,new\n2024-04-03,Fox,12,yes\n2024-04-03,Fox,12,\n2024-04-03,FOX,12,no\n2024-04-03,Owl,12,\n")
	require.Len(t, table.Rows, 4)
	for i, want := range []struct {
		fresh bool
		nth   int
	}{{true, 0}, {false, 1}, {false, 2}, {false, 0}} {
		assert.Equal(t, want.fresh, table.Rows[i].New)
		assert.Equal(t, want.nth, table.Rows[i].Nth)
	}
}

func TestTableRideIDs(t *testing.T) {
	at := wear.At(morning)
	id := TableRideID(7, at, 42.5, math.NaN(), 3)
	assert.Equal(t, id, TableRideID(7, at, 42.5, -math.NaN(), 3), "one NaN is like another")
	assert.Equal(t, TableRideID(7, at, 0), TableRideID(7, at, math.Copysign(0, -1)))
	for _, other := range []wear.RideID{
		TableRideID(8, at, 42.5, math.NaN(), 3), TableRideID(7, at+1, 42.5, math.NaN(), 3), TableRideID(7, at, 42.5, 3, math.NaN()),
		TableRideID(7, at, 42.5, math.NaN()), TableRideID(7, at),
	} {
		assert.NotEqual(t, id, other)
	}
}

func TestTablesComeThroughThePipeline(t *testing.T) {
	dir := t.TempDir()
	text := []byte("date,km\n2024-04-03,12\n2024-04-04,far\n")
	packed := zipped(t, text)
	for name, data := range map[string][]byte{"a.csv": text, "b.csv.gz": packed, "c.gz": packed[:len(packed)-9], "d.csv": []byte("date,km\n")} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), data, 0o600))
	}
	paths, errs := Find([]string{dir})
	require.Empty(t, errs)
	files := map[string]File{}
	require.NoError(t, Run(context.Background(), paths, Options{Salvage: true}, oneBike, func(f File) error {
		files[filepath.Base(f.Path)] = f
		return nil
	}))
	for _, name := range []string{"a.csv", "b.csv.gz"} {
		f := files[name]
		require.NoError(t, f.Err, name)
		require.NotNil(t, f.Table, name)
		assert.Equal(t, wear.Table, f.Format)
		assert.False(t, f.Known)
		assert.Len(t, f.Table.Rows, 1)
		assert.Len(t, f.Table.Bad, 1)
	}
	assert.Equal(t, files["a.csv"].Hash, files["b.csv.gz"].Hash)
	require.EqualError(t, files["c.gz"].Err, "the gzip file is cut short")
	assert.Nil(t, files["c.gz"].Table, "a number that is cut is another number")
	require.EqualError(t, files["d.csv"].Err, "a table without rows")
}
