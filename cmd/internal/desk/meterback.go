package desk

import (
	"context"
	"fmt"
	"slices"
	"strconv"

	"pawl/store"
	"pawl/wear"
)

// VoidMeters takes back what the meters of a bike are said to have shown: on the
// day of the request, else the newest reading of that figure. What lies between
// its neighbours is settled anew.
func (d *Desk) VoidMeters(ctx context.Context, req MeterRequest) (res MeterResult, err error) {
	readings, err := req.readings()
	if err != nil {
		return res, err
	}
	err = d.Book.Update(ctx, func(tx *store.Tx) error {
		bike, at, err := d.bikeAndDay(tx, req.Bike, req.On)
		if err != nil {
			return err
		}
		res = MeterResult{Bike: bike}
		tx.Begin("ride add void", bike.Name, d.Who)
		m, err := d.metersOf(tx, bike)
		if err != nil {
			return err
		}
		for _, o := range readings {
			o.At = at
			if o, err = m.void(o, req.On != ""); err != nil {
				return err
			}
			res.Readings = append(res.Readings, o)
		}
		d.Warnings = append(d.Warnings, m.warnings...)
		return nil
	})
	return res, err
}

// void takes back the newest reading that shows the same, where asked of the same
// day, and returns it.
func (m *meters) void(o wear.Odometer, thatDay bool) (wear.Odometer, error) {
	chain := wear.Readings(m.list, o.Of)
	i := -1
	for k, r := range chain {
		if r.Shows() == o.Shows() && (!thatDay || sameDay(r.At, o.At, m.tx.Zone())) {
			i = k
		}
	}
	switch {
	case i < 0:
		return o, refusal("pawl ride list lists what the readings left, by the day", "no reading of the %s of bike %q shows %s",
			meterNoun(o), m.bike.Name, showed(o, o.Shows()))
	case chain[i].Opening:
		return o, refusal("correct it in the table: pawl fleet read FILE.csv", "the %s showed %s when bike %q came: that stays",
			meterNoun(o), showed(o, o.Shows()), m.bike.Name)
	}
	o = chain[i]
	if i > 0 && i+1 < len(chain) && !chain[i+1].Replaced && chain[i+1].Shows() < chain[i-1].Shows() {
		return o, refusal("take that one back first, or enter it again and say new", "without it the %s runs back: %s on %s, %s on %s", meterNoun(o),
			showed(o, chain[i-1].Shows()), day(chain[i-1].At, m.tx.Zone()), showed(o, chain[i+1].Shows()), day(chain[i+1].At, m.tx.Zone()))
	}
	o.Void = true
	return o, m.change(o)
}

// most that a bike is ridden in a day and a night, beyond which a reading is
// asked about (common practice, no published source).
const (
	mostKmADay    = 300
	mostHoursADay = 18
)

// hasty asks about a reading by which more was ridden than a bike can.
func (m *meters) hasty(g wear.Gap, left int64) {
	days := max(1, int64((g.After.At-g.Before.At+wear.Day-1)/wear.Day))
	most := days * mostKmADay * 100_000
	if g.Metres < 0 {
		most = days * mostHoursADay * 3_600_000
	}
	if left <= most {
		return
	}
	zone := m.tx.Zone()
	flag := "--odometer " + strconv.FormatFloat(float64(g.After.Metres)/1000, 'f', -1, 64) + "km"
	ridden := km(left / 100)
	if g.Metres < 0 {
		flag, ridden = fmt.Sprintf("--hour-meter %d:%02d", g.After.Ran/60, g.After.Ran%60), showed(g.After, left/60_000)
	}
	text := fmt.Sprintf("bike %q: %s from %s to %s by its %s: misread? pawl ride add %q %s --on %s --void takes that reading back",
		m.bike.Name, ridden, day(g.Before.At, zone), day(g.After.At, zone), meterNoun(g.After), m.bike.Name, flag, day(g.After.At, zone))
	if !slices.Contains(m.warnings, text) {
		m.warnings = append(m.warnings, text)
	}
}
