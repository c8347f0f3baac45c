package wear

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A ruler errs by twice some 0.07 %, a caliper by twice some 0.04 %: from 0.6 %
// by ruler a ruler may come back to about 0.3 %, a caliper to about 0.36 %.
func TestAPartDoesNotGrowBack(t *testing.T) {
	ruler := Reading{Of: Elongation, Value: 0.6, Tool: "ruler"}
	in := Reading{Of: Elongation, Value: 0.75, Tool: "gauge", Gauge: &Gauge{In: 0.75, Points: 3}}
	play := Reading{Of: Elongation, Value: 0.75, Tool: "gauge", Gauge: &Gauge{In: 0.75}}
	lining := Reading{Of: Lining, Value: 1.2, Tool: "caliper"}
	for _, c := range []struct {
		kind string
		last Reading
		s    Sitting
		why  string // "" = it is taken
	}{
		{"chain", ruler, one("", "0.35%", "ruler", 0), ""},
		{"chain", ruler, one("", "0.22%", "ruler", 0), "0.22 % by ruler, but the last one, on 2024-10-06, was 0.60 % by ruler"},
		{"chain", ruler, one("", "0.40%", "caliper", 0), ""},
		{"chain", ruler, one("", "0.30%", "caliper", 0), "dirty or waxed then, or another tool?"},
		{"chain", ruler, one("", "0.9%", "caliper", 0), ""},
		{"chain", ruler, ends("0.25", "0.5", 3), ""},
		{"chain", ruler, ends("", "0.25", 3), "below 0.25 % by gauge, but the last one"},
		{"chain", ruler, ends("", "0.5", 2), ""}, // 0.3 ± 0.2: it reads the play too
		{"chain", in, one("", "0.5%", "caliper", 0), "was at least 0.75 % by gauge"},
		{"chain", in, one("", "0.6%", "caliper", 0), ""},
		{"chain", play, one("", "0.3%", "caliper", 0), ""},
		{"chain", in, ends("", "0.5", 3), "below 0.5 % by gauge, but the last one"},
		{"front-pads", lining, one("", "1.3mm", "", 0), ""},
		{"front-pads", lining, one("", "1.5mm", "", 0), "1.50 mm by caliper, but the last one, on 2024-10-06, was 1.20 mm by caliper: no lining grows"},
		{"front-pads", lining, one("", "0.4mm", "", 0), ""},
	} {
		c.s.Kind, c.s.At = c.kind, days(9)
		c.last.ID, c.last.At = 1, days(2)
		k := Known{Bike: "enduro", Readings: []Reading{c.last}}
		_, _, err := c.s.Read(k)
		if c.why == "" {
			assert.NoError(t, err, "%+v", c.s)
			continue
		}
		var no *ContradictionError
		require.ErrorAs(t, err, &no, "%+v", c.s)
		assert.ErrorContains(t, err, c.why)
		assert.Contains(t, no.Hint(), `pawl signoff "enduro" `+c.kind+":change; --doubtful")
		c.s.Doubtful = true
		_, _, err = c.s.Read(k)
		require.NoError(t, err, "kept, out of the sums")
		c.s.Doubtful = false
		for _, out := range []func(*Reading){func(r *Reading) { r.Void = true }, func(r *Reading) { r.Doubtful = true }, func(r *Reading) { r.Of = Knob }} {
			gone := c.last
			out(&gone)
			_, _, err = c.s.Read(Known{Readings: []Reading{gone}})
			assert.NoError(t, err, "a reading that does not count contradicts nothing")
		}
	}
}

// A reading may be entered late: then the next one has its say.
func TestALateReadingFitsTheNext(t *testing.T) {
	k := Known{Readings: []Reading{
		{ID: 2, At: days(20), Of: Elongation, Value: 0.4, Tool: "caliper"},
		{ID: 1, At: days(2), Of: Elongation, Value: 0.2, Tool: "caliper"},
	}}
	late := func(text string) error {
		s := one("chain", text, "caliper", 0)
		s.At = days(10)
		_, _, err := s.Read(k)
		return err
	}
	assert.NoError(t, late("0.3%"))
	assert.ErrorContains(t, late("0.7%"), "0.70 % by caliper, but the next one, on 2024-10-24, was 0.40 % by caliper")
	assert.ErrorContains(t, late("-0.06%"), "but the last one, on 2024-10-06, was 0.20 %")
}

func TestAReadingBeforeTheFitIsRefused(t *testing.T) {
	k := Known{
		Bike: "enduro", Part: "chain-2", Stays: []Stay{{From: days(40), To: Never}, {From: days(20), To: days(30)}},
		Readings: []Reading{{ID: 1, At: days(25), Of: Elongation, Value: 0.1}},
	}
	s := one("chain", "0.1%", "ruler", 0)
	for _, doubtful := range []bool{false, true} {
		s.Doubtful, s.At = doubtful, days(19)
		_, _, err := s.Read(k)
		var no *ContradictionError
		require.ErrorAs(t, err, &no)
		assert.ErrorContains(t, err, "chain-2 was fitted on 2024-10-24, after 2024-10-23; its first reading, on 2024-10-29, was 0.10 %")
		assert.Contains(t, no.Hint(), "--on DATE")
	}
	for _, day := range []float64{20, 35, 50} {
		s.At = days(day)
		_, _, err := s.Read(k)
		assert.NoError(t, err, "day %g: also on the shelf", day)
	}
}

func TestImpossibleReadingsNameTheLast(t *testing.T) {
	k := Known{Readings: []Reading{{ID: 1, At: days(2), Of: Elongation, Value: 0.31, Tool: "caliper"}}}
	for _, s := range []Sitting{
		one("chain", "-0.3%", "caliper", 0), one("chain", "1.6%", "caliper", 0), one("chain", "6%", "caliper", 0),
		one("chain", "-6%", "caliper", 0), ends("0.75", "0.5", 0),
	} {
		s.At = days(3)
		_, _, err := s.Read(k)
		assert.ErrorContains(t, err, "; the last reading, on 2024-10-06, was 0.31 % by caliper", "%+v", s)
		s.At = days(1)
		_, _, err = s.Read(k)
		require.Error(t, err)
		assert.NotContains(t, err.Error(), "last reading", "there was none yet")
	}
}

func TestNotesGoWithTheReading(t *testing.T) {
	s := one("chain", "0.4%", "caliper", 0)
	s.Which, s.Note, s.At = " the long one ", " cold ", days(3)
	r, _, err := s.Read(Known{})
	require.NoError(t, err)
	assert.Equal(t, Reading{At: days(3), Of: Elongation, Value: 0.4, Tool: "caliper", Which: "the long one", Note: "cold"}, r)
}

// What stands between hides nothing: every reading that counts has its say.
func TestAllReadingsHaveTheirSay(t *testing.T) {
	read := func(id uint64, day, v float64, of ReadingOf, g *Gauge) Reading {
		tool := "caliper"
		if g != nil {
			v, tool = g.middle(), toolGauge
		}
		return Reading{ID: id, At: days(day), Of: of, Value: v, Tool: tool, Gauge: g}
	}
	worn := []Reading{read(1, 2, 0.52, Elongation, nil), read(2, 4, 0, Elongation, &Gauge{Out: 0.75, Points: 3})}
	worn[0].Tool = "ruler"
	in := []Reading{read(1, 2, 0, Elongation, &Gauge{In: 0.75, Points: 3}), read(2, 4, 0, Elongation, &Gauge{Out: 1, Points: 3})}
	later := []Reading{read(1, 20, 0, Elongation, &Gauge{In: 0.25, Points: 3}), read(2, 30, 0.4, Elongation, nil)}
	pads := []Reading{read(1, 2, 1.2, Lining, nil), read(2, 4, 1.3, Lining, nil)}
	for _, c := range []struct {
		list []Reading
		kind string
		s    Sitting
		why  string // "" = it is taken
	}{
		{worn, "chain", one("", "0.05%", "ruler", 0), "0.05 % by ruler, but an earlier one, on 2024-10-06, was 0.52 % by ruler"},
		{worn, "chain", one("", "0.45%", "ruler", 0), ""},
		{in, "chain", one("", "0.4%", "caliper", 0), "but an earlier one, on 2024-10-06, was at least 0.75 % by gauge"},
		{in, "chain", one("", "0.8%", "caliper", 0), ""},
		{later, "chain", one("", "0.9%", "caliper", 0), "0.90 % by caliper, but a later one, on 2024-11-03, was 0.40 % by caliper"},
		{later, "chain", one("", "0.3%", "caliper", 0), ""},
		{pads, "front-pads", one("", "1.45mm", "caliper", 0), "1.45 mm by caliper, but an earlier one, on 2024-10-06, was 1.20 mm by caliper"},
		{pads, "front-pads", one("", "1.3mm", "caliper", 0), ""},
	} {
		c.s.Kind, c.s.At = c.kind, days(9)
		_, _, err := c.s.Read(Known{Bike: "enduro", Readings: c.list})
		if c.why == "" {
			assert.NoError(t, err, "%+v", c.s)
		} else {
			assert.ErrorContains(t, err, c.why)
		}
	}
}
