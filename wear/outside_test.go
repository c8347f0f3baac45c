package wear

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// rows reads a table of outside check values: `#` lines name its sources, the
// first other line its columns.
func rows(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", "checks", name))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment, r.FieldsPerRecord = '#', -1
	all, err := r.ReadAll()
	require.NoError(t, err)
	var list []map[string]string
	for _, rec := range all[1:] {
		row := map[string]string{}
		for i, v := range rec {
			row[all[0][i]] = v
		}
		list = append(list, row)
	}
	require.NotEmpty(t, list, name)
	return list
}

func figure(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// Published: table "Pitch diameter of roller chain wheels", 1-inch pitch, mm to
// two decimals (tandwiel.info); formula of ISO 606 annex A. The table's
// rounding is all that may differ.
func TestPitchDiametersAgainstAPublishedTable(t *testing.T) {
	seen := 0
	for _, row := range rows(t, "pitch_diameter.csv") {
		z := int(figure(t, row["teeth"]))
		if z < 9 || z > 52 {
			continue
		}
		seen++
		inch := PitchDiameter(z) * 25.4 / Pitch
		assert.InDelta(t, figure(t, row["published_mm_1in_pitch"]), inch, 0.005, "%d teeth", z)
		assert.InDelta(t, figure(t, row["pd_mm_12_7"]), PitchDiameter(z), 0.5e-4, "%d teeth", z)
		assert.Greater(t, math.Abs(figure(t, row["arc_approx_mm_12_7"])-PitchDiameter(z)), 0.05, "%d teeth: the arc is another circle", z)
	}
	assert.Equal(t, 44, seen)
}

// Sources in the table, row by row: workshop pages, a lab test, an
// encyclopaedia, own arithmetic.
func TestElongationArithmetic(t *testing.T) {
	for _, row := range rows(t, "elongation.csv") {
		nominal, measured := figure(t, row["nominal_mm"]), figure(t, row["measured_mm"])
		pitches := int(math.Round(nominal / Pitch))
		assert.InDelta(t, figure(t, row["elongation_pct"]), PercentElongated(measured, pitches), 1e-6, row["case"])
	}
}

// Computed exactly from z × 12.7 mm and 360/z.
func TestChainKinematics(t *testing.T) {
	for _, row := range rows(t, "chain_kinematics.csv") {
		z := int(figure(t, row["ring"]))
		assert.InDelta(t, figure(t, row["m_per_rev"]), ChainTravel(1, z), 1e-9)
		assert.InDelta(t, figure(t, row["v_ms_90rpm"]), ChainTravel(90.0/60, z), 0.5e-5)
		assert.InDelta(t, figure(t, row["pitch_radius_mm"]), PitchDiameter(z)/2, 0.5e-4)
		assert.InDelta(t, figure(t, row["articulation_deg"]), Articulation(z), 0.5e-4)
	}
}

// Unit conversions: NIST SP 811 B.8 (from memory) and published unit libraries.
func TestTorqueConversion(t *testing.T) {
	seen := 0
	for _, row := range rows(t, "torque.csv") {
		v := figure(t, row["value"])
		switch name := row["name"]; name {
		case "N_m_per_inlbf":
			assert.InEpsilon(t, v, NmPerInLb, 1e-12)
		case "inlbf_per_N_m":
			assert.InEpsilon(t, v, 1/NmPerInLb, 1e-12)
		case "4_N_m_in_inlbf", "5_N_m_in_inlbf", "6_N_m_in_inlbf", "8_N_m_in_inlbf", "10_N_m_in_inlbf", "12_N_m_in_inlbf":
			nm, err := ParseTorque(row["value"] + " in·lb")
			require.NoError(t, err)
			assert.InDelta(t, figure(t, name[:len(name)-len("_N_m_in_inlbf")]), nm, 1e-5, name)
		default:
			continue
		}
		seen++
	}
	assert.Equal(t, 8, seen)
}

func TestParseTorque(t *testing.T) {
	for text, want := range map[string]float64{"8Nm": 8, "8 N·m": 8, "5.5 nm": 5.5, "5,5Nm": 5.5, "8 N.m": 8, "70.806in-lb": 8, "71 inlb": 71 * NmPerInLb, "44 lbf-in": 44 * NmPerInLb, "50 in·lbf": 50 * NmPerInLb} {
		nm, err := ParseTorque(text)
		require.NoError(t, err, text)
		assert.InDelta(t, want, nm, 1e-4, text)
	}
	for text, want := range map[string]string{"8": "write its unit", "": "write it as", "8 kg": "write it as", "6 ft·lb": "12 in·lb", "900Nm": "no torque of a bike's bolt", "-4Nm": "write it as", "0Nm": "no torque"} {
		_, err := ParseTorque(text)
		assert.ErrorContains(t, err, want, text)
	}
	assert.Equal(t, "8 N·m (71 in·lb)", Torque(8))
	assert.Equal(t, 5.0, LowerTorque(5, 8))
	assert.Equal(t, 8.0, LowerTorque(0, 8), "not given is not lower")
}
