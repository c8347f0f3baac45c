package report

import (
	"errors"
	"fmt"
	"html"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

func card(t *testing.T, c CardPage) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, Card(&b, c, Style{}))
	return b.String()
}

var (
	tags   = regexp.MustCompile(`<[^>]*>`)
	inLine = regexp.MustCompile(`</?(b|i|bdi|span)\b[^>]*>`) // within a word
)

// cardWords is what a reader sees of a card.
func cardWords(t *testing.T, c CardPage) string {
	t.Helper()
	_, body, ok := strings.Cut(card(t, c), "<body>")
	require.True(t, ok)
	return unwrap(html.UnescapeString(tags.ReplaceAllString(inLine.ReplaceAllString(body, ""), " ")))
}

// kestrelCard is a card of findings made by hand.
func kestrelCard(t *testing.T) CardPage {
	t.Helper()
	c := trailCard(t)
	bolts := ringBolts(t)
	bolts.Torque, bolts.Minutes, bolts.Declined = 10, 5, on(t, "2026-03-01 20:00")
	guide := guideBolts(t)
	guide.Minutes = 70
	measure := lube(t)
	measure.Job, measure.Act, measure.Title, measure.Advice = "measure", wear.ActMeasure, "measure the chain", "measure it in three places"
	change := chainChange(t)
	change.Part, change.Verdict, change.Used, change.Share = "chain-1", wear.Fine, 0.31, 0.62
	c.Findings = []wear.Finding{crackedGuide(t), guide, bolts, lube(t), measure, padsOrder(t), change}
	return c
}

func TestCardGolden(t *testing.T) {
	golden(t, "card.html", card(t, kestrelCard(t)))
	var b strings.Builder
	require.NoError(t, WriteCardForm(&b, kestrelCard(t), Style{}))
	golden(t, "card.toml", b.String())
}

func TestCardSaysWhatTheStandNeeds(t *testing.T) {
	words := cardWords(t, kestrelCard(t))
	for _, want := range []string{
		"job card of Ridge Road Cycles for Ines Falk Kestrel 3", "STOP: do not ride ■ 5 jobs, about 75 min (1:15 h), 3 jobs without a usual time; as of 14 May 2026, comes on 16 May 2026",
		"1 STOP: do not ride ■ Change the chain guide (guide-1) – the look of 12 May says unsafe: upper tab cracked",
		"To clear it: A look that says good or watch, or a new guide.",
		"2 STOP: do not ride ■ Check the torque of the guide bolts (guide-bolts-1) – the first check after the fit is missed by 5.2 h of riding",
		"3 due ▲ Check the torque of the ring bolts (ring-bolts-1) – 1 ride, limit 1; declined on 1 Mar 2026", "N·m maker's figure", "N·m maker's 10 N·m",
		"4 due ▲ Clean and lube the chain (chain-1) – 31,240 of 25,000 turns, estimated",
		"Parts to take rear brake pads, organic", "order part ◆ rear-pads-4 change the rear pads, about 26 May (18 May – 9 Jun)",
		"5 chain-1, elongation limit 0.5 %, was 0.31 %", "%", "ruler caliper gauge",
		"caliper-bolts-1 check, 6 N·m, by Ada, 14 May", "Declined dropper-1 service, by Ada – told that it may stick, 2 Apr",
		"mount iscg-05, 3 bolts on a circle of 73 mm", "spacers 1, 1, 1.5 mm", "chain line 52.5 mm", "guide angle 2.5° backward", "frame clears a ring of 34 teeth",
		"due ▲ parking-lot check: shifts through the range no rub at either end clear through the travel – no rub", "Does not look right: Spacers of 1, 1, 1.5 mm",
		"Also found:", wear.Caution + ". name date signature",
	} {
		assert.Contains(t, words, want)
	}
	assert.NotContains(t, words, "435", "the chainstay is not set at the stand")
}

func TestCardListsEachCautionOnce(t *testing.T) {
	c := kestrelCard(t)
	v := Style{}.card(c)
	require.Equal(t, []string{sentence(wear.StopCaution), sentence(torqueCaution), sentence(torqueRule())}, v.Minds)
	see := make([]string, len(v.Jobs))
	for i, j := range v.Jobs {
		see[i] = j.See
	}
	assert.Equal(t, []string{"1", "2, 3, 1", "2, 3", "", ""}, see)
	page := html.UnescapeString(card(t, c))
	for _, text := range v.Minds {
		assert.Equal(t, 1, strings.Count(page, "<li>"+text+"</li>"), text)
	}
}

func TestCardOfEveryJob(t *testing.T) {
	all := wholeBike(t)
	c := CardPage{Bike: all.Bike, Today: all.Today, Findings: wear.Assess(all, wear.Default())}
	words := cardWords(t, c)
	torques := 0
	for i, f := range c.jobs() {
		assert.Contains(t, words, fmt.Sprintf("%d %s %s %s (%s)", i+1, f.Verdict.Words(), signs[f.Verdict].shape, sentenceStart(f.Title), f.Part))
		assert.Contains(t, words, sentence(f.Advice))
		assert.Contains(t, words, sentence(f.Caution))
		if strings.Contains(f.Title, "torque") {
			torques++
			assert.True(t, torqued(f), f.Title)
			assert.Contains(t, f.Caution, "maker's figure for both parts", "the rule stands beside the torque")
		}
	}
	assert.Greater(t, torques, 7)
	assert.NotContains(t, words, "To clear it: .")
}

func TestCardAsksForReadings(t *testing.T) {
	for _, tt := range []struct {
		kind string
		act  wear.Act
		of   string
		unit string
	}{
		{"chain", wear.ActMeasure, "elongation", "%"},
		{"front-pads", wear.ActMeasure, "lining", "mm"},
		{"rear-rotor", wear.ActMeasure, "thickness", "mm"},
		{"rear-tyre", wear.ActLook, "knob", "mm"},
		{"chain", wear.ActClean, "", ""},
		{"ring", wear.ActLook, "", ""},
		{"front-pads", wear.ActChange, "", ""},
		{"no-such-kind", wear.ActMeasure, "", ""},
	} {
		f := wear.Finding{Kind: tt.kind, Part: tt.kind + "-1", Job: string(tt.act), Act: tt.act, Title: "do it", Verdict: wear.Due}
		v := Style{}.card(CardPage{Findings: []wear.Finding{f}})
		if tt.of == "" {
			assert.Empty(t, v.Readings, "%s: %s", tt.kind, tt.act)
			continue
		}
		assert.Equal(t, []cardReading{{N: 1, Part: f.Part, Of: tt.of, Unit: tt.unit}}, v.Readings)
	}
}

func TestCardSetupWithNothingKnownHasBlanks(t *testing.T) {
	c := CardPage{Bike: wear.Bike{Name: "Plover"}, Setup: &SetupPage{Bike: "Plover", Guided: true}}
	set := Style{}.cardSetup(c.Setup)
	var names []string
	for _, f := range set.Facts {
		assert.Empty(t, f[1])
		names = append(names, f[0])
	}
	assert.Equal(t, []string{"mount", "spacers", "torque", "chain line", "guide angle"}, names)
	assert.NotNil(t, set.Check)
	assert.Equal(t, 5, strings.Count(card(t, c), `<span class="blank"></span></span>`), "a blank for each")
	assert.NotContains(t, cardWords(t, CardPage{Bike: c.Bike}), "Set-up")
}

func TestCardWithNothingDue(t *testing.T) {
	c := CardPage{Bike: wear.Bike{Name: "Plover", Motor: wear.MidMotor}, Today: on(t, "2026-05-14 18:00"), Findings: []wear.Finding{fork(t)}}
	words := cardWords(t, c)
	assert.Contains(t, words, "Nothing is due.")
	assert.Contains(t, words, "fine ○ as of 14 May 2026")
	assert.Contains(t, words, wear.Caution+". name date signature")
	assert.Contains(t, words, "E-bike: take the battery out first.")
	for _, not := range []string{"Mind", "Parts to take", "Last sign-offs", "Declined", "Readings", "comes on"} {
		assert.NotContains(t, words, not)
	}
}

func TestCardColoursAreOkabeIto(t *testing.T) {
	// M. Okabe and K. Ito, "Color Universal Design", 2008.
	for v, want := range map[wear.Verdict]string{wear.Stop: "#d55e00", wear.Due: "#cc79a7", wear.Order: "#0072b2", wear.Fine: "#000000"} {
		got := cardSignOf(v)
		assert.Equal(t, cardSign{v.Words(), signs[v].shape, want}, got)
		assert.Contains(t, card(t, CardPage{Findings: []wear.Finding{{Verdict: v}}}), fmt.Sprintf(`%s <i style="color:%s">%s</i>`, got.Word, want, got.Shape))
	}
}

func TestCardNeedsNothingFromOutside(t *testing.T) {
	page := strings.ToLower(card(t, trailCard(t)))
	for _, not := range []string{"<script", "javascript:", "src=", "href=", "url(", "@import", "http:", "https:", "<link", "<img", "zgotmplz"} {
		assert.NotContains(t, page, not)
	}
	sizes := regexp.MustCompile(`font(?:-size)?: ([0-9.]+)pt`).FindAllStringSubmatch(page, -1)
	require.Greater(t, len(sizes), 3)
	for _, m := range sizes {
		pt, err := strconv.ParseFloat(m[1], 64)
		require.NoError(t, err)
		assert.GreaterOrEqual(t, pt, 9.0)
	}
}

// nasty is what a name must not do to a page.
const nasty = "</td><script>alert(1)</script>\"'`{{.}}-->\x00\r\nSet: x\u202egnp\u2066\u200f\ufeff\x1b[31m\xff"

// nastyCard is a card whose every text from outside is hostile and 10 kB long.
func nastyCard(t *testing.T, text string) CardPage {
	t.Helper()
	c := kestrelCard(t)
	for i := range c.Findings {
		f := &c.Findings[i]
		f.Bike, f.Part, f.Title, f.Advice, f.Caution, f.Clears = text, text, text, text, text, text
		f.Reasons = []wear.Reason{{Basis: wear.ByLook, Text: text}}
	}
	c.Shop, c.Owner, c.Bike.Name, c.Parts = text, text, text, []string{text}
	for i := range c.SignOffs {
		o := &c.SignOffs[i]
		o.Part, o.Job, o.By, o.Note = text, text, text, text
	}
	c.Declined[0].Part, c.Declined[0].Note = text, text
	c.Setup.Bike, c.Setup.State.Setup.Lower, c.Setup.State.Setup.Drive.RingMount = text, text, text
	c.Setup.State.Why, c.Setup.State.Warnings = []string{text}, []string{text}
	return c
}

func TestCardMakesHostileTextHarmless(t *testing.T) {
	got := card(t, nastyCard(t, nasty))
	assert.Equal(t, tags.FindAllString(card(t, nastyCard(t, "plain")), -1), tags.FindAllString(got, -1), "the same elements")
	for _, r := range "\x00\r\x1b\u202e\u2066\u200f\ufeff\ufffd" {
		assert.NotContains(t, got, string(r))
	}
	assert.Contains(t, got, `\u202egnp`, "what cannot be seen is spelled out")
	long := card(t, nastyCard(t, strings.Repeat("<b>\u05d0\u0301", 10_000)))
	assert.Less(t, len(long), 60_000, "every text is cut to length")
}

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, errors.New("the disk is full") }

func TestCardTellsThatItCannotBeWritten(t *testing.T) {
	assert.ErrorContains(t, Card(brokenWriter{}, trailCard(t), Style{}), "the disk is full")
	assert.ErrorContains(t, WriteCardForm(brokenWriter{}, trailCard(t), Style{}), "the disk is full")
}
