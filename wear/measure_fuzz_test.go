package wear

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Whatever is typed, it is a reading that a part can have, or refused with
// words and a hint.
func FuzzMeasure(f *testing.F) {
	for _, text := range []string{
		"0.62%", "0,6,0,7%", "12 1/16in", "12-1/8\"", "128.1mm/10", "306.2,306.4mm/24", "1.8mm 1.6mm", "306,307mm", "-0.1%", "99999999999999999999999mm/24",
		"1/0in", "24.75in", ".5mm", "0.5% ; 0.6%", "12 in 12 1/16 in",
	} {
		f.Add("chain", text, "ruler", 24, "", "", uint8(0))
		f.Add("front-pads", text, "", 0, "", "", uint8(1))
	}
	f.Add("chain", "", "", 0, "0.5", "0,75%", uint8(2))
	f.Add("chain", "", "gauge", 0, "", "0.5", uint8(4))
	f.Add("rear-rotor", "1.7mm", "caliper", 0, "", "", uint8(8))
	known := Known{Part: "x", Bike: "b", Plate: 2, Stays: []Stay{{From: days(1), To: Never}}, Readings: []Reading{
		{ID: 1, At: days(2), Of: Elongation, Value: 0.2, Tool: "ruler"}, {ID: 2, At: days(3), Of: Lining, Value: 2}, {ID: 3, At: days(9), Of: Elongation, Value: 0.6},
	}}
	f.Fuzz(func(t *testing.T, kind, text, tool string, pitches int, in, out string, flags uint8) {
		s := Sitting{
			Kind: kind, At: days(float64(flags >> 4)), Words: strings.Fields(text), Tool: tool, Pitches: pitches, DropsIn: in, StaysOut: out,
			WithPlate: flags&1 != 0, Points: int(flags & 3), Sure: flags&4 != 0, Doubtful: flags&8 != 0,
		}
		r, _, err := s.Read(known)
		if err != nil {
			var hinted interface{ Hint() string }
			require.True(t, errors.As(err, &hinted) && hinted.Hint() != "", "%v", err)
			return
		}
		sane(t, r)
		again, _, err := s.Read(known)
		require.NoError(t, err)
		require.Equal(t, r, again)
	})
}

// sane holds what every reading in the book may be relied on for.
func sane(t *testing.T, r Reading) {
	t.Helper()
	for _, v := range append([]float64{r.Value, r.Worst(), r.Length, r.Plate}, r.Places...) {
		require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
	}
	require.NotEmpty(t, r.Of)
	require.NotEmpty(t, r.Tool)
	require.NotEqual(t, 1, len(r.Places), "one place is the value")
	require.Equal(t, r.Length > 0, r.Pitches > 0)
	if r.Of == Elongation {
		require.LessOrEqual(t, math.Abs(r.Worst()), mostElongation+1e-9)
	} else {
		require.GreaterOrEqual(t, r.Worst(), 0.0)
		require.Nil(t, r.Gauge)
	}
	if g := r.Gauge; g != nil {
		require.True(t, g.In == 0 || g.Out == 0 || g.In < g.Out)
		require.Positive(t, g.In+g.Out)
	}
}
