package report

import (
	"io"

	"pawl/wear"
)

type setupJSON struct {
	Known    bool              `json:"known"`
	Setup    setupRecordJSON   `json:"setup"`
	Set      *string           `json:"set"`
	Checked  *string           `json:"checked"`
	CheckDue bool              `json:"check_due"`
	Why      []string          `json:"why"`
	Wrong    []string          `json:"wrong"`
	Angles   []angleJSON       `json:"chain_angles"`
	Torque   *float64          `json:"maker_torque"` // N·m
	Records  []setupRecordJSON `json:"records"`
	Cautions []string          `json:"cautions"`
}

type setupRecordJSON struct {
	At           *string   `json:"at"`
	Mount        *string   `json:"mount"`
	Spacers      []float64 `json:"spacers"`    // mm
	Torques      []float64 `json:"torques"`    // N·m
	ChainLine    *float64  `json:"chain_line"` // mm
	Angle        *float64  `json:"angle"`      // degrees
	Lower        *string   `json:"lower"`
	Ring         *float64  `json:"ring"`
	GuideLeast   *float64  `json:"guide_least"`
	GuideMost    *float64  `json:"guide_most"`
	RearSpacing  *float64  `json:"rear_spacing"` // mm
	Chainstay    *float64  `json:"chainstay"`    // mm
	RingMount    *string   `json:"ring_mount"`
	RingOffset   *float64  `json:"ring_offset"` // mm
	MakerLine    *float64  `json:"maker_line"`  // mm
	FrameMost    *float64  `json:"frame_max"`
	Pitches      *float64  `json:"chain_pitches"`
	CogSpacing   *float64  `json:"cog_spacing"`   // mm
	CassetteLine *float64  `json:"cassette_line"` // mm
	Lot          *lotJSON  `json:"parking_lot"`
	By           *string   `json:"by"`
	Note         *string   `json:"note"`
}

// lotJSON has passed, failed, or null where a point was not checked.
type lotJSON struct {
	Shifting  *string `json:"shifting"`
	NoRub     *string `json:"no_rub"`
	Clearance *string `json:"clearance"`
}

type angleJSON struct {
	Teeth   int      `json:"teeth"`
	Degrees *float64 `json:"degrees"`
}

func (s Style) setupOf(d SetupPage) setupJSON {
	st := d.State
	out := setupJSON{
		Known: d.Known, Setup: s.setupRecord(st.Setup), CheckDue: d.Known && d.Guided && st.CheckDue, Why: []string{}, Wrong: list(st.Warnings),
		Angles: []angleJSON{}, Torque: positive(d.Torque), Records: []setupRecordJSON{}, Cautions: list(d.Cautions),
	}
	if d.Known {
		out.Set, out.Checked = isoTime(st.Set, s.zone()), isoTime(st.Checked, s.zone())
	}
	if out.CheckDue {
		out.Why = list(st.Why)
	}
	for _, a := range st.Angles {
		out.Angles = append(out.Angles, angleJSON{a.Teeth, figureOf(a.Degrees, 2)})
	}
	for _, g := range d.Records {
		out.Records = append(out.Records, s.setupRecord(g))
	}
	return out
}

func (s Style) setupRecord(g wear.GuideSetup) setupRecordJSON {
	d := g.Drive
	out := setupRecordJSON{
		Mount: textOf(string(g.Mount)), Spacers: rounded(g.Spacers), Torques: rounded(g.Torques), ChainLine: positive(g.ChainLine),
		Angle: g.Angle, Lower: textOf(g.Lower), Ring: positive(float64(g.Ring)),
		GuideLeast: positive(float64(d.GuideLeast)), GuideMost: positive(float64(d.GuideMost)),
		RearSpacing: positive(d.Spacing), Chainstay: positive(d.Chainstay), RingMount: textOf(d.RingMount), RingOffset: d.Offset,
		MakerLine: positive(d.MakerLine), FrameMost: positive(float64(d.FrameMost)), Pitches: positive(float64(d.Pitches)),
		CogSpacing: positive(d.CogSpacing), CassetteLine: positive(d.CassetteLine), By: textOf(g.By), Note: textOf(g.Note),
	}
	if g.At != 0 {
		out.At = isoTime(g.At, s.zone())
	}
	if g.Lot != nil {
		out.Lot = &lotJSON{answer(g.Lot.Shifts), answer(g.Lot.NoRub), answer(g.Lot.Clear)}
	}
	return out
}

func rounded(values []float64) []float64 {
	out := []float64{}
	for _, v := range values {
		out = append(out, round(v, 3))
	}
	return out
}

func answer(a wear.Answer) *string {
	return textOf(map[wear.Answer]string{wear.Passed: "passed", wear.Failed: "failed"}[a])
}

// SetupJSON writes how a bike's chain guide is set up as one JSON object.
func SetupJSON(w io.Writer, d SetupPage, s Style) error {
	return writeJSON(w, struct {
		envelope
		Bike string `json:"bike"`
		setupJSON
	}{enclose(nil), d.Bike, s.setupOf(d)})
}
