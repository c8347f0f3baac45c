package report

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

func someCogs() wear.Cogs {
	return wear.Cogs{
		Bike: wear.Bike{Name: "enduro"}, Cassette: wear.Part{Name: "cassette-1"},
		Since:   wear.Ever,
		Gearing: wear.Gearing{Ring: 32, Cogs: []int{10, 21, 51}, Wheel: 2.326},
		Turns:   200_000, Known: 150_000, Recorded: 60_000, Lost: 3_000, Data: wear.DataMixed,
		Limit: 600_000, Source: "common practice, no published source", Bend: 0.913,
		Largest: 0.41, Least: 0.02, Suit: wear.SuitSmaller,
		Lines: []wear.CogLine{
			{Teeth: 10},
			{Teeth: 21, Turns: 149_970, Work: 9e6, Share: 0.9998, WorkShare: 0.9998, Contacts: 612_345, Worn: 1.0206},
			{Teeth: 51, Turns: 30, Work: 1800, Share: 0.0002, WorkShare: 0.0002, Contacts: 21, Worn: 0.00004},
		},
		Notes: []string{"the device took the ring for 22 teeth, here 32: the bike's own are taken"},
	}
}

// Every width is kept, what is known is said with how it is known, and the bar
// never swallows a figure.
func TestCogsAtAnyWidth(t *testing.T) {
	for _, width := range []int{40, 60, 80, 132} {
		var out bytes.Buffer
		require.NoError(t, Cogs(&out, someCogs(), Style{Width: width}))
		for line := range strings.SplitSeq(out.String(), "\n") {
			assert.LessOrEqual(t, len([]rune(line)), width, line)
		}
		text := strings.Join(strings.Fields(out.String()), " ")
		for _, words := range []string{
			"3 cogs from 10 to 51 (cassette-1), a ring of 32, 2,326 mm round the wheel.",
			"200,000 turns of the crank (in part estimated), 75 % of them on a known cog, 40 % of those by recorded gear changes, the rest from speed and cadence; 1.5 % in a gear that no cog explains, left out.",
			"A smaller ring would suit: 41 % of the work is on the two largest cogs, 2.0 % on the two smallest.",
			"612,345", "102 %", "< 0.1 %", "The device took the ring for 22 teeth, here 32: the bike's own are taken.",
			"A turn of the crank wears the chain 0.91 times as much as on 32/21",
		} {
			assert.Contains(t, text, words, "width %d", width)
		}
	}
}

func TestBar(t *testing.T) {
	for share, want := range map[float64]string{0: "", 1: "████", 0.5: "██", 0.53: "██▏", 0.001: "▏", 0.97: "███▉"} {
		assert.Equal(t, want, bar(share, 4), "%g", share)
	}
	assert.Empty(t, bar(1, -3), "no room")
}

func TestCogsForMachines(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, CogsJSON(&out, someCogs(), Style{}))
	var got map[string]any
	require.NoError(t, json.Unmarshal(out.Bytes(), &got))
	assert.EqualValues(t, 1, got["version"])
	assert.Equal(t, "smaller", got["ring_suits"])
	assert.Nil(t, got["since"])
	assert.Equal(t, map[string]any{"teeth": 21., "turns": 149_970., "work": 9e6, "share": 0.9998, "work_share": 0.9998, "contacts": 612_345., "worn": 1.0206}, got["cogs"].([]any)[1])

	none := wear.Cogs{Bike: wear.Bike{Name: "=x"}, Cassette: wear.Part{Name: "c"}, Gearing: wear.Gearing{Cogs: []int{11}}, Lines: []wear.CogLine{{Teeth: 11}}}
	out.Reset()
	require.NoError(t, CogsJSON(&out, none, Style{}))
	require.NoError(t, json.Unmarshal(out.Bytes(), &got))
	assert.Nil(t, got["ring_suits"])
	assert.Nil(t, got["ring"])
	out.Reset()
	require.NoError(t, CogsCSV(&out, none))
	assert.Equal(t, "bike,cassette,teeth,turns,work,share,work_share,contacts,worn\r\n'=x,c,11,0,0,0,0,0,0\r\n", out.String())
	out.Reset()
	require.NoError(t, Cogs(&out, none, Style{}))
	assert.Contains(t, out.String(), "1 cog from 11 to 11 (c).")
}
