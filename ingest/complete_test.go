package ingest

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/unicode"

	"pawl/ingest/rig"
)

// shortRide is a ride in every format.
func shortRide() (fit, gpx, tcx []byte) {
	spec := rig.Full(1)
	spec.Minutes = 3
	ride := rig.Make(spec)
	return ride.FIT(), ride.GPX(), ride.TCX()
}

func join(parts ...[]byte) []byte { return bytes.Join(parts, nil) }

func isWhole(content []byte) bool { return whole(bytes.NewReader(content), int64(len(content))) }

func TestComplete(t *testing.T) {
	fit, gpx, tcx := shortRide()
	wide, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().Bytes(gpx)
	require.NoError(t, err)
	flipped := bytes.Clone(fit)
	flipped[len(flipped)/2] ^= 1
	endless := bytes.Clone(fit)
	copy(endless[4:8], []byte{0, 0, 0, 0})
	zeros := make([]byte, 5000)
	archive := bundleOf(t, entry{"a.fit", fit})
	for name, c := range map[string]struct {
		content []byte
		want    bool
	}{
		"nothing":                        {nil, false},
		"FIT":                            {fit, true},
		"FIT, cut":                       {fit[:len(fit)-1], false},
		"FIT, longer than it says":       {join(fit, zeros[:1]), false},
		"FIT, a bit wrong":               {flipped, false},
		"FIT, never finished":            {endless, false},
		"FIT, set aside, not filled in":  {join(fit[:500], make([]byte, len(fit)-500)), false},
		"two FIT in a row":               {join(fit, fit), true},
		"two FIT in a row, cut":          {join(fit, fit[:len(fit)-1]), false},
		"GPX":                            {gpx, true},
		"GPX, cut":                       {gpx[:len(gpx)*9/10], false},
		"GPX, no end of its last tag":    {bytes.TrimRight(gpx, ">\n"), false},
		"GPX with zeros behind":          {join(gpx, zeros), true},
		"GPX, set aside, not filled in":  {join(gpx[:500], zeros), false},
		"GPX in UTF-16":                  {wide, true},
		"GPX in UTF-16, cut":             {wide[:len(wide)-40], false},
		"GPX with a prefix":              {[]byte(`<?xml version="1.0"?><t:gpx xmlns:t="x"></t:gpx >`), true},
		"GPX, only its declaration":      {[]byte(`<?xml version="1.0"?>`), false},
		"GPX, cut in its name":           {[]byte(`<?xml version="1.0"?><gp`), false},
		"TCX":                            {tcx, true},
		"TCX, cut":                       {tcx[:len(tcx)-30], false},
		"gzip of FIT":                    {zipped(t, fit), true},
		"gzip of FIT, cut":               {zipped(t, fit)[:500], false},
		"gzip of FIT without trailer":    {zipped(t, fit)[:len(zipped(t, fit))-8], false},
		"gzip of cut FIT":                {zipped(t, fit[:len(fit)-1]), false},
		"gzip of GPX":                    {zipped(t, gpx), true},
		"gzip of cut GPX":                {zipped(t, gpx[:len(gpx)-20]), false},
		"gzip of a table":                {zipped(t, []byte("date,km\n2025-06-01,30\n")), true},
		"gzip of a table, trailer wrong": {join(zipped(t, []byte("date,km\n"))[:20], zeros[:30]), false},
		"gzip of more than is read":      {zipped(t, append(bytes.Clone(tcx), make([]byte, maxBytes)...)), false},
		"zip":                            {archive, true},
		"zip, cut":                       {archive[:len(archive)-1], false},
		"zip without directory":          {archive[:len(archive)/2], false},
		"a table":                        {[]byte("date,km\n2025-06-01,30\n"), true},
		"a picture":                      {[]byte("\x89PNG\r\n\x1a\n and so on"), true},
		"other XML":                      {[]byte("<kml><Document></Document></kml>"), true},
		"only zeros":                     {zeros, false},
	} {
		assert.Equal(t, c.want, isWhole(c.content), name)
	}
}

func TestCompleteAsksNoName(t *testing.T) {
	fit, _, _ := shortRide()
	dir := t.TempDir()
	assert.True(t, complete(write(t, filepath.Join(dir, "ride.gpx"), fit)))
	assert.False(t, complete(write(t, filepath.Join(dir, "ride.zip"), fit[:100])))
	assert.True(t, complete(filepath.Join(dir, "none")), "the import says why it cannot be opened")
	large := filepath.Join(dir, "large.fit")
	require.NoError(t, os.WriteFile(large, fit, 0o600))
	require.NoError(t, os.Truncate(large, maxBytes+1))
	assert.True(t, complete(large), "the import says that it is too large")
}

// counting counts what is read.
type counting struct {
	*bytes.Reader
	n int
}

// ReadAt implements io.ReaderAt.
func (c *counting) ReadAt(p []byte, at int64) (int, error) {
	n, err := c.Reader.ReadAt(p, at)
	c.n += n
	return n, err
}

func TestCompleteReadsNoMoreThanItNeeds(t *testing.T) {
	fit, gpx := fitRide(100_000), bytes.Repeat([]byte("<gpx><trk></trk>\n"), 100_000)
	for name, c := range map[string]struct {
		content []byte
		most    int
	}{
		"FIT that is cut": {fit[:len(fit)-1], 128 << 10},
		"GPX":             {append(gpx, "</gpx>"...), 64 << 10},
		"a zip archive":   {bundleOf(t, entry{"a", bytes.Repeat(fit[:1000], 1000)}), 64 << 10},
		"a table":         {bytes.Repeat([]byte("date,km\n"), 100_000), 64 << 10},
	} {
		r := &counting{Reader: bytes.NewReader(c.content)}
		_ = whole(r, int64(len(c.content)))
		assert.Less(t, r.n, c.most, name)
	}
}
