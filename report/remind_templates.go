package report

import (
	"errors"
	"fmt"
	"html"
	htmltemplate "html/template"
	"io"
	"io/fs"
	"strings"
	texttemplate "text/template"
	"unicode/utf8"
)

// The files of a folder of templates.
const (
	subjectFile = "subject.txt"
	textFile    = "message.txt"
	htmlFile    = "message.html"
)

// longTemplate is the most bytes of a template: far more than a message needs.
const longTemplate = 1 << 20

// Templates are the wording of reminders, known to work.
type Templates struct {
	subject, text *texttemplate.Template
	html          *htmltemplate.Template
}

// ParseTemplates reads templates from a folder: nil for the shipped ones, which
// also stand in for each file that the folder lacks. Every template is tried on
// messages of all sorts, so that a broken one is found before anything is sent;
// the error names its file and line.
func ParseTemplates(dir fs.FS) (*Templates, error) {
	sources, err := templateSources(dir)
	if err != nil {
		return nil, err
	}
	t := &Templates{}
	if t.subject, err = texttemplate.New(subjectFile).Parse(sources[subjectFile]); err != nil {
		return nil, placed(err)
	}
	if t.text, err = texttemplate.New(textFile).Parse(sources[textFile]); err != nil {
		return nil, placed(err)
	}
	if t.html, err = htmltemplate.New(htmlFile).Parse(sources[htmlFile]); err != nil {
		return nil, placed(err)
	}
	for _, r := range sampleReminders() {
		if _, _, _, err := t.Compose(r); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// templateSources reads the three files, each from the folder or as shipped.
func templateSources(dir fs.FS) (map[string]string, error) {
	sources, own := map[string]string{}, 0
	for _, name := range []string{subjectFile, textFile, htmlFile} {
		src, err := fs.ReadFile(ShippedTemplates(), name)
		if err != nil {
			return nil, fmt.Errorf("template %q: %w", name, err)
		}
		if dir != nil {
			switch mine, err := fs.ReadFile(dir, name); {
			case err == nil:
				src, own = mine, own+1
			case !errors.Is(err, fs.ErrNotExist):
				return nil, fmt.Errorf("template %q: %w", name, err)
			}
		}
		if len(src) > longTemplate || !utf8.Valid(src) {
			return nil, fmt.Errorf("template %q: is no text in UTF-8 of at most %d KiB", name, longTemplate>>10)
		}
		sources[name] = strings.TrimPrefix(string(src), "\ufeff") // some editors put it there
	}
	if dir != nil && own == 0 {
		return nil, fmt.Errorf("folder of templates: holds none of %s, %s and %s", subjectFile, textFile, htmlFile)
	}
	return sources, nil
}

// render fills one template.
func render(t interface{ Execute(io.Writer, any) error }, l letter) (string, error) {
	var b strings.Builder
	if err := t.Execute(&b, l); err != nil {
		return "", placed(err)
	}
	return b.String(), nil
}

// place is where the template packages say file and line: "template:
// message.txt:12:5: …", "html/template:message.html:3: …", or only the file,
// where something is wrong at its end.
var place = onUse(`(?s)^(?:html/)?template: ?([^:\s]+):(?:(\d+):(?:\d+:)?)? (.*)$`)

// placed says file and line of an error of a template in the words of this program.
func placed(err error) error {
	m := place().FindStringSubmatch(err.Error())
	switch {
	case m == nil:
		return fmt.Errorf("templates: %w", err)
	case m[2] == "":
		return fmt.Errorf("template %q, at its end: %s", m[1], clean(m[3]))
	}
	return fmt.Errorf("template %q, line %s: %s", m[1], m[2], clean(m[3]))
}

// unescape is HTML with its entities read and its tags left in.
func unescape(text string) string { return html.UnescapeString(text) }
