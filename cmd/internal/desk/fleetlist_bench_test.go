package desk

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// fleetTable is a fleet of n bikes in a few depots, as a table.
func fleetTable(n int) []byte {
	var b bytes.Buffer
	b.WriteString("bike,sheet,depot,tags,price,odometer_km,odometer_on,chain,ring,cassette,front_tyre,rear_tyre,rear_pads,note\n")
	sheets := []string{"trail", "hardtail", "e-trail"}
	for i := range n {
		fmt.Fprintf(&b, "hire %d,%s,depot %d,size-%d kids,%d.50,%d,2027-03-%02d,Twelve %d,32 Narrow,Wide 51,Grip %d,Grip %d,Organic,row %d\n",
			i+1, sheets[i%len(sheets)], i%5, i%4, 40+i%9, i%3000, 1+i%28, i%3, i%4, i%4, i)
	}
	return b.Bytes()
}

// A table of hire bikes read into a new book, read once more, and taken back.
// "ratio" is what a bike takes of the time that one takes with a tenth of them.
func BenchmarkFleetRead(b *testing.B) {
	small := 0.0
	for _, n := range []int{1000, 10000} {
		b.Run(fmt.Sprintf("bikes=%d", n), func(b *testing.B) {
			table := fleetTable(n)
			var read, again, undo time.Duration
			var peak uint64
			for b.Loop() {
				d := Open(filepath.Join(b.TempDir(), "bench.book"), "UTC", "bench", benchNow)
				req := ListRequest{Raw: table, File: "fleet.csv"}
				stop, start := heapPeak(), time.Now()
				res, err := d.ReadFleet(context.Background(), req)
				read += time.Since(start)
				peak = max(peak, stop())
				require.NoError(b, err)
				require.Equal(b, n, res.Added, res.Wrong)
				start = time.Now()
				res, err = d.ReadFleet(context.Background(), req)
				again += time.Since(start)
				require.NoError(b, err)
				require.Equal(b, n, res.Same, res.Says)
				start = time.Now()
				_, err = d.Undo(context.Background())
				undo += time.Since(start)
				require.NoError(b, err)
				list, _, err := d.Bikes(context.Background(), "")
				require.NoError(b, err)
				require.Empty(b, list)
			}
			per := read.Seconds() * 1e3 / float64(b.N) / float64(n)
			if small == 0 {
				small = per
			}
			b.ReportMetric(per, "ms/bike")
			b.ReportMetric(per/small, "ratio")
			b.ReportMetric(again.Seconds()*1e3/float64(b.N)/float64(n), "again-ms/bike")
			b.ReportMetric(undo.Seconds()*1e3/float64(b.N)/float64(n), "undo-ms/bike")
			b.ReportMetric(float64(peak)/1e6, "heapMB")
			b.ReportMetric(0, "ns/op")
		})
	}
}
