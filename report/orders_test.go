package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// manyOrders is a page of lines and bikes with names that nobody should give.
func manyOrders(lines, bikes int) OrdersPage {
	names := []string{"north", "\x1b[31mred\x07", strings.Repeat("x", 200), "自転車自転車自転車自転車自転車自転車", "=cmd|' /C calc'!A0"}
	o := OrdersPage{Weeks: 6, Service: 0.95, Bikes: bikes}
	for i := range lines {
		l := wear.OrderLine{Kind: "chain", Model: names[i%len(names)], Lead: 21, Days: 63, Need: 1234.5, P10: 1100, P90: 1371, Hold: 1423,
			Enough: 0.951, Order: 1323, Cost: 1323 * 2450, Notes: []string{"what must be known of \x1b[2J it"},
			Shelf: wear.Shelf{Counted: true, OnHand: 100, Price: 2450, Supplier: names[(i+1)%len(names)]},
			Specs: []wear.Spec{{Text: "32 teeth", Need: 1000}, {Text: names[1], Need: 234.5}}}
		l.Rests[wear.NeedDue], l.Rests[wear.NeedRead] = 12, bikes-12
		for b := range bikes {
			l.Bikes = append(l.Bikes, wear.Asker{Bike: names[b%len(names)], Part: "chain-1", Chance: 0.5, Basis: wear.NeedRead})
		}
		o.Lines = append(o.Lines, l)
	}
	return o
}

func TestOrdersFitTheTerminal(t *testing.T) {
	for _, columns := range []int{40, 80, 120} {
		for _, closely := range []bool{false, true} {
			o := manyOrders(30, 10_000)
			o.Closely = closely
			var out bytes.Buffer
			require.NoError(t, Orders(&out, o, Style{Width: columns}))
			for line := range strings.SplitSeq(out.String(), "\n") {
				assert.LessOrEqual(t, width(line), columns, line)
			}
			assert.NotContains(t, out.String(), "\x1b")
			words := strings.Join(strings.Fields(out.String()), " ")
			assert.Contains(t, words, fmt.Sprintf("and 9,9%d more", map[bool]int{false: 97, true: 80}[closely]))
			assert.Contains(t, words, "1 to 20 of 30 kinds and models; and 10 more: --page 2")
			assert.Contains(t, words, "To order: 39,690 parts of 30 kinds and models, for 972,405")
			assert.Contains(t, words, wear.Caution)
		}
	}
}

func TestOrdersSayWhatIsLacking(t *testing.T) {
	o := manyOrders(2, 3)
	o.Lines[0].Shelf = wear.Shelf{}
	o.Lines[0].Cost = 0
	o.Some = true
	o.Lines = append(o.Lines, wear.OrderLine{Kind: "idler", Need: 0.01})
	notes := strings.Join(o.notes(1), " ")
	assert.Contains(t, notes, "1 kind and model of which most likely none is needed")
	assert.Contains(t, notes, "Nobody has counted the shelf of 1 kind and model")
	assert.Contains(t, notes, "The shelf is that of all bikes")
	assert.Equal(t, "To order: 2,646 parts of 2 kinds and models, for 32,414 and what the 1,323 parts without a price cost", o.total())
	lines, idle := o.wanted()
	assert.Len(t, lines, 2)
	assert.Equal(t, 1, idle)

	var out bytes.Buffer
	require.NoError(t, Orders(&out, OrdersPage{Weeks: 1, Service: 0.9}, Style{}))
	assert.Contains(t, out.String(), "Nothing is likely to be needed.")
}

func TestOrdersForMachines(t *testing.T) {
	o := manyOrders(5, 4)
	o.Lines[3].Order = 0
	var out bytes.Buffer
	require.NoError(t, OrdersCSV(&out, o))
	rows, err := csv.NewReader(&out).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 5, "a supplier is sent what lacks, and a line of headings")
	assert.Equal(t, []string{"supplier", "kind", "model", "quantity", "price", "note"}, rows[0])
	seen := 0
	for _, row := range rows[1:] {
		assert.Equal(t, []string{"1323", "24.50"}, row[3:5])
		for _, c := range row {
			assert.False(t, strings.HasPrefix(c, "="), c)
			seen += strings.Count(c, "'=cmd")
		}
	}
	assert.Equal(t, 1, seen, "the model; the line of that supplier is not ordered")

	out.Reset()
	require.NoError(t, OrdersJSON(&out, o, Style{}))
	var got struct {
		Version int
		Lines   []struct {
			OnHand int `json:"on_hand"`
			Bikes  []struct{ With []string }
		}
	}
	require.NoError(t, json.Unmarshal(out.Bytes(), &got))
	assert.Equal(t, Version, got.Version)
	require.Len(t, got.Lines, 5)
	assert.Equal(t, 100, got.Lines[0].OnHand)
	require.Len(t, got.Lines[0].Bikes, 4)
	assert.NotNil(t, got.Lines[0].Bikes[0].With, "an empty list, not null")
}

func TestStockFitsTheTerminal(t *testing.T) {
	var shelves []wear.Shelf
	for i, l := range manyOrders(25, 0).Lines {
		shelves = append(shelves, wear.Shelf{Kind: l.Kind, Model: l.Model, Counted: i != 1, OnHand: 7, Since: 400 * wear.Day, Short: i % 2,
			Price: 2450, Lead: 21, Supplier: l.Shelf.Supplier})
	}
	for _, columns := range []int{40, 80, 120} {
		var out bytes.Buffer
		require.NoError(t, Stock(&out, shelves, Style{Width: columns}))
		for line := range strings.SplitSeq(out.String(), "\n") {
			assert.LessOrEqual(t, width(line), columns, line)
		}
		assert.Contains(t, strings.Join(strings.Fields(out.String()), " "), "1 to 20 of 25 kinds and models")
	}
	var out bytes.Buffer
	require.NoError(t, StockJSON(&out, shelves, Style{}))
	assert.Contains(t, out.String(), `"on_hand": null`)
	out.Reset()
	require.NoError(t, StockCSV(&out, shelves, Style{}))
	rows, err := csv.NewReader(&out).ReadAll()
	require.NoError(t, err)
	assert.Len(t, rows, 26)
	assert.Equal(t, "chain: 3 on the shelf, 24.50 each, 21 days to come, from N", Style{}.StockSaid(wear.Shelf{Kind: "chain", Counted: true, OnHand: 3, Price: 2450, Lead: 21, Supplier: "N"}))
}
