package ingest

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// FuzzTable: no panic, a reason with every refusal and every wrong row, and
// rows that count are possible. Run it with -fuzzminimizetime 1x.
func FuzzTable(f *testing.F) {
	for _, text := range []string{
		"Date,Bike,km,Odometer,Climb,Hours\n2024-04-03,Fox,42.5,1234.5,900,3.1\n2024-04-13,Owl,12,,,\n",
		"sep=;\nDatum;date;km;new\n;03.04.2024;1.234,5;x\n;3/4/2024;1,234;\n",
		"date\todo (mi)\tduration (hh:mm)\n\"3 Apr\n2024\"\t12\t3:06\nApril 3, 2024 9:15 pm\t-4 km\t3h06\n",
		"date|minutes|name\n20240403|186|29\" wheels\n45385|1e3|\"never closed\n",
		"date,miles,km\n", "date,km total,hour meter,new,began at,new hour meter\n2024-04-03,5012,96:30,,5000,x\n2024-04-04,12,,,13,\n", "\xEF\xBB\xBFdate,km\r2024-04-03 09:15:00+02:00,1\r", utf16LE("date,km\n2024-04-03,12\n"), "date,km\n\xFC,\xFC\n",
	} {
		f.Add([]byte(text))
	}
	now := wear.At(morning)
	f.Fuzz(func(t *testing.T, data []byte) {
		before := bytes.Clone(data)
		table, err := ReadTable(data, Options{Now: now})
		require.Equal(t, before, data, "the bytes were changed")
		if err != nil {
			var refusal *RefusedError
			var not *NotRideError
			require.True(t, errors.As(err, &refusal) || errors.As(err, &not), "%T: %v", err, err)
			require.Nil(t, table)
			return
		}
		lines := bytes.Count(data, []byte("\n")) + bytes.Count(data, []byte("\r")) + 1
		for _, bad := range table.Bad {
			require.NotEmpty(t, bad.Why)
			require.True(t, bad.Line > 1 && bad.Column >= 0, "%v", bad)
		}
		last := 1
		for _, r := range table.Rows {
			require.True(t, r.Line > last && (isGzip(data) || r.Line <= lines), "line %d", r.Line)
			last = r.Line
			checkRow(t, r, now)
		}
	})
}

func checkRow(t *testing.T, r Row, now wear.Instant) {
	at := r.At(time.UTC)
	require.True(t, at >= year1990 && at <= now+2*wear.Day, "%v", r)
	require.True(t, r.Km > 0 || r.Odometer >= 0 || r.Hours > 0 || r.Ran >= 0, "%v", r)
	require.True(t, math.IsNaN(r.Began) || r.Began >= 0 && r.Began <= r.Odometer, "%v", r)
	for i, x := range []float64{r.Km, r.Odometer, r.Climb, r.Hours, r.Ran} {
		most := []float64{maxRowKm, maxOdometer, maxRowClimb, maxRowHours, maxRan}[i]
		require.True(t, math.IsNaN(x) || x >= 0 && x <= most, "%v", r)
	}
	require.False(t, strings.ContainsAny(r.Bike, "\x00\x1b\n\r"), "%q", r.Bike)
}

// BenchmarkTable reads a year of a fleet.
func BenchmarkTable(b *testing.B) {
	var text strings.Builder
	text.WriteString("date,bike,odometer,hours,note\n")
	for i := range 100_000 {
		fmt.Fprintf(&text, "2024-%02d-%02d,bike %d,%d.5,1:30,\"in, \"\"wet\"\"\"\n", 1+i/28%4, 1+i%28, i%300, i)
	}
	data := []byte(text.String())
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		table, err := ReadTable(data, Options{})
		require.NoError(b, err)
		require.Len(b, table.Rows, 100_000)
	}
}
