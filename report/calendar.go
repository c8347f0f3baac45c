package report

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"pawl/wear"
)

// CalendarOptions say how a calendar is written.
type CalendarOptions struct {
	Name     string         // as calendar programs show it; may be empty
	Now      time.Time      // when it is written; its day is today
	Zone     *time.Location // of days; nil = UTC
	Imperial bool           // miles and feet
}

// ErrNoDates is returned when no finding has a date: a calendar file must hold
// one event at least (RFC 5545, 3.6).
var ErrNoDates = errors.New("calendar: nothing has a date")

// Calendar writes an all-day event for each finding that has a date (RFC 5545):
// what is stop or due is of today, the rest of the day on which its limit is
// expected. What is fine and was declined, or is past what such a part usually
// lasts, is asked for on no day. An event's UID stays, so that a later calendar
// moves it and does not double it.
func Calendar(w io.Writer, findings []wear.Finding, o CalendarOptions) error {
	s := Style{Imperial: o.Imperial, Zone: o.Zone}
	c := &calendarPage{duePage: duePage{page: page{Style: s}, today: wear.At(o.Now)}, now: o.Now, cal: ics.NewCalendar()}
	c.cal.SetProductId("-//pawl//jobs//EN")
	c.cal.SetCalscale("GREGORIAN")
	if name := bounded(o.Name, longName); name != "" {
		c.cal.SetName(name)
	}
	for i := range findings {
		c.add(&findings[i])
	}
	if len(c.cal.Components) == 0 {
		return ErrNoDates
	}
	var b bytes.Buffer
	if err := c.cal.SerializeTo(&b, ics.WithNewLineWindows); err != nil { // on every system (RFC 5545, 3.1)
		return fmt.Errorf("calendar: %w", err)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// calendarPage is a calendar in the making.
type calendarPage struct {
	duePage
	now time.Time
	cal *ics.Calendar
}

// add puts a finding into the calendar unless no day belongs to it.
func (c *calendarPage) add(f *wear.Finding) {
	day, ok := c.eventDay(f)
	if !ok {
		return
	}
	e := c.cal.AddEvent(eventUID(f))
	e.SetDtStampTime(c.now)
	e.SetModifiedAt(c.now)
	e.SetSequence(int(max(0, c.now.Unix()/60))) // minutes: grows for 4,000 years within the 32 bits of RFC 5545, 3.3.8
	e.SetAllDayStartAt(day)
	e.SetAllDayEndAt(day.AddDate(0, 0, 1)) // the first day after it (RFC 5545, 3.6.1)
	e.SetProperty(ics.ComponentPropertyTransp, "TRANSPARENT")
	e.SetSummary(summary(f))
	e.SetDescription(c.description(f))
	a := e.AddAlarm()
	a.SetAction(ics.ActionDisplay)
	a.SetProperty(ics.ComponentPropertyDescription, summary(f))
	if day.Equal(c.dayOf(c.today)) {
		a.SetTrigger("PT9H") // nine in the morning
	} else {
		a.SetTrigger("-P1D")
	}
}

// eventDay is the day of a finding's event, at its midnight in UTC.
func (c *calendarPage) eventDay(f *wear.Finding) (time.Time, bool) {
	today := c.dayOf(c.today)
	switch {
	case f.Verdict >= wear.Due:
		return today, true
	case f.Date.P50 == nil, over(f), f.Verdict == wear.Fine && f.Declined != 0:
		return time.Time{}, false
	}
	if day := c.dayOf(*f.Date.P50); day.After(today) {
		return day, true
	}
	return today, true
}

// dayOf is the calendar day of an instant in the zone, as a midnight in UTC.
func (c *calendarPage) dayOf(i wear.Instant) time.Time {
	y, m, d := i.Time().In(c.zone()).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// summary is the event in one line.
func summary(f *wear.Finding) string {
	what := bounded(f.Bike, longName) + ", " + bounded(f.Part, longName) + ": " + bounded(f.Title, longNote)
	switch f.Verdict {
	case wear.Stop:
		return f.Verdict.Words() + " – " + what
	case wear.Fine:
		return what
	}
	return what + " (" + f.Verdict.Words() + ")"
}

// description is why, how, and what to mind.
func (c *calendarPage) description(f *wear.Finding) string {
	c.minded = map[string]string{} // every event stands alone
	lines := []string{c.grounds(f)}
	if when := c.when(f); when != "" {
		lines = append(lines, "Expected: about "+when+".")
	}
	lines = append(lines, bounded(sentence(f.Advice), longText))
	if f.Verdict == wear.Stop {
		lines = append(lines, bounded(clearing(f), longText))
	}
	lines = append(lines, c.letterCaution(f), sentence(wear.Caution))
	lines = slices.DeleteFunc(lines, func(l string) bool { return l == "" })
	return strings.Join(lines, "\n")
}

// plainJob is a name of a job that can stand in a UID as it is.
var plainJob = onUse(`^[a-z0-9-]{1,40}$`)

// eventUID names the event of a finding for good (RFC 5545, 3.8.4.7). Numbers of
// bikes and parts are the book's own, so that those of two books never meet.
func eventUID(f *wear.Finding) string {
	part := fmt.Sprintf("%x", uint64(f.PartID))
	if f.PartID == 0 {
		part = "no-" + uidWord(f.Kind) // a part that the book lacks
	}
	return fmt.Sprintf("%x-%s-%s@pawl.invalid", uint64(f.BikeID), part, uidWord(f.Job))
}

func uidWord(s string) string {
	if plainJob().MatchString(s) {
		return s
	}
	return fmt.Sprintf("%x", sha256.Sum256([]byte(s)))[:16]
}
