package wear

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Published tables for bicycle computers (sources in the file): the formula is
// within 3 % of every row.
func TestCircumferenceMeetsPublishedTables(t *testing.T) {
	file, err := os.Open("../testdata/checks/circumference.csv")
	require.NoError(t, err)
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 24)
	for _, row := range rows[1:] {
		bsd, err := strconv.ParseFloat(row[1], 64)
		require.NoError(t, err)
		width, err := strconv.ParseFloat(row[2], 64)
		require.NoError(t, err)
		published, err := strconv.ParseFloat(row[4], 64)
		require.NoError(t, err)
		assert.InEpsilon(t, published/1000, Circumference(bsd, width), 0.03, row[0])
	}
}
