package report

import (
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

func folder(files ...string) fstest.MapFS {
	dir := fstest.MapFS{}
	for i := 0; i < len(files); i += 2 {
		dir[files[i]] = &fstest.MapFile{Data: []byte(files[i+1])}
	}
	return dir
}

// must is what every template has to show.
const must = "\n{{.Caution}} {{.StopMail}}\n"

func TestTemplatesOfAShopReplaceTheShippedOnes(t *testing.T) {
	tpl, err := ParseTemplates(folder("message.txt", "Dear {{.Name}}, {{.Jobs}} jobs."+must, "README", "ours"))
	require.NoError(t, err)
	subject, text, page, err := tpl.Compose(fullSample())
	require.NoError(t, err)
	assert.Equal(t, "Dear Ida, 3 jobs.\n", text[:strings.Index(text, "\n")+1])
	wantSubject, _, wantPage := compose(t, fullSample())
	assert.Equal(t, wantSubject, subject)
	assert.Equal(t, wantPage, page)
}

func TestTemplatesOfAnyEditor(t *testing.T) {
	src, err := fs.ReadFile(ShippedTemplates(), textFile)
	require.NoError(t, err)
	tpl, err := ParseTemplates(folder("message.txt", "\ufeff"+strings.ReplaceAll(string(src), "\n", "\r\n")))
	require.NoError(t, err)
	_, text, _, err := tpl.Compose(fullSample())
	require.NoError(t, err)
	_, want, _ := compose(t, fullSample())
	assert.Equal(t, want, text)
}

func TestShippedTemplatesCanBeReplacedByThemselves(t *testing.T) {
	for _, name := range []string{subjectFile, textFile, htmlFile} {
		_, err := fs.Stat(ShippedTemplates(), name)
		require.NoError(t, err)
	}
	tpl, err := ParseTemplates(ShippedTemplates())
	require.NoError(t, err)
	subject, text, page, err := tpl.Compose(fullSample())
	require.NoError(t, err)
	wantSubject, wantText, wantPage := compose(t, fullSample())
	assert.Equal(t, []string{wantSubject, wantText, wantPage}, []string{subject, text, page})
}

func TestBrokenTemplates(t *testing.T) {
	huge := strings.Repeat("x", longTemplate+1)
	tests := []struct {
		name, file, src string
		want            []string
	}{
		{"an action that is not closed", "message.txt", "a\n{{if .Jobs}}\nb\n", []string{`template "message.txt", line 4: unexpected EOF`}},
		{"a function that is none", "message.html", "<p>\n\n{{shout .Name}}", []string{`template "message.html", line 3: function "shout" not defined`}},
		{"a field that is none", "message.txt", "a\nb {{.Nmae}}", []string{`template "message.txt", line 2: `, "Nmae"}},
		{"in the subject", "subject.txt", "{{.Bikes.Name}}", []string{`template "subject.txt", line 1: `, "Name"}},
		{"in the HTML", "message.html", "<p>\n{{range .Bikes}}{{range .Jobs}}\n{{.Advise}}{{end}}{{end}}", []string{`template "message.html", line 3: `, "Advise"}},
		{"in a branch for one verdict", "message.txt", "\n{{if eq .Verdict \"order\"}}{{.Nmae}}{{end}}" + must, []string{`template "message.txt", line 2: `, "Nmae"}},
		{"in a branch for what lacks", "message.txt", "{{range .Bikes}}{{range .Jobs}}{{if not .Why}}\n{{.Nmae}}{{end}}{{end}}{{end}}" + must, []string{`template "message.txt", line 2: `, "Nmae"}},
		{"a second bike that need not be", "message.txt", "{{(index .Bikes 1).Name}}" + must, []string{`template "message.txt", line 1: `, "index out of range"}},
		{"HTML that has no end", "message.html", "<a href=\"{{.StopURL}}" + must, []string{`template "message.html", at its end: ends in`}},
		{"branches that end in another place", "message.html", "a\n{{if .Jobs}}<a href=\"{{end}}" + must, []string{`template "message.html", line 2: `}},
		{"no caution", "message.txt", "{{.StopMail}}", []string{`template "message.txt": does not show {{.Caution}}`}},
		{"no caution in the HTML", "message.html", "{{.StopMail}}", []string{`template "message.html": does not show {{.Caution}}`}},
		{"no way to stop", "message.txt", "{{.Caution}} {{.StopURL}}", []string{`template "message.txt": shows neither {{.StopMail}}`}},
		{"an empty subject", "subject.txt", "{{/* nothing */}}\n", []string{`template "subject.txt": gives an empty subject`}},
		{"bad bytes", "subject.txt", "\xff", []string{`template "subject.txt": is no text in UTF-8`}},
		{"too long", "message.txt", huge, []string{`template "message.txt": is no text in UTF-8 of at most 1024 KiB`}},
		{"none of them", "mesage.txt", "x", []string{"folder of templates: holds none of subject.txt, message.txt and message.html"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ParseTemplates(folder(tt.file, tt.src))
			require.Error(t, err)
			for _, want := range tt.want {
				assert.ErrorContains(t, err, want)
			}
		})
	}
}

func TestATemplateThatCannotBeRead(t *testing.T) {
	dir := folder("subject.txt", "x")
	dir["message.txt"] = &fstest.MapFile{Mode: fs.ModeDir | 0o755}
	_, err := ParseTemplates(dir)
	assert.ErrorContains(t, err, `template "message.txt": `)
}

func TestATemplateOfTheShopCannotSendControlCharacters(t *testing.T) {
	tpl, err := ParseTemplates(folder("subject.txt", "{{.Who}}\nX: y\u202e", "message.txt", "a\tb\x07c\u202ed"+must))
	require.NoError(t, err)
	r := fullSample()
	r.Person = wear.Person{Name: "Ida"}
	subject, text, _, err := tpl.Compose(r)
	require.NoError(t, err)
	assert.Equal(t, `Plover X: y\u202e`, subject)
	assert.Contains(t, text, `a b\x07c\u202ed`)
}
