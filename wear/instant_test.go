package wear

import (
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Days begin and end where the clocks say, also where a day has 23 or 25 hours
// and where midnight does not exist (São Paulo until 2018, Cairo, Beirut; the
// transitions are those of the IANA time zone database).
func TestDaysBeginAndEnd(t *testing.T) {
	for _, c := range []struct{ zone, day, first, last string }{
		{"UTC", "2026-03-03", "2026-03-03T00:00:00.000Z", "2026-03-03T23:59:59.999Z"},
		{"Europe/Berlin", "2026-03-29", "2026-03-28T23:00:00.000Z", "2026-03-29T21:59:59.999Z"},
		{"Europe/Berlin", "2026-10-25", "2026-10-24T22:00:00.000Z", "2026-10-25T22:59:59.999Z"},
		{"America/Sao_Paulo", "2018-11-04", "2018-11-04T03:00:00.000Z", "2018-11-05T01:59:59.999Z"},
		{"America/Sao_Paulo", "2018-11-03", "2018-11-03T03:00:00.000Z", "2018-11-04T02:59:59.999Z"},
		{"Africa/Cairo", "2024-04-26", "2024-04-25T22:00:00.000Z", "2024-04-26T20:59:59.999Z"},
		{"Asia/Kolkata", "2026-03-03", "2026-03-02T18:30:00.000Z", "2026-03-03T18:29:59.999Z"},
	} {
		zone, err := time.LoadLocation(c.zone)
		require.NoError(t, err)
		noon, err := time.ParseInLocation("2006-01-02 15", c.day+" 12", zone)
		require.NoError(t, err)
		y, m, d := noon.Date()
		const form = "2006-01-02T15:04:05.000Z"
		assert.Equal(t, c.first, StartOfDay(y, m, d, zone).Time().Format(form), "%s %s", c.zone, c.day)
		assert.Equal(t, c.last, EndOfDay(noon, zone).Time().Format(form), "%s %s", c.zone, c.day)
	}
}
