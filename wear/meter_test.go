package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func odo(id uint64, at Instant, km int64) Odometer {
	return Odometer{ID: id, At: at * Instant(Day), Metres: 1000 * km}
}

func ran(id uint64, at Instant, hours int64) Odometer {
	return Odometer{ID: id, At: at * Instant(Day), Of: HourMeter, Ran: 60 * hours}
}

func fresh(o Odometer, began int64) Odometer {
	o.Replaced, o.Began = true, began
	return o
}

// gapSaid is a gap in short: the reading that ends it, metres, minutes.
type gapSaid struct {
	id              uint64
	metres, minutes int64
}

func TestGaps(t *testing.T) {
	given := odo(2, 8, 300)
	given.Minutes = 90
	void := odo(9, 5, 250)
	void.Void = true
	for name, c := range map[string]struct {
		list []Odometer
		want []gapSaid
	}{
		"none":                     {nil, nil},
		"a first reading":          {[]Odometer{odo(1, 1, 100)}, nil},
		"two":                      {[]Odometer{odo(1, 1, 100), odo(2, 8, 300)}, []gapSaid{{2, 200_000, -1}}},
		"hours as given":           {[]Odometer{odo(1, 1, 100), given}, []gapSaid{{2, 200_000, 90}}},
		"taken back":               {[]Odometer{odo(1, 1, 100), void, odo(2, 8, 300)}, []gapSaid{{2, 200_000, -1}}},
		"a new one":                {[]Odometer{odo(1, 1, 100), fresh(odo(2, 8, 30), 0)}, []gapSaid{{2, 30_000, -1}}},
		"a new one that was used":  {[]Odometer{odo(1, 1, 100), fresh(odo(2, 8, 530), 500_000)}, []gapSaid{{2, 30_000, -1}}},
		"the last of an old one":   {[]Odometer{odo(1, 1, 100), fresh(odo(3, 8, 0), 0), odo(2, 8, 140)}, []gapSaid{{2, 40_000, -1}, {3, 0, -1}}},
		"hours alone":              {[]Odometer{ran(1, 1, 10), ran(2, 8, 14)}, []gapSaid{{2, -1, 240}}},
		"a new hour meter":         {[]Odometer{ran(1, 1, 10), fresh(ran(2, 8, 3), 60)}, []gapSaid{{2, -1, 120}}},
		"both on the same days":    {[]Odometer{odo(1, 1, 100), ran(2, 1, 10), odo(3, 8, 160), ran(4, 8, 15)}, []gapSaid{{3, 60_000, 300}}},
		"hours read between":       {[]Odometer{odo(1, 1, 100), ran(2, 1, 10), ran(5, 4, 12), odo(3, 8, 160), ran(4, 8, 15)}, []gapSaid{{3, 60_000, 300}}},
		"hours of other days":      {[]Odometer{odo(1, 1, 100), ran(2, 2, 10), odo(3, 8, 160), ran(4, 7, 15)}, []gapSaid{{3, 60_000, -1}}},
		"hours, then the odometer": {[]Odometer{ran(1, 1, 10), ran(2, 8, 15), odo(3, 8, 100), odo(4, 15, 150)}, []gapSaid{{4, 50_000, -1}, {2, -1, 300}}},
		"one reading of a way":     {[]Odometer{ran(1, 1, 10), odo(3, 4, 100), ran(2, 8, 15)}, []gapSaid{{2, -1, 300}}},
	} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				list := c.list
				if len(list) > 1 {
					list = rapid.Permutation(list).Draw(t, "order")
				}
				var got []gapSaid
				for _, g := range Gaps(list) {
					got = append(got, gapSaid{g.After.ID, g.Metres, g.Minutes})
				}
				assert.Equal(t, c.want, got)
			})
		})
	}
}

// A meter may only run back where it is new, in whatever order it is told.
func TestRunsBack(t *testing.T) {
	old := []Odometer{odo(1, 1, 1000), odo(2, 8, 1300)}
	for name, c := range map[string]struct {
		list []Odometer
		o    Odometer
		near uint64 // 0 = it fits
	}{
		"the first":               {nil, odo(9, 4, 5), 0},
		"between":                 {old, odo(9, 4, 1100), 0},
		"the same figure":         {old, odo(9, 4, 1000), 0},
		"less than before":        {old, odo(9, 4, 999), 1},
		"more than behind":        {old, odo(9, 4, 1301), 2},
		"less than the last":      {old, odo(9, 12, 80), 2},
		"new after the last":      {old, fresh(odo(9, 12, 80), 0), 0},
		"old before a new one":    {[]Odometer{fresh(odo(1, 8, 25), 0), odo(2, 12, 80)}, odo(9, 4, 1000), 0},
		"new, and more than next": {old, fresh(odo(9, 4, 1500), 0), 2},
		"hours beside kilometres": {old, ran(9, 4, 3), 0},
		"the last of the old one": {[]Odometer{odo(1, 1, 1000), fresh(odo(2, 8, 0), 0)}, odo(9, 8, 1040), 0},
	} {
		near := RunsBack(c.list, c.o)
		if c.near == 0 {
			assert.Nil(t, near, name)
			continue
		}
		if assert.NotNil(t, near, name) {
			assert.Equal(t, c.near, near.ID, name)
		}
	}
}
