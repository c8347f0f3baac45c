package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestShelfOf counts a shelf: what was counted, what came, what was fitted since.
func TestShelfOf(t *testing.T) {
	day := func(n int) Instant { return Instant(n) * Day }
	said := []Stock{
		{ID: 3, Kind: "chain", Model: "Twelve", At: day(20), Count: 6, Adds: true, Price: 2600},
		{ID: 1, Kind: "chain", Model: "Twelve", At: day(10), Count: 5, Price: 2450, Lead: 14},
		{ID: 2, Kind: "chain", Model: "Twelve", At: day(15), Terms: true, Lead: 21, Supplier: "Depot"},
		{ID: 4, Kind: "chain", Model: "Twelve", At: day(16), Count: 99, Void: true},
		{ID: 5, Kind: "chain", Model: "Twelve", At: day(50), Count: 1},
	}
	fitted := []Instant{day(5), day(12), day(19), day(30)}
	for _, c := range []struct {
		today        int
		onHand, lack int
		price        int64
		lead         float64
	}{
		{9, 0, 0, 0, 0}, {11, 5, 0, 2450, 14}, {12, 4, 0, 2450, 14}, {17, 4, 0, 2450, 21}, {21, 9, 0, 2600, 21}, {40, 8, 0, 2600, 21}, {60, 1, 0, 2600, 21},
	} {
		h := ShelfOf(said, fitted, day(c.today))
		assert.Equal(t, c.today >= 10, h.Counted, "day %d", c.today)
		assert.Equal(t, []any{c.onHand, c.lack, c.price, c.lead}, []any{h.OnHand, h.Short, h.Price, h.Lead}, "day %d", c.today)
	}
	short := ShelfOf(said[1:2], []Instant{day(11), day(12), day(13), day(14), day(15), day(16), day(17)}, day(20))
	assert.Equal(t, 0, short.OnHand)
	assert.Equal(t, 2, short.Short)
}

// TestTaken: what came with a bike, or moved from another, was not on the shelf.
func TestTaken(t *testing.T) {
	parts := []Part{{ID: 1, Kind: "chain", Model: "Twelve"}, {ID: 2, Kind: "chain", Model: " twelve"}, {ID: 3, Kind: "chain"}}
	stays := []Stay{
		{Part: 1, From: Ever, Came: true}, {Part: 1, From: 9 * Day},
		{Part: 2, From: 30 * Day}, {Part: 2, From: 20 * Day},
		{Part: 3, From: 5 * Day, Came: true},
	}
	assert.Equal(t, map[ShelfKey][]Instant{KeyOf("chain", "Twelve"): {20 * Day}}, Taken(parts, stays))
}
