package desk

import (
	"os"
	"strings"
	"time"

	"pawl/wear"
)

// instantForms are the ways to write an instant in the book's zone; a bare
// date is the end of that day.
var instantForms = []string{"2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02 15:04"}

const (
	dateForm = "2006-01-02"
	dateTip  = "write a date as 2026-05-17, with a time as 2026-05-17T18:30"
)

// when reads the instant that a user typed: "" is now.
func (d *Desk) when(text string, zone *time.Location) (wear.Instant, error) {
	if text == "" {
		return wear.At(d.Now), nil
	}
	at, err := parseInstant(text, zone)
	if err != nil {
		return 0, err
	}
	if now := wear.At(d.Now); at > now {
		if !bare(text) || at > wear.EndOfDay(d.Now, zone) {
			return 0, mistake("a fact is dated now or earlier", "date %q is in the future", text)
		}
		return now, nil // today is not over
	}
	return at, nil
}

// today reads the day that figures depend on: "" is now, a bare date the end
// of that day.
func (d *Desk) today(text string, zone *time.Location) (wear.Instant, error) {
	if text == "" {
		return wear.At(d.Now), nil
	}
	return parseInstant(text, zone)
}

// bare reports whether a date has no time of day.
func bare(text string) bool {
	_, err := time.Parse(dateForm, strings.TrimSpace(text))
	return err == nil
}

func parseInstant(text string, zone *time.Location) (wear.Instant, error) {
	text = strings.TrimSpace(text)
	if t, err := time.Parse(dateForm, text); err == nil {
		return inRange(text, wear.StartOfDay(t.Year(), t.Month(), t.Day()+1, zone)-1)
	}
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return inRange(text, wear.At(t))
	}
	for _, form := range instantForms {
		if t, err := time.ParseInLocation(form, text, zone); err == nil {
			return inRange(text, wear.At(t))
		}
	}
	return 0, mistake(dateTip, "date %q: not a date", text)
}

// inRange refuses years in which nobody rode a bike with a chain, or will.
func inRange(text string, at wear.Instant) (wear.Instant, error) {
	if y := at.Time().Year(); y < 1970 || y > 2200 {
		return 0, mistake(dateTip, "date %q: the year %d cannot be meant", text, y)
	}
	return at, nil
}

// LocalZone is the name of this machine's time zone, for a book that is made
// now; UTC where the machine does not tell.
func LocalZone() string {
	candidates := []string{strings.TrimPrefix(os.Getenv("TZ"), ":")}
	if link, err := os.Readlink("/etc/localtime"); err == nil {
		if _, name, ok := strings.Cut(link, "zoneinfo/"); ok {
			candidates = append(candidates, name)
		}
	}
	for _, name := range candidates {
		if _, err := time.LoadLocation(name); err == nil && name != "" && name != "Local" {
			return name
		}
	}
	return "UTC"
}
