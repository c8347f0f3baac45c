package ingest

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// longTCX is a TCX of n points a second apart, each behind what stands between.
func longTCX(n int, between string) []byte {
	var b strings.Builder
	b.WriteString(tcxHead + `<Activity Sport="Biking"><Lap><Track>`)
	for i := range n {
		b.WriteString(between)
		b.WriteString(tp(i, fmt.Sprintf("<DistanceMeters>%d</DistanceMeters>", 5*i)))
	}
	b.WriteString("</Track></Lap></Activity>" + tcxTail)
	return []byte(b.String())
}

// Whatever a TCX or a table was made to do, it gets one clear answer and little
// memory.
func TestHostileTCXAndTablesTakeLittleMemory(t *testing.T) {
	repeat := func(head, s string, size int) func() []byte {
		return func() []byte { return []byte(head + strings.Repeat(s, size/len(s))) }
	}
	for _, c := range []struct {
		name   string
		data   func() []byte
		points uint64 // of a ride, or rows of a table
		why    string
	}{
		{"400 k points", func() []byte { return longTCX(400_000, "") }, 400_000, ""},
		{"a track for each point", func() []byte { return longTCX(tcxTracks-1, "</Track><Track>") }, tcxTracks, ""},
		{"too many tracks", func() []byte { return longTCX(tcxTracks, "</Track><Track>") }, 0, "100001 tracks, more than the 100000"},
		{"too many points", repeat(tcxHead, "<Trackpoint/>", maxBytes-1_000), 0, "track points, more than the 1000000"},
		{"activities", repeat(tcxHead, "<Activity/>", maxBytes-1_000), 0, "tags for 0 points"},
		{"laps", repeat(tcxHead+"<Activity>", "<Lap/>", maxBytes-1_000), 0, "tags for 0 points"},
		{"courses", repeat("<TrainingCenterDatabase>", "<Course/>", maxBytes-1_000), 0, "tags for 0 points"},
		{"a few less activities", repeat(tcxHead, "<Activity/>", 11*tcxTags-1_000), 0, "activities in one file, more than 200"},
		{"a few less laps", repeat(tcxHead+"<Activity>", "<Lap/>", 6*tcxTags-1_000), 0, "cut short"},
		{"a header of commas", repeat("date,km", ",", 1<<20), 0, "not a ride file"},
		{"columns", repeat("date,km"+strings.Repeat(",", maxTableLine-100)+"\n", strings.Repeat(",", maxTableLine-100)+"\n", maxTable-maxTableLine), 0, "a table without rows"},
		{"quotes", repeat("date,km\n", "\"\n"+strings.Repeat("\n", maxTableLine), maxTable-maxTableLine), 200, ""},
		{"rows", repeat("date,km\n", "x\n", maxTable-100), 0, "more than 200000 rows"},
		{"wrong rows", repeat("date,km\n", "x\n", 2*maxTableRows), maxTableRows, ""},
		{"a large table", repeat("date,km\n", " ", maxTable), 0, "a table of 16 MB"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, peak := hostileRun(t, c.data, c.points)
			require.Len(t, got, 1)
			if c.why != "" {
				require.ErrorContains(t, got[0].Err, c.why)
			} else {
				require.NoError(t, got[0].Err)
				assert.True(t, len(got[0].Rides) == 1 || got[0].Table != nil)
			}
			t.Logf("%d MB at most", peak>>20)
			assert.LessOrEqual(t, peak, heapBase+heapPoint*c.points)
		})
	}
}
