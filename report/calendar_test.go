package report

import (
	"fmt"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	ics "github.com/arran4/golang-ical"
	goical "github.com/emersion/go-ical"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

func calendarOf(t *testing.T, findings []wear.Finding, o CalendarOptions) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, Calendar(&b, findings, o))
	return b.String()
}

// happening is an event as a calendar program understands it.
type happening struct {
	uid, start, end, sequence, stamp, modified, transp, summary, description string
	action, trigger, alarm                                                   string
}

// byFirst reads a calendar with golang-ical.
func byFirst(t *testing.T, text string) []happening {
	t.Helper()
	cal, err := ics.ParseCalendar(strings.NewReader(text))
	require.NoError(t, err)
	var out []happening
	for _, e := range cal.Events() {
		require.Len(t, e.Alarms(), 1)
		get := func(p ics.ComponentProperty) string { return e.GetProperty(p).Value }
		alarm := func(p ics.ComponentProperty) string { return e.Alarms()[0].GetProperty(p).Value }
		out = append(out, happening{
			get("UID"), get("DTSTART"), get("DTEND"), get("SEQUENCE"), get("DTSTAMP"), get("LAST-MODIFIED"), get("TRANSP"), get("SUMMARY"),
			get("DESCRIPTION"), alarm("ACTION"), alarm("TRIGGER"), alarm("DESCRIPTION"),
		})
	}
	return out
}

// bySecond reads a calendar with emersion/go-ical.
func bySecond(t *testing.T, text string) []happening {
	t.Helper()
	cal, err := goical.NewDecoder(strings.NewReader(text)).Decode()
	require.NoError(t, err)
	var out []happening
	for _, e := range cal.Events() {
		require.Len(t, e.Children, 1)
		require.Equal(t, "VALARM", e.Children[0].Name)
		text := func(c *goical.Component, name string) string {
			s, err := c.Props.Text(name)
			require.NoError(t, err)
			return s
		}
		value := func(c *goical.Component, name string) string { return c.Props.Get(name).Value }
		c, a := e.Component, e.Children[0]
		for _, name := range []string{"DTSTART", "DTEND"} {
			assert.Equal(t, goical.ValueDate, c.Props.Get(name).ValueType(), "a day, no hour (RFC 5545, 3.3.4)")
		}
		out = append(out, happening{
			text(c, "UID"), value(c, "DTSTART"), value(c, "DTEND"), value(c, "SEQUENCE"), value(c, "DTSTAMP"), value(c, "LAST-MODIFIED"),
			text(c, "TRANSP"), text(c, "SUMMARY"), text(c, "DESCRIPTION"), text(a, "ACTION"), value(a, "TRIGGER"), text(a, "DESCRIPTION"),
		})
	}
	return out
}

// happenings reads a calendar with both parsers, which must agree.
func happenings(t *testing.T, text string) []happening {
	t.Helper()
	folded(t, text)
	first := byFirst(t, text)
	require.Equal(t, first, bySecond(t, text))
	return first
}

// folded checks the bytes: CRLF at every end of line and nowhere else, at most
// 75 octets a line (RFC 5545, 3.1), no letter cut in two.
func folded(t *testing.T, text string) {
	t.Helper()
	require.True(t, strings.HasSuffix(text, "END:VCALENDAR\r\n"))
	for _, line := range strings.Split(strings.TrimSuffix(text, "\r\n"), "\r\n") {
		assert.LessOrEqual(t, len(line), 75, "%q", line)
		assert.True(t, utf8.ValidString(line), "%q", line)
		assert.NotContains(t, line, "\r")
		assert.NotContains(t, line, "\n")
		assert.NotEmpty(t, line)
	}
}

func TestCalendarGolden(t *testing.T) {
	text := calendarOf(t, seasonReminder(t).Findings, CalendarOptions{Name: "Mill Lane; Cycles, Bikes", Now: sampleDay.Time()})
	golden(t, "jobs.ics", strings.ReplaceAll(text, "\r\n", "\n"))
	assert.True(t, strings.HasPrefix(text, "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//pawl//jobs//EN\r\nCALSCALE:GREGORIAN\r\n"), "RFC 5545, 3.6 and 3.7")
	assert.Contains(t, text, `X-WR-CALNAME:Mill Lane\; Cycles\, Bikes`, "escaped (RFC 5545, 3.3.11)")
	assert.NotContains(t, text, "METHOD", "a file to import, no invitation (RFC 5545, 3.7.2)")
	assert.Equal(t, strings.Count(text, "BEGIN:VEVENT"), len(happenings(t, text)))
}

func TestCalendarEvents(t *testing.T) {
	r := seasonReminder(t)
	events := happenings(t, calendarOf(t, r.Findings, CalendarOptions{Now: sampleDay.Time()}))
	got := map[string]happening{}
	for _, e := range events {
		require.NotContains(t, got, e.uid, "unique (RFC 5545, 3.8.4.7)")
		got[e.uid] = e
		assert.Equal(t, "TRANSPARENT", e.transp, "takes no time (RFC 5545, 3.8.2.7)")
		assert.Equal(t, "20260514T180000Z", e.stamp, "UTC (RFC 5545, 3.8.7.2)")
		assert.Equal(t, e.stamp, e.modified)
		assert.Equal(t, "DISPLAY", e.action, "RFC 5545, 3.6.6")
		assert.Equal(t, e.summary, e.alarm, "it must say what it shows (RFC 5545, 3.6.6)")
		assert.True(t, strings.HasSuffix(e.description, wear.Caution+"."))
	}
	require.Len(t, got, 8, "all but the fork, which was declined")

	stop := got["3-65-check@pawl.invalid"]
	assert.Equal(t, "STOP: do not ride – Kestrel 3, guide-bolts-1: check the torque of the guide bolts", stop.summary)
	assert.Equal(t, []string{"20260514", "20260515", "PT9H"}, []string{stop.start, stop.end, stop.trigger})
	assert.Equal(t, "The first check after the fit is missed by 5.2 h of riding (10.2 of 5 h).\n"+
		"Check the guide bolts' torque to the maker's figure, and write it with its unit.\n"+
		"To clear it: check the guide bolts and sign it off with the torque. The maker's manual wins; if in doubt, ask a qualified mechanic.\n"+
		"Caution – "+torqueCaution+".\n"+wear.Caution+".", stop.description)

	pads := got["c-68-change@pawl.invalid"]
	assert.Equal(t, "Hire 12, rear-pads-4: change the rear pads (order part)", pads.summary)
	assert.Equal(t, []string{"20260526", "20260527", "-P1D"}, []string{pads.start, pads.end, pads.trigger})
	assert.Contains(t, pads.description, "\nExpected: about 26 May (18 May – 9 Jun).\n")
	assert.Equal(t, "Plover, rear-sealant-1: top up the sealant of the rear tyre", got["1-69-top-up@pawl.invalid"].summary)
}

func TestCalendarDays(t *testing.T) {
	kiritimati := time.FixedZone("", 14*3600)
	at := func(when string) *wear.Instant { return ptr(on(t, when)) }
	tests := []struct {
		name string
		f    wear.Finding
		zone *time.Location
		want string // empty: no event
	}{
		{"stop is of today, whatever its date", wear.Finding{Verdict: wear.Stop, Date: wear.Dates{P50: at("2026-08-01 12:00")}}, nil, "20260514"},
		{"due without a date", wear.Finding{Verdict: wear.Due}, nil, "20260514"},
		{"today by the zone's clock", wear.Finding{Verdict: wear.Due}, kiritimati, "20260515"},
		{"order", wear.Finding{Verdict: wear.Order, Date: wear.Dates{P50: at("2026-06-01 12:00")}}, nil, "20260601"},
		{"by the zone's clock", wear.Finding{Verdict: wear.Order, Date: wear.Dates{P50: at("2026-06-01 12:00")}}, kiritimati, "20260602"},
		{"order that has come", wear.Finding{Verdict: wear.Order, Date: wear.Dates{P50: at("2026-05-01 12:00")}}, nil, "20260514"},
		{"order of which no day is known", wear.Finding{Verdict: wear.Order, Date: wear.Dates{P10: at("2026-06-01 12:00")}}, nil, ""},
		{"fine", wear.Finding{Date: wear.Dates{P50: at("2026-12-31 12:00")}}, nil, "20261231"},
		{"fine beyond what it lasts", wear.Finding{Share: 1.2, Date: wear.Dates{P50: at("2026-05-14 18:00")}}, nil, ""},
		{"fine since it was declined", wear.Finding{Declined: 1, Date: wear.Dates{P50: at("2026-12-31 12:00")}}, nil, ""},
		{"declined, but asked for", wear.Finding{Verdict: wear.Due, Declined: 1}, nil, "20260514"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.f.Bike, tt.f.Part, tt.f.Title, tt.f.Job = "Plover", "chain-1", "change the chain", "change"
			var b strings.Builder
			err := Calendar(&b, []wear.Finding{tt.f}, CalendarOptions{Now: sampleDay.Time(), Zone: tt.zone})
			if tt.want == "" {
				require.ErrorIs(t, err, ErrNoDates)
				assert.Empty(t, b.String())
				return
			}
			require.NoError(t, err)
			assert.Equal(t, tt.want, happenings(t, b.String())[0].start)
		})
	}
}

func TestALaterCalendarMovesItsEvents(t *testing.T) {
	fs := seasonReminder(t).Findings
	before := happenings(t, calendarOf(t, fs, CalendarOptions{Now: sampleDay.Time()}))
	week := 7 * 24 * time.Hour
	for i := range fs {
		fs[i].Part += "-renamed"
		if p := fs[i].Date.P50; p != nil {
			fs[i].Date.P50 = ptr(*p + 7*wear.Day)
		}
	}
	after := happenings(t, calendarOf(t, fs, CalendarOptions{Now: sampleDay.Time().Add(week), Imperial: true}))
	require.Len(t, after, len(before))
	for i, e := range after {
		assert.Equal(t, before[i].uid, e.uid)
		day, err := time.Parse("20060102", before[i].start)
		require.NoError(t, err)
		assert.Equal(t, day.Add(week).Format("20060102"), e.start)
		assert.Greater(t, number64(t, e.sequence), number64(t, before[i].sequence), "RFC 5545, 3.8.7.4")
		assert.LessOrEqual(t, number64(t, e.sequence), int64(1)<<31-1, "RFC 5545, 3.3.8")
		assert.Greater(t, e.stamp, before[i].stamp)
	}
}

func number64(t *testing.T, s string) int64 {
	t.Helper()
	var n int64
	_, err := fmt.Sscan(s, &n)
	require.NoError(t, err)
	return n
}

func TestEventUID(t *testing.T) {
	f := wear.Finding{BikeID: 1<<32 + 3, PartID: 1<<32 + 255, Kind: "chain", Job: "change"}
	uid := eventUID(&f)
	assert.Equal(t, "100000003-1000000ff-change@pawl.invalid", uid)
	f.Bike, f.Part, f.Title, f.Verdict = "another name", "x", "y", wear.Stop
	assert.Equal(t, uid, eventUID(&f), "names and verdicts do not move it")
	f.Job = "Ünsafe\r\nX"
	assert.Regexp(t, `^100000003-1000000ff-[0-9a-f]{16}@pawl\.invalid$`, eventUID(&f))
	a, b := wear.Finding{BikeID: 1, Kind: "frame", Job: "look"}, wear.Finding{BikeID: 1, Kind: "fork", Job: "look"}
	assert.NotEqual(t, eventUID(&a), eventUID(&b), "parts that the book lacks")
}

func TestCalendarOfNothing(t *testing.T) {
	var b strings.Builder
	require.ErrorIs(t, Calendar(&b, nil, CalendarOptions{Now: sampleDay.Time()}), ErrNoDates)
	assert.Empty(t, b.String())
}
