package ingest

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// What a column is that tells a running total, and what one that tells a ride.
func TestTableMeterColumns(t *testing.T) {
	for header, want := range map[string]string{
		"km": "ride 12 km", "hours": "ride 12 h", "trip": "ride 12 km",
		"odometer": "12000 m", "km total": "12000 m", "Total km": "12000 m", "total (km)": "", "odo (mi)": "19312 m", "miles total": "19312 m",
		"hour meter": "720 min", "Hour meter (h)": "720 min", "hours total": "720 min", "total hours": "720 min",
		"running hours": "720 min", "hour meter (min)": "12 min", "hour meter (fortnights)": "", "odometer (leagues)": "",
	} {
		table, err := ReadTable([]byte("date,"+header+"\n2024-04-03,12\n"), Options{})
		if want == "" {
			require.Error(t, err, header)
			continue
		}
		require.NoError(t, err, header)
		require.Len(t, table.Rows, 1, header)
		r := table.Rows[0]
		said := ""
		for _, o := range r.Meters(7, 5) {
			said = fmt.Sprintf("%d %s", o.Shows(), []string{"m", "min"}[o.Of])
			assert.Equal(t, wear.ID(7), o.Bike)
			assert.Equal(t, wear.Instant(5), o.At)
		}
		switch {
		case r.Km > 0:
			said = fmt.Sprintf("ride %g km", r.Km)
		case r.Hours > 0:
			said = fmt.Sprintf("ride %g h", r.Hours)
		}
		assert.Equal(t, want, said, header)
	}
}

// A row gives a reading for each meter; a new one begins at nothing or as said.
func TestTableRowOfMeters(t *testing.T) {
	const head = "date,odometer,hour meter,climb,hours,new,began at,new hour meter\n"
	way, hours := wear.Odometer{Bike: 1, Metres: 12_500}, wear.Odometer{Bike: 1, Of: wear.HourMeter, Ran: 5790}
	with := func(o wear.Odometer, edit func(*wear.Odometer)) wear.Odometer { edit(&o); return o }
	fresh := func(o *wear.Odometer) { o.Replaced = true }
	for row, want := range map[string][]wear.Odometer{
		"12.5,,,,,,":        {way},
		",96:30,,,,,":       {hours},
		"12.5,96.5,,,,,":    {way, hours},
		"12.5,,300,2,,,":    {with(way, func(o *wear.Odometer) { o.Climb, o.Minutes = 300, 120 })},
		",96.5,300,,,,":     {with(hours, func(o *wear.Odometer) { o.Climb = 300 })},
		"12.5,96.5,,,yes,,": {with(way, fresh), hours},
		"12.5,96.5,,,,,yes": {way, with(hours, fresh)},
		",96.5,,,yes,,":     {with(hours, fresh)},
		"12.5,,,,,12,":      {with(way, func(o *wear.Odometer) { o.Replaced, o.Began = true, 12_000 })},
		"12.5,,,,,0,":       {with(way, fresh)},
	} {
		table := readRows(t, head+"2024-04-03,"+row+"\n")
		require.Empty(t, table.Bad, row)
		assert.Equal(t, want, table.Rows[0].Meters(1, 0), row)
	}
	for row, want := range map[string]string{
		"12.5,,,,,13,":   "began at: an odometer that began at 13.0 km cannot show less",
		",3,,,,13,":      "began at: an odometer that began at 13.0 km cannot show less",
		"12.5,,,,,,soon": `new hour meter: "soon" is neither yes nor no`,
		",100001,,,,,":   `hour meter: "100001" is more than one row can hold, 100000 hours`,
	} {
		table := readRows(t, head+"2024-04-03,"+row+"\n")
		require.Len(t, table.Bad, 1, row)
		assert.Contains(t, table.Bad[0].String(), want)
	}
}
