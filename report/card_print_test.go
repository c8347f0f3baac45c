package report

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/wear"
)

// chromium is the path of the browser; the test is skipped where it is missing,
// and fails where CI=true.
func chromium(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("chromium is not installed")
		}
		t.Skip("chromium is not installed")
	}
	return path
}

// printed is the card as the browser prints it.
func printed(t *testing.T, program string, c CardPage) []byte {
	t.Helper()
	dir := t.TempDir()
	page, paper := filepath.Join(dir, "card.html"), filepath.Join(dir, "card.pdf")
	require.NoError(t, os.WriteFile(page, []byte(card(t, c)), 0o600))
	out, err := exec.Command(program, "--headless", "--no-sandbox", "--disable-gpu", "--user-data-dir="+filepath.Join(dir, "profile"),
		"--no-pdf-header-footer", "--print-to-pdf="+paper, "file://"+page).CombinedOutput()
	require.NoError(t, err, "%s", out)
	pdf, err := os.ReadFile(paper)
	require.NoError(t, err, "%s", out)
	return pdf
}

var (
	pageObject = regexp.MustCompile(`/Type\s*/Page\b`)
	pageCount  = regexp.MustCompile(`/Type\s*/Pages\b[^>]*?/Count\s+(\d+)|/Count\s+(\d+)[^>]*?/Type\s*/Pages\b`)
	mediaBox   = regexp.MustCompile(`/MediaBox\s*\[\s*0\s+0\s+([0-9.]+)\s+([0-9.]+)\s*\]`)
)

// pages counts the pages of a PDF in two ways, which must agree.
func pages(t *testing.T, pdf []byte) int {
	t.Helper()
	n := len(pageObject.FindAll(pdf, -1))
	m := pageCount.FindSubmatch(pdf)
	require.NotNil(t, m, "no tree of pages")
	assert.Equal(t, strconv.Itoa(n), string(m[1])+string(m[2]), "objects against /Count")
	return n
}

// drawn is what is drawn on each page, in the operators of PDF.
func drawn(t *testing.T, pdf []byte) []string {
	t.Helper()
	var out []string
	for _, at := range streamStart.FindAllIndex(pdf, -1) {
		r, err := zlib.NewReader(bytes.NewReader(pdf[at[1]:]))
		if err != nil {
			continue // not compressed: no page
		}
		content, err := io.ReadAll(r)
		require.NoError(t, err)
		if bytes.Contains(content, []byte(" Tf\n")) {
			out = append(out, string(content))
		}
	}
	return out
}

var (
	streamStart = regexp.MustCompile(`stream\r?\n`)
	fontSize    = regexp.MustCompile(`/F\d+ ([0-9.]+) Tf`)
	headRule    = regexp.MustCompile(`(?m)^0 (\d+) 7\d\d 2 re$`)   // under the head, over the whole width
	jobRule     = regexp.MustCompile(`(?m)^0 (\d+) [1-9]\d 1 re$`) // under the first cell of a job, and over that of the first
)

// lengths are the figures that a pattern finds.
func lengths(t *testing.T, of *regexp.Regexp, in string) []float64 {
	t.Helper()
	var out []float64
	for _, m := range of.FindAllStringSubmatch(in, -1) {
		v, err := strconv.ParseFloat(m[1], 64)
		require.NoError(t, err)
		out = append(out, v)
	}
	return out
}

func TestCardPrintsOnOneA4Page(t *testing.T) {
	program := chromium(t)
	c := trailCard(t)
	jobs := c.jobs()
	require.GreaterOrEqual(t, len(jobs), 12)
	require.LessOrEqual(t, len(jobs), 16)
	require.Len(t, c.SignOffs, 5)
	pdf := printed(t, program, c)
	assert.Equal(t, 1, pages(t, pdf))
	box := mediaBox.FindSubmatch(pdf)
	require.NotNil(t, box)
	for i, points := range []float64{595.28, 841.89} { // ISO 216: 210 × 297 mm
		got, err := strconv.ParseFloat(string(box[i+1]), 64)
		require.NoError(t, err)
		assert.InDelta(t, points, got, 1)
	}
	all := drawn(t, pdf)
	require.Len(t, all, 1)
	sizes := lengths(t, fontSize, all[0])
	require.NotEmpty(t, sizes)
	assert.GreaterOrEqual(t, slices.Min(sizes), 12.0, "px of 1/96 inch: 9 pt")
}

func TestCardBreaksBetweenJobs(t *testing.T) {
	program := chromium(t)
	c := trailCard(t)
	job := ringBolts(t)
	long := strings.Repeat("check the ring bolts crosswise ", 15)[:longAdvice-10] // lines enough to be cut between
	job.Unit, job.Advice, job.Reasons = "", long, []wear.Reason{{Basis: wear.ByCount, Text: long[:200]}}
	c.Findings = nil
	for i := range 40 {
		job.Part = fmt.Sprintf("ring-bolts-%d", 10+i)
		c.Findings = append(c.Findings, job)
	}
	pdf := printed(t, program, c)
	n := pages(t, pdf)
	require.Greater(t, n, 1)
	all := drawn(t, pdf)
	require.Len(t, all, n)
	rows, high := 0, 0.0
	for i, page := range all {
		heads := lengths(t, headRule, page)
		require.Len(t, heads, 1, "page %d has the head once", i+1)
		ys := lengths(t, jobRule, page)
		for j := 1; j < len(ys); j++ {
			rows++
			if high == 0 {
				high = ys[j] - ys[j-1]
			}
			assert.InDelta(t, high, ys[j]-ys[j-1], 1, "page %d: every job is as high as the others, none is cut", i+1)
		}
		if len(ys) > 0 {
			assert.Less(t, ys[0]-heads[0], high, "page %d: the first job begins under the head", i+1)
		}
	}
	assert.Greater(t, high, 80.0, "jobs of many lines")
	assert.Equal(t, 40, rows)
}
