package ingest

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var testForm = ListForm{
	Columns: map[string]string{"name": "name", "e mail": "email", "rider kg": "kg", "since": "since"},
	Must:    "name", Figures: []string{"kg"},
}

func TestReadListForms(t *testing.T) {
	for name, text := range map[string]string{
		"commas":          "Name,E-Mail,Rider kg,Since\nKim,kim@example.org,72.5,2026-05-03\n",
		"semicolons":      "Name;E-Mail;Rider kg;Since\r\nKim;kim@example.org;72,5;3.5.2026\r\n",
		"named separator": "sep=;\nname;e-mail;rider kg;since\nKim;kim@example.org;72,5;2026-05-03\n",
		"tabs, a BOM":     "\ufeffname\te_mail\trider (kg)\tsince\nKim\tkim@example.org\t72,5\t2026-05-03\n",
		"bars and blanks": "\n\nNAME | E MAIL | RIDER KG | SINCE\n Kim | kim@example.org | 72.5 | 03.05.2026 \n\n",
		"UTF-16":          "\xff\xfe" + wideText("name,e-mail,rider kg,since\nKim,kim@example.org,72.5,2026-05-03\n"),
		"quotes":          "\"name\",\"e-mail\",\"rider kg\",\"since\"\n\"Kim\",\"kim@example.org\",\"72,5\",\"2026-05-03\"\n",
	} {
		t.Run(name, func(t *testing.T) {
			l, err := ReadList([]byte(text), testForm)
			require.NoError(t, err)
			require.Len(t, l.Rows, 1)
			assert.Empty(t, l.Bad)
			assert.Empty(t, l.Unread)
			who, has := l.Rows[0].Cell("name")
			assert.True(t, has)
			assert.Equal(t, "Kim", who)
			kg, said, err := l.Rows[0].Figure("kg")
			require.NoError(t, err)
			assert.True(t, said)
			assert.InDelta(t, 72.5, kg, 0)
			day, said, err := l.Rows[0].Day("since")
			require.NoError(t, err)
			assert.True(t, said)
			assert.Equal(t, "2026-05-03", day.Format("2006-01-02"))
		})
	}
}

// wideText is text as UTF-16, little-endian; of ASCII only.
func wideText(text string) string {
	var b strings.Builder
	for _, c := range []byte(text) {
		b.WriteByte(c)
		b.WriteByte(0)
	}
	return b.String()
}

func TestReadListRowsGoWrongAlone(t *testing.T) {
	l, err := ReadList([]byte("name,rider kg,colour\nKim,72.5\nAda,1,2,3\nBo,\"x\ny\nEve,heavy,red\n"), testForm)
	require.NoError(t, err)
	assert.Equal(t, []string{"colour"}, l.Unread)
	require.Len(t, l.Bad, 2)
	assert.Equal(t, 3, l.Bad[0].Line)
	assert.Contains(t, l.Bad[0].Why, "more cells")
	assert.Equal(t, 4, l.Bad[1].Line)
	last := l.Rows[len(l.Rows)-1]
	_, said, err := last.Figure("kg")
	assert.True(t, said)
	require.Error(t, err)
	assert.Equal(t, `line 6, column 2 ("rider kg"): heavy`, last.Wrong("kg", "heavy").String())
	assert.Equal(t, "line 6: no such column", last.Wrong("since", "no such column").String())
	_, has := last.Cell("since")
	assert.False(t, has)
}

func TestReadListRefuses(t *testing.T) {
	for text, why := range map[string]string{
		"":                       `no column "name"`,
		"email\nkim@example.org": `no column "name"`,
		"\x00\x01\x02":           `no column "name"`,
	} {
		_, err := ReadList([]byte(text), testForm)
		require.ErrorContains(t, err, why)
		var refused *RefusedError
		require.ErrorAs(t, err, &refused)
		assert.Contains(t, refused.Hint, "rider kg", "the columns are named")
	}
	_, err := ReadList([]byte("name\n"+strings.Repeat("x\n", maxListRows+1)), testForm)
	require.ErrorContains(t, err, "more than 100000 rows")
}

// A quote that keeps a cell from being a formula comes off again, one of a name stays.
func TestReadListTakesGuardsOff(t *testing.T) {
	l, err := ReadList([]byte("name\n'=Kim\n'@Kim\n't Hooft\n'\na;'=b\n'’=\n''=c\n' ＝d\n"), testForm)
	require.NoError(t, err)
	var names []string
	for _, r := range l.Rows {
		name, _ := r.Cell("name")
		names = append(names, name)
	}
	assert.Equal(t, []string{"=Kim", "@Kim", "'t Hooft", "'", "a;=b", "'’=", "'=c", " ＝d"}, names)
}

// What 1.234 is, the figures of the table say, not a name that looks like one.
func TestReadListMark(t *testing.T) {
	l, err := ReadList([]byte("name;rider kg\n7.5;1.234\n8;72,5\n"), testForm)
	require.NoError(t, err)
	kg, _, err := l.Rows[0].Figure("kg")
	require.NoError(t, err)
	assert.InDelta(t, 1234, kg, 0)
}

func FuzzList(f *testing.F) {
	f.Add([]byte("name,e-mail\nKim,kim@example.org\n"))
	f.Add([]byte("name;rider kg\n\"Kim\n\";1.234,5\n"))
	f.Add([]byte("\xff\xfen\x00a\x00m\x00e\x00\n\x00x\x00"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		l, err := ReadList(raw, testForm)
		if err != nil {
			return
		}
		for _, r := range l.Rows {
			_, has := r.Cell("name")
			assert.True(t, has)
			_, _, _ = r.Figure("kg")
			_, _, _ = r.Day("since")
			assert.Positive(t, r.Line)
		}
	})
}
