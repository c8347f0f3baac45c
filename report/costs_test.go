package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// someCosts are n bikes, each dearer than the next.
func someCosts(t *testing.T, by wear.CostBy, n int) wear.Costs {
	c := wear.Costs{By: by, From: on(t, "2025-06-02 00:00"), To: on(t, "2026-06-01 23:59"), Hour: 4500}
	for i := range n {
		l := wear.CostLine{Name: nastyName(i), Bikes: 1, Way: 123_456_789, Est: 12_345_678, Days: 100, FareDays: 100, Fare: 200_000,
			Spent: wear.Spent{Changes: 3, ByList: 1, Later: 1, NoPrice: 1, Jobs: 40, Paid: int64(100*(n-i)) + 999_999, Listed: 2400, Minutes: 700, Typical: 100, Untimed: 1}}
		l.DaysSpent = l.Spent
		if by == wear.ByKind || by == wear.ByModel {
			l.Kind, l.Model, l.Name = "rear-rotor", nastyName(i), ""
		}
		c.Lines = append(c.Lines, l)
		c.Total.Add(l)
	}
	idle := wear.CostLine{Name: "idle", Bikes: 1, Way: 5, Blind: 1}
	c.Total.Add(idle)
	c.Lines = append(c.Lines, idle)
	return c
}

func TestCostsFitTheWidth(t *testing.T) {
	for _, by := range wear.CostGroups {
		for _, columns := range []int{40, 80, 132} {
			var b strings.Builder
			require.NoError(t, Costs(&b, someCosts(t, by, 10_000), Style{Width: columns}))
			out := b.String()
			for l := range strings.SplitSeq(out, "\n") {
				assert.LessOrEqual(t, width(l), columns, "%q", l)
			}
			assert.Less(t, strings.Count(out, "\n"), 400)
			flat := strings.Join(strings.Fields(out), " ")
			assert.Contains(t, flat, "and 9,980 more: --page 2")
			assert.Contains(t, flat, "10,000 of 30,000 changes priced by the list (pawl part stock), 10,000 of them by a price that was said only later")
			assert.Contains(t, flat, "10,000 of 30,000 changes count without money")
			assert.Contains(t, flat, "1 "+costNouns[by][0]+" had no work.")
			assert.Contains(t, flat, "Of 1 bike the hire days are not known")
			assert.Contains(t, flat, "A hire day brings 20.00 at the bikes' prices")
			assert.Contains(t, flat, "10 % of the km are estimated")
			assert.NotContains(t, out, "\x1b")
		}
	}
}

// A list of many bikes stays a table at 80 columns: hours, jobs and then the way
// make room.
func TestCostsStayATable(t *testing.T) {
	c := someCosts(t, wear.ByBike, 10_000)
	for i := range c.Lines {
		c.Lines[i].Name = "hire 00041"
	}
	c.Hour = 0
	var b strings.Builder
	require.NoError(t, Costs(&b, c, Style{Width: 80}))
	assert.Regexp(t, `(?m)^bike +new +jobs +parts +km +1,000 km +hire day +price$`, b.String())
	assert.Regexp(t, `(?m)^all +30,000 `, b.String())
}

func TestCostsInBothUnits(t *testing.T) {
	c := someCosts(t, wear.ByDepot, 1)
	c.Lines[0].Name, c.Lines[0].Way = "", 1_000*1_000*100 // 1,000 km
	c.Lines[0].Spent = wear.Spent{Changes: 1, Paid: 10_000}
	for want, imperial := range map[string]bool{"100.00": false, "160.93": true} {
		var b strings.Builder
		require.NoError(t, Costs(&b, c, Style{Width: 120, Imperial: imperial}))
		assert.Regexp(t, `(?m)^no depot .* `+want+` `, b.String())
	}
}

func TestCostsAsData(t *testing.T) {
	c := someCosts(t, wear.ByBike, 3)
	c.Lines[0].Name = "=cmd()"
	var b strings.Builder
	require.NoError(t, CostsCSV(&b, c))
	rows := strings.Split(strings.TrimSpace(b.String()), "\r\n")
	require.Len(t, rows, 5)
	assert.True(t, strings.HasPrefix(rows[1], ",,'=cmd(),,1,3,1,1,40,10026.99,700,100,525,10551.99,1234567.89,8547.1"), rows[1])
	assert.True(t, strings.HasSuffix(rows[1], ",100,105.5199,20"), rows[1])
	assert.True(t, strings.HasSuffix(rows[4], ",0.05,0,,,"), "an odometer tells no days: %s", rows[4])
	b.Reset()
	require.NoError(t, CostsJSON(&b, c, Style{}))
	assert.Contains(t, b.String(), `"without_minutes": 1`)
	assert.Contains(t, b.String(), `"hire_days": null`)
}

func TestCostsWhereNoPriceIsKnown(t *testing.T) {
	for want, s := range map[string]wear.Spent{
		"0.00": {}, "12.00": {Paid: 1200, Changes: 2}, "12.00+": {Paid: 1200, Changes: 2, NoPrice: 1}, "–": {Changes: 1, NoPrice: 1},
	} {
		assert.Equal(t, want, atLeast(float64(s.Parts()), &s))
	}
}

func TestCostsOfChains(t *testing.T) {
	r := wear.PolicyResult{Chance: 0.86, Prices: [3]int64{2500, 8000, 4000}, Rests: []string{strings.Repeat("long ", 60)}, Assumed: []string{"x"},
		Saves: wear.Spread{P10: -1000, P50: 2000, P90: 3000}}
	for i := range r.Limits {
		r.Limits[i] = wear.PolicyCost{Limit: wear.PolicyLimits[i], Parts: [3]float64{1.25, 0.24, 0.4}, Each: [3]float64{3125, 1920, 1600},
			Cost: wear.Spread{P10: 5000, P50: 6645, P90: 9000}}
	}
	for _, columns := range []int{40, 80} {
		var b strings.Builder
		require.NoError(t, CostsOfChains(&b, ChainCosts{3, r}, Style{Width: columns}))
		for l := range strings.SplitSeq(b.String(), "\n") {
			assert.LessOrEqual(t, width(l), columns, "%q", l)
		}
		flat := strings.Join(strings.Fields(b.String()), " ")
		assert.Contains(t, flat, "Changing chains at 0.5 % costs less here: 86 % likely. It rests on common practice only")
		assert.Contains(t, flat, "costs 20.00 less than 0.75 %, in eight cases of ten between 10.00 more and 30.00 less")
	}
	r.Lacking, r.Prices[1] = []string{"cassette"}, 0
	var b strings.Builder
	require.NoError(t, CostsOfChains(&b, ChainCosts{3, r}, Style{Width: 100, Imperial: true}))
	assert.Contains(t, b.String(), "pawl part stock cassette --price 24.50, or --cassette-price 24.50")
	assert.Regexp(t, `cassettes +0.39 +– +0.39 +–`, b.String())
	assert.NotContains(t, b.String(), "eight cases")
	b.Reset()
	require.NoError(t, CostsOfChainsJSON(&b, ChainCosts{3, r}))
	assert.Contains(t, b.String(), `"chance": null`)
	assert.Contains(t, b.String(), `"cassette": null`)
}
