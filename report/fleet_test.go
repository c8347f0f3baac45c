package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// bigFleet is a fleet of n bikes with names and reasons that somebody has made long.
func bigFleet(n int) Fleet {
	long := strings.Repeat("自転車 ", 30) + "\x1b[31m\u202e<b>"
	f := Fleet{Today: 20_000 * wear.Day, Since: 19_600 * wear.Day}
	for i := range n {
		b := wear.FleetBike{
			Bike: wear.Bike{ID: wear.ID(i + 1), Name: fmt.Sprintf("hire %d %s", i, long), Depot: []string{"North", long}[i%2], Tags: []string{"=x"}},
			Jobs: i % 4, Worst: wear.Verdict(i % 4), Minutes: i % 90, DueWeek: i%2 == 0, DueMonth: true,
			Top:   &wear.Finding{Part: "chain-" + long, Job: "change", Title: "change the chain"},
			Stand: wear.Stand{Service: 28, Held: float64(i % 9)}, Last: 19_990 * wear.Day, TurnRound: wear.Ever, UnTurned: true,
			Cost: wear.CostLine{Bikes: 1, Way: 4e7, Days: 9, Fare: 9 * 4000, FareDays: 9, Spent: wear.Spent{Changes: 1, Paid: 123_456, NoPrice: i % 2}},
		}
		switch i % 5 {
		case 0:
			b.Hold = wear.Hold{Held: true, Why: "held back: " + long, By: long}
		case 1:
			b.Hold = wear.Hold{Lifted: &wear.Status{By: "Kim", Until: 20_005 * wear.Day}}
		}
		f.Bikes = append(f.Bikes, b)
	}
	f.Depots, f.All = wear.Depots(f.Bikes)
	return f
}

func bigPlan(n int) Plan {
	var works []wear.BikeWork
	for i, b := range bigFleet(n).Bikes {
		works = append(works, wear.BikeWork{
			Bike: b.Bike, Hold: b.Hold, Minutes: 30 + i%20, Saved: 5, Parts: []string{"chain", "rear-pads"},
			Now:   []wear.Finding{{BikeID: b.Bike.ID, PartID: 1, Part: b.Top.Part, Kind: "chain", Job: "change", Verdict: wear.Due, Minutes: 20}},
			Along: []wear.Finding{{BikeID: b.Bike.ID, PartID: 2, Part: "pads-1", Kind: "rear-pads", Job: "change", Minutes: 15}},
			Visit: []wear.Instant{0, 20_003 * wear.Day}[i%2],
		})
	}
	return Plan{Today: 20_000 * wear.Day, Depots: wear.PlanWeek(works)}
}

// TestAFleetOfTenThousandIsReadable: a page at a time, totals of all, never wider than
// the terminal, whatever names are typed.
func TestAFleetOfTenThousandIsReadable(t *testing.T) {
	f, plan := bigFleet(10_000), bigPlan(10_000)
	for _, columns := range []int{80, 120} {
		for name, write := range map[string]func(io.Writer, Style) error{
			"fleet": func(w io.Writer, s Style) error { return FleetList(w, f, s) },
			"plan":  func(w io.Writer, s Style) error { return WeekPlan(w, plan, s) },
		} {
			var out bytes.Buffer
			require.NoError(t, write(&out, Style{Width: columns, Imperial: columns == 120}))
			text := out.String()
			for _, line := range strings.Split(text, "\n") {
				assert.LessOrEqual(t, width(line), columns, "%s: %q", name, line)
				assert.NotContains(t, line, "\x1b")
			}
			assert.Contains(t, text, "1 to 20 of 10,000 bikes; and 9,980 more: --page 2", name)
			assert.Less(t, strings.Count(text, "\n"), 400, name)
			assert.Contains(t, text, wear.Caution, name)
			out.Reset()
			last := Style{Width: columns, Pages: Pages{Page: 500}}
			require.NoError(t, write(&out, last))
			assert.Contains(t, out.String(), "9,981 to 10,000 of 10,000 bikes, the last page", name)
			last.Pages.Page = 501
			assert.ErrorContains(t, write(&out, last), "the list ends with page 500", name)
		}
	}
}

func TestFleetForMachines(t *testing.T) {
	f, plan := bigFleet(30), bigPlan(30)
	var out bytes.Buffer
	require.NoError(t, FleetJSON(&out, f, Style{}))
	var told struct {
		Version int
		Depots  []map[string]any
		All     map[string]any
		Bikes   []map[string]any
	}
	require.NoError(t, json.Unmarshal(out.Bytes(), &told))
	assert.Len(t, told.Bikes, 30)
	assert.Len(t, told.Depots, 2)
	assert.EqualValues(t, 30, told.All["bikes"])
	assert.EqualValues(t, f.All.Held, told.All["held"])
	assert.InDelta(t, 1234.56*30, told.All["cost"], 1e-6)
	assert.InDelta(t, 1234.56/400*1000, told.Bikes[3]["per_1000_km"], 0.01)
	assert.Equal(t, "Kim", told.Bikes[1]["released_by"])
	assert.Equal(t, true, told.Bikes[0]["held"])

	out.Reset()
	require.NoError(t, PlanJSON(&out, plan, Style{}))
	assert.True(t, json.Valid(out.Bytes()))
	for name, write := range map[string]func(io.Writer) error{
		"fleet": func(w io.Writer) error { return FleetCSV(w, f, Style{}) },
		"plan":  func(w io.Writer) error { return PlanCSV(w, plan, Style{}) },
	} {
		out.Reset()
		require.NoError(t, write(&out))
		rows, err := csv.NewReader(&out).ReadAll()
		require.NoError(t, err, name)
		assert.Len(t, rows, 31, name)
		for _, row := range rows[1:] {
			for _, c := range row {
				assert.False(t, strings.HasPrefix(c, "="), "%s: %q would be a formula", name, c)
			}
		}
	}
}

func TestNothingOfAFleet(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, FleetList(&out, Fleet{}, Style{}))
	assert.Contains(t, out.String(), "No bike")
	out.Reset()
	require.NoError(t, WeekPlan(&out, Plan{}, Style{}))
	assert.Contains(t, out.String(), "Nothing will be due")
}

func TestTurnRoundPaper(t *testing.T) {
	paper := TurnRoundPaper{Today: 20_000 * wear.Day, Depot: "<North>"}
	for _, b := range bigFleet(45).Bikes {
		b.Bike.Name = brief(b.Bike.Name, 18)
		paper.Lines = append(paper.Lines, TurnRoundLine{Bike: b.Bike, Last: 19_990 * wear.Day, Hold: b.Hold, Watch: []string{"front-tyre-3"}})
	}
	var out bytes.Buffer
	require.NoError(t, TurnRoundSheet(&out, paper, Style{}))
	html := out.String()
	assert.NotContains(t, html, "<North>")
	assert.NotContains(t, html, "<b>\u202e")
	assert.Equal(t, 45*len(wear.Points), strings.Count(html, `class="tick"`))
	for _, p := range wear.Points {
		assert.Contains(t, html, p.About())
	}
	assert.Contains(t, html, wear.Caution)
	assert.NotContains(t, html, "http")
	assert.NotContains(t, html, "<script")

	program := chromium(t)
	dir := t.TempDir()
	page := filepath.Join(dir, "paper.html")
	require.NoError(t, os.WriteFile(page, out.Bytes(), 0o600))
	pdf := filepath.Join(dir, "paper.pdf")
	said, err := exec.Command(program, "--headless", "--no-sandbox", "--disable-gpu", "--user-data-dir="+filepath.Join(dir, "profile"),
		"--no-pdf-header-footer", "--print-to-pdf="+pdf, "file://"+page).CombinedOutput()
	require.NoError(t, err, string(said))
	printed, err := os.ReadFile(pdf)
	require.NoError(t, err)
	assert.LessOrEqual(t, pages(t, printed), 4, "45 bikes with long notes")
}

func TestTurnedRounds(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, TurnedRounds(&out, []TurnedRound{
		{Bike: "hire 1", Round: wear.TurnRound{At: 20_000 * wear.Day, By: "Kim"}},
		{Bike: "hire 2", Round: wear.TurnRound{At: 20_000 * wear.Day, By: "Kim"}, Faults: []string{"guide-1 unsafe: touches"}, Marked: []string{"guide-bolts-1"}, Bare: []string{"axles-1"}},
		{Bike: "hire 3", Round: wear.TurnRound{At: 20_000 * wear.Day, By: "Kim"}, Hold: wear.Hold{Held: true, Why: "frame-1: a crash"}},
	}, Style{}))
	for _, want := range []string{"hire 1: turned round on", "by Kim, all good", "it stays in: frame-1: a crash", "guide-1 unsafe: touches", "checked by their witness marks: guide-bolts-1", "no torque was set", wear.Caution} {
		assert.Contains(t, strings.Join(strings.Fields(out.String()), " "), want)
	}
}

// TestAHeldBikeIsNeverToldToBeOut: also where what holds it was not asked about.
func TestAHeldBikeIsNeverToldToBeOut(t *testing.T) {
	p := &fleetPage{}
	for want, b := range map[string]wear.FleetBike{
		"due ▲, stays in": {Worst: wear.Due, Hold: wear.Hold{Held: true, Why: "frame-1: a crash"}},
		"fine ○, held":    {Worst: wear.Fine, Hold: wear.Hold{Held: true, By: "Kim"}},
		"fine ○":          {Worst: wear.Fine},
	} {
		assert.Equal(t, want, p.stands(&b))
	}
}
