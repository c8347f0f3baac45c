package report

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"time"

	"pawl/wear"
)

// Reminder is one message to one person about all of the person's bikes.
type Reminder struct {
	Shop     Shop
	Person   wear.Person
	Findings []wear.Finding          // what to tell; of those that are fine only the declined ones are
	Visits   map[string]wear.Instant // name of a bike -> the day on which it is expected
	Today    wear.Instant
	Zone     *time.Location // of dates; nil = UTC
}

// mailWidth is the columns of the plain text: what every mail program shows
// without breaking lines anew, also on a phone held upright.
const mailWidth = 60

// longSubject is the most columns of a subject.
const longSubject = 100

//go:embed remind/*.txt remind/*.html
var remindFiles embed.FS

// ShippedTemplates is the folder of templates that come with the program:
// subject.txt, message.txt and message.html.
func ShippedTemplates() fs.FS {
	dir, err := fs.Sub(remindFiles, "remind")
	if err != nil {
		panic(err) // the name is a constant
	}
	return dir
}

// Compose writes the message: one line of subject, the plain text wrapped at
// 60 columns, and the same as HTML. It fails where there is nothing to tell, or
// where a template does.
func (t *Templates) Compose(r Reminder) (subject, text, html string, err error) {
	l := newLetter(r)
	if l.Jobs == 0 {
		return "", "", "", fmt.Errorf("reminder for %q: nothing to tell", l.Name)
	}
	if l.StopMail == "" && l.StopURL == "" {
		return "", "", "", fmt.Errorf("shop %q: gives no address, so nobody could stop its messages", l.Shop.Name)
	}
	return t.fill(l)
}

// fill runs the three templates.
func (t *Templates) fill(l letter) (subject, text, html string, err error) {
	if subject, err = render(t.subject, l); err != nil {
		return "", "", "", err
	}
	if subject = bounded(subject, longSubject); subject == "" {
		return "", "", "", fmt.Errorf("template %q: gives an empty subject", subjectFile)
	}
	if text, err = render(t.text, l); err != nil {
		return "", "", "", err
	}
	if html, err = render(t.html, l); err != nil {
		return "", "", "", err
	}
	text = flow(text, mailWidth)
	return subject, text, html, errors.Join(l.missing(textFile, text), l.missing(htmlFile, html))
}

// missing is an error where a filled template lacks what no message may lack.
func (l letter) missing(file, out string) error {
	out = strings.Join(strings.Fields(unescape(out)), " ")
	if !strings.Contains(out, l.Caution) {
		return fmt.Errorf("template %q: does not show {{.Caution}}, which every message must", file)
	}
	shows := func(address string) bool { return address != "" && strings.Contains(out, address) }
	if !shows(l.StopMail) && !shows(l.StopURL) {
		return fmt.Errorf("template %q: shows neither {{.StopMail}} nor {{.StopURL}}: a message must say how to stop them", file)
	}
	return nil
}
