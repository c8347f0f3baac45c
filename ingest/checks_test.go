package ingest

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// checks reads a table of outside check values by column name. The first lines
// of the file name their source.
func checks(t *testing.T, name string) []map[string]string {
	t.Helper()
	file, err := os.Open(filepath.Join("..", "testdata", "checks", name))
	require.NoError(t, err)
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.NotEmpty(t, rows)
	var list []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, cell := range row {
			m[rows[0][i]] = cell
		}
		list = append(list, m)
	}
	require.NotEmpty(t, list)
	return list
}

func number(t *testing.T, row map[string]string, column string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(row[column], 64)
	require.NoError(t, err, "%s of %v", column, row)
	return x
}

var nan = math.NaN()

// totalless are the totals of a device that gives none.
var totalless = Totals{Distance: nan, Climb: nan, Descent: nan, Moving: nan, Turns: nan, Work: nan}

// trackOf makes a track of n samples, one a second, each shaped by fn; absent
// values are NaN, and positions, where wanted, are for fn to give.
func trackOf(n int, fn func(i int, s *Sample)) *Track {
	const start = 1_700_000_000_000
	t := &Track{Start: start, End: start + int64(n-1)*1000, Totals: totalless}
	for i := range n {
		s := Sample{T: start + int64(i)*1000, Lat: nan, Lon: nan, Alt: nan, Dist: nan, Speed: nan, Cadence: nan, Power: nan}
		fn(i, &s)
		t.Samples = append(t.Samples, s)
	}
	return t
}

// rolled is a sample at a steady speed on a slope.
func rolled(i int, s *Sample, v, slope float64) {
	s.Speed, s.Dist, s.Alt = v, v*float64(i), 500+v*slope*float64(i)
}

// eastward puts the sample so many metres east of 45° N 10° E.
func eastward(s *Sample, metres float64) {
	s.Lat, s.Lon = 45, 10+metres/78846.8 // m per degree of longitude there
}
