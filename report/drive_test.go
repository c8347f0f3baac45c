package report

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

func someSetup(t *testing.T) SetupPage {
	t.Helper()
	angle, offset := -2.5, 3.0
	g := wear.GuideSetup{
		At: on(t, "2026-04-02 20:00"), Mount: wear.ISCG05, Spacers: []float64{1, 1, 1.5}, Torques: []float64{8, 8, 7.95}, ChainLine: 52.5,
		Angle: &angle, Lower: "second\x07 hole", Ring: 32, Lot: &wear.ParkingLot{Shifts: wear.Passed, NoRub: wear.Failed},
		Drive: wear.Drive{Spacing: 148, Chainstay: 435, RingMount: "104/4", Offset: &offset, GuideLeast: 28, GuideMost: 36, FrameMost: 34, Pitches: 126, CogSpacing: 3.65, CassetteLine: 49},
		By:    "Ada", Note: "with new bolts",
	}
	var records []wear.GuideSetup
	for range shownRecords {
		records = append(records, wear.GuideSetup{At: on(t, "2026-03-01 20:00"), Lot: &wear.ParkingLot{Shifts: wear.Passed, NoRub: wear.Passed, Clear: wear.Passed}})
	}
	return SetupPage{
		Bike: "Kestrel 3", Known: true, Guided: true, Records: append(records, g), Torque: 8,
		State: wear.SetupState{
			Setup: g, Set: g.At, Checked: on(t, "2026-03-01 20:00"), CheckDue: true,
			Why:      []string{"no rub at either end of the cassette failed on 2026-04-02", "clearance through the travel was not checked"},
			Warnings: []string{"spacers of 1, 1, 1.5 mm: unequal ones set the guide askew"},
			Angles:   []wear.CogAngle{{Teeth: 10, Degrees: 2.21}, {Teeth: 51, Degrees: -2.99}},
		},
		Cautions: []string{"torque: the maker's figure for both parts, the lower wins"},
	}
}

func someRings() RingsPage {
	q := wear.RingQuery{
		Bike: "Kestrel 3", Ring: 32, Cogs: []int{10, 12, 14, 16, 18, 21, 24, 28, 32, 36, 42, 51}, Wheel: 2.29, Speeds: 12, Line: 52,
		Drive: wear.Drive{Spacing: 148, Chainstay: 435, GuideLeast: 28, GuideMost: 36, Pitches: 118},
		Worn:  []wear.WornPart{{Name: "chain-1", Kind: "chain", Why: "measured 0.8 %, limit 0.5 %"}, {Name: "cassette-1", Kind: "cassette"}},
	}
	q.Offers = append(q.Sold(), wear.RingOffer{Model: "Crown\x1b[31m", Teeth: 33})
	return RingsPage{
		Bike: "Kestrel 3", Query: q, Advice: wear.Rings(q), Gears: true,
		Do:       map[string]string{"ring mount": "--ring-mount 104/4 or direct"},
		Cautions: []string{"narrow-wide: even number of teeth"},
	}
}

// someLives are of one kind that tells, one that tells roughly and without an
// upper end, and two of which too few have failed.
func someLives(t *testing.T) []LifeLine {
	t.Helper()
	band := func(at, from, to float64) wear.LifeBand { return wear.LifeBand{At: at, From: from, To: to} }
	b10 := band(161_234, 120_000, 190_000)
	few := &wear.LifeError{Why: "2 of 9 parts wore out or broke", Tip: "say worn or broke whenever such a part comes off"}
	return []LifeLine{
		{Kind: "chain", Model: "12-speed, coated", By: wear.CountTurns, Least: 320_000, Most: 480_000, Parts: 31, Result: wear.LifeResult{
			Failures: 22, Censored: 9, Endings: []wear.Ending{{Cause: wear.Worn, N: 21}, {Cause: wear.Broke, N: 1}, {N: 9}}, Shape: 2.4567, ShapeErr: 0.41,
			Scale: 402_345, ScaleErr: 31_234, Median: band(346_789, 300_111, 401_999), B10: &b10,
			Prior: wear.LifePrior{Median: 346_789, LogSD: 0.5312}, Method: "Weibull by maximum likelihood",
		}},
		{Kind: "rear-tyre", By: wear.CountKm, Least: 1.5e6, Most: 1.5e6, Parts: 6, Result: wear.LifeResult{
			Failures: 5, Censored: 1, Endings: []wear.Ending{{Cause: wear.Worn, N: 5}, {Cause: wear.Crash, N: 1}}, Shape: 1.2, ShapeErr: 0.5, Scale: 2.1e6, ScaleErr: 0.6e6, Prior: wear.LifePrior{Median: 1.7e6, LogSD: 1.2}, Median: band(1.7e6, 0.9e6, 0),
			Rough: true, Notes: []string{"rough: it rests on 5 failures, 20 make it firm"}, Method: "Weibull by maximum likelihood",
		}},
		{Kind: "ring", By: wear.CountTurns, Least: 1e6, Most: 1e6, Parts: 9, Refused: few, Result: wear.LifeResult{
			Failures: 2, Censored: 7, Endings: []wear.Ending{{Cause: wear.Worn, N: 2}, {N: 7}},
		}},
		{Kind: "idler", Model: "=cmd()", By: wear.CountIdler, Least: 2e6, Most: 2e6, Parts: 1, Refused: few},
	}
}

func drivePrints(t *testing.T, s Style) map[string]string {
	t.Helper()
	out := map[string]string{}
	add := func(name string, write func(*strings.Builder) error) {
		var b strings.Builder
		require.NoError(t, write(&b), name)
		out[name] = b.String()
	}
	setup, rings := someSetup(t), someRings()
	add("setup", func(b *strings.Builder) error { return Setup(b, setup, s) })
	add("rings", func(b *strings.Builder) error { return Rings(b, rings, s) })
	add("lives", func(b *strings.Builder) error { return PartLife(b, someLives(t), false, s) })
	add("life", func(b *strings.Builder) error { return PartLife(b, someLives(t), true, s) })
	bike := someBikes(t)[0]
	bike.Setup, bike.Rings = &setup, &rings
	add("bike-drive", func(b *strings.Builder) error { return Bike(b, bike, nil, s) })
	return out
}

func TestDriveGolden(t *testing.T) {
	for _, s := range styles[:3] {
		t.Run(styleName(s), func(t *testing.T) {
			for name, out := range drivePrints(t, s) {
				narrow(t, out, s.Width)
				golden(t, name+"-"+styleName(s)+".txt", out)
			}
		})
	}
	narrowest := Style{Width: minWidth}
	for _, out := range drivePrints(t, narrowest) {
		narrow(t, out, minWidth)
		assert.NotContains(t, out, "\x07")
		assert.NotContains(t, out, "\x1b")
	}
	imperial := drivePrints(t, Style{Width: 80, Imperial: true})
	assert.Contains(t, imperial["rings"], "3.2 mph", "2.29 m × 32 / 51 in a second")
	assert.Contains(t, imperial["lives"], "1,060 mi,", "1,700 km")
	assert.Contains(t, imperial["setup"], "52.5 mm")
}

// What nobody entered is not shown as nought.
func TestDriveUnknown(t *testing.T) {
	var b strings.Builder
	require.NoError(t, Setup(&b, SetupPage{Bike: "x", Guided: true}, Style{}))
	assert.Contains(t, b.String(), "Nothing is recorded of it.")
	b.Reset()
	require.NoError(t, Rings(&b, RingsPage{Bike: "x", Advice: wear.Rings(wear.RingQuery{})}, Style{}))
	assert.Contains(t, b.String(), "Nothing is known of its drive.")
	assert.Contains(t, b.String(), "No ring can be named yet that fits.")
	b.Reset()
	require.NoError(t, PartLife(&b, nil, false, Style{}))
	assert.Contains(t, b.String(), "Only parts that wore out or broke")
	bare := someBikes(t)[1]
	bare.Setup, bare.Rings = &SetupPage{}, &RingsPage{Advice: wear.Rings(wear.RingQuery{})}
	b.Reset()
	require.NoError(t, Bike(&b, bare, nil, Style{}))
	assert.NotContains(t, b.String(), "chain guide", "there is none")
	assert.Contains(t, b.String(), "pawl asks: how many teeth has the ring that is on?")
}

func TestDriveJSONKeepsThePromise(t *testing.T) {
	setup := object(t, func(b *bytes.Buffer) error { return SetupJSON(b, someSetup(t), Style{}) })
	assert.JSONEq(t, `true`, string(setup["check_due"]))
	assert.JSONEq(t, `{"shifting":"passed","no_rub":"failed","clearance":null}`, string(fields(t, setup["setup"])["parking_lot"]))
	assert.JSONEq(t, `"2026-04-02T20:00:00Z"`, string(setup["set"]))
	assert.Len(t, items(t, setup["records"]), shownRecords+1, "all of them")
	assert.JSONEq(t, `3`, string(fields(t, setup["setup"])["ring_offset"]))
	none := object(t, func(b *bytes.Buffer) error { return SetupJSON(b, SetupPage{Guided: true}, Style{}) })
	assert.JSONEq(t, `false`, string(none["check_due"]))
	assert.JSONEq(t, `null`, string(none["set"]))
	assert.JSONEq(t, `[]`, string(none["records"]))

	rings := object(t, func(b *bytes.Buffer) error { return RingsJSON(b, someRings()) })
	choices := items(t, rings["rings"])
	require.Len(t, choices, 5)
	assert.Equal(t, []string{"model", "teeth", "same", "percent", "speed", "gears", "chain", "radius", "move", "chain_line", "notes"}, keys(t, choices[0]))
	assert.JSONEq(t, `-12.5`, string(fields(t, choices[0])["percent"]), "28 of 32")
	assert.JSONEq(t, `{"cog":51,"was":1.4369,"now":1.2573}`, string(items(t, fields(t, choices[0])["gears"])[11]), "2.29 m × 28 / 51")
	assert.Len(t, items(t, rings["refused"]), 1)
	assert.JSONEq(t, `"--ring-mount 104/4 or direct"`, string(fields(t, items(t, rings["questions"])[0])["do"]))
	assert.Len(t, items(t, rings["first"]), 2)

	lives := items(t, object(t, func(b *bytes.Buffer) error { return PartLifeJSON(b, someLives(t)) })["lives"])
	require.Len(t, lives, 4)
	assert.JSONEq(t, `{"at":346789,"from":300111,"to":401999}`, string(fields(t, lives[0])["median"]))
	assert.JSONEq(t, `[{"cause":"worn","n":21},{"cause":"broke","n":1},{"cause":null,"n":9}]`, string(fields(t, lives[0])["endings"]))
	assert.JSONEq(t, `{"at":1700000,"from":900000,"to":null}`, string(fields(t, lives[1])["median"]), "no upper end")
	assert.JSONEq(t, `null`, string(fields(t, lives[1])["b10"]))
	assert.JSONEq(t, `null`, string(fields(t, lives[2])["shape"]))
	assert.JSONEq(t, `"2 of 9 parts wore out or broke"`, string(fields(t, lives[2])["refused"]))
}

func TestDriveCSV(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, RingsCSV(&b, someRings()))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 7)
	assert.Equal(t, []string{"Kestrel 3", "", "28", "yes", "-12.5"}, rows[1][:5])
	assert.Equal(t, []string{"33", "no"}, rows[6][2:4])
	b.Reset()
	require.NoError(t, PartLifeCSV(&b, someLives(t)))
	rows, err = csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 5)
	assert.Equal(t, "'=cmd()", rows[4][1])
	assert.Equal(t, []string{"2.4567", "402345", "346789", "300111", "401999", "161234", "120000", "190000", "no", ""}, rows[1][9:])
	assert.Equal(t, []string{"", "", "", "yes", ""}, rows[2][14:], "no B10")
}
