package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"pawl/wear"
)

func TestNumber(t *testing.T) {
	tests := []struct {
		v        float64
		decimals int
		want     string
	}{
		{0, 0, "0"}, {999, 0, "999"}, {999.5, 0, "1,000"}, {1000, 0, "1,000"}, {1_234_567.891, 2, "1,234,567.89"},
		{-0.04, 1, "0.0"}, {-1234.5, 1, "-1,234.5"}, {math.NaN(), 1, unknown}, {math.Inf(1), 0, unknown},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, number(tt.v, tt.decimals), "%v", tt.v)
	}
}

// One step either side of each threshold of how precise a figure is.
func TestFigure(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0", 0.04: "0.0", 0.05: "0.1", 5: "5", 9.96: "10.0", 99.94: "99.9", 99.95: "100", 99.96: "100", 1999.6: "2,000",
	} {
		assert.Equal(t, want, figure(v), "%v", v)
	}
}

// A share just below the limit is not shown as the whole of it.
func TestShare(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0 %", 0.994: "99 %", 0.9951: "99 %", 0.99999: "99 %", 1: "100 %", 1.004: "100 %", 1.006: "101 %", 12.5: "1,250 %",
	} {
		assert.Equal(t, want, share(v), "%v", v)
	}
}

// The international yard and pound agreement (1959): 1 mi = 1,609.344 m and
// 1 ft = 0.3048 m, both exact.
func TestUnits(t *testing.T) {
	metric, imperial := Style{}, Style{Imperial: true}
	tests := []struct{ name, got, want string }{
		{"marathon, km", metric.distance(42_195), "42.2 km"},
		{"marathon, mi", imperial.distance(42_195), "26.2 mi"},
		{"a mile", imperial.distance(1609.344), "1 mi"},
		{"just below 100 km", metric.distance(99_940), "99.9 km"},
		{"100 km, rounded up", metric.distance(99_960), "100 km"},
		{"just below 100 mi", imperial.distance(99.94 * 1609.344), "99.9 mi"},
		{"100 mi, rounded up", imperial.distance(99.96 * 1609.344), "100 mi"},
		{"climb, m", metric.height(1000.4), "1,000 m"},
		{"climb, ft", imperial.height(304.8), "1,000 ft"},
		{"climb, ft, half a foot below", imperial.height(304.6), "999 ft"},
		{"torque is never converted", torque(6), "6 N·m"},
		{"torque with a decimal", torque(5.5), "5.5 N·m"},
		{"energy", energy(9_999_000), "9,999 kJ"},
		{"energy, a step up", energy(10_000_000), "10 MJ"},
		{"minutes", clockHours(3600*3 + 5*60), "3:05"},
		{"minutes, rounded to the hour", clockHours(3599.9), "1:00"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.want, tt.got) })
	}
}

func TestUsed(t *testing.T) {
	count := func(used, limit float64, unit string) *wear.Finding {
		return &wear.Finding{Basis: wear.ByCount, Used: used, Limit: limit, Unit: unit}
	}
	reading := &wear.Finding{Basis: wear.ByReading, Used: 0.62, Limit: 0.5, Unit: "%"}
	lining := &wear.Finding{Basis: wear.ByReading, Used: 1.25, Limit: 1, Unit: "mm"}
	metric, imperial := Style{}, Style{Imperial: true}
	tests := []struct {
		s    Style
		f    *wear.Finding
		want string
	}{
		{metric, count(22_320, 90_000, "s"), "6.2 of 25 h"},
		{metric, count(0, 1, "rides"), "0 of 1 ride"},
		{metric, count(999_999, 999_999, "contacts"), "999,999 of 999,999 contacts"},
		{metric, count(430_000, 1_000_000, "turns"), "0.43 of 1 M turns"},
		{metric, count(430_000, 2_000_000, "idler turns"), "0.43 of 2 M idler turns"},
		{metric, count(5_600_000, 8_000_000, "J"), "5.6 of 8 MJ"},
		{metric, count(300_000, 500_000, "m"), "300 of 500 km"},
		{imperial, count(300_000, 500_000, "m"), "186 of 311 mi"},
		{imperial, count(22_320, 90_000, "s"), "6.2 of 25 h"},
		{imperial, reading, "0.62 %, limit 0.5 %"},
		{imperial, lining, "1.25 mm, limit 1 mm"},
		{metric, count(1, 0, "turns"), ""},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, tt.s.used(tt.f))
	}
}
