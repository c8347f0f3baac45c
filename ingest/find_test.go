package ingest

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// put writes files below a new folder and returns it.
func put(tb testing.TB, files map[string]string) string {
	tb.Helper()
	dir := tb.TempDir()
	for name, content := range files {
		path := filepath.Join(dir, name)
		require.NoError(tb, os.MkdirAll(filepath.Dir(path), 0o700))
		require.NoError(tb, os.WriteFile(path, []byte(content), 0o600))
	}
	return dir
}

func TestFind(t *testing.T) {
	outside := put(t, map[string]string{"far.gpx": "x", "more/deep.gpx": "x"})
	dir := put(t, map[string]string{
		"b.gpx": "x", "a.fit": "x", "sub/c.gpx": "x", "sub/z/d": "x", ".hidden": "x", ".trash/e.gpx": "x",
	})
	in := func(names ...string) (paths []string) {
		for _, n := range names {
			paths = append(paths, filepath.Join(dir, n))
		}
		return paths
	}
	require.NoError(t, os.Symlink(outside, filepath.Join(dir, "link")))
	require.NoError(t, os.Symlink(filepath.Join(outside, "far.gpx"), filepath.Join(dir, "link.gpx")))
	require.NoError(t, os.Symlink(dir, filepath.Join(dir, "sub", "loop")))
	all := in("a.fit", "b.gpx", "sub/c.gpx", "sub/z/d")
	for name, c := range map[string]struct{ ask, want []string }{
		"nothing":               {nil, nil},
		"a folder":              {[]string{dir}, all},
		"a folder twice":        {[]string{dir, dir + "/", filepath.Join(dir, "sub", "..")}, all},
		"a file before it":      {append(in("sub/c.gpx"), dir), in("sub/c.gpx", "a.fit", "b.gpx", "sub/z/d")},
		"hidden, but named":     {in(".hidden", ".trash"), in(".hidden", ".trash/e.gpx")},
		"a link that was named": {in("link", "link.gpx"), in("link/far.gpx", "link/more/deep.gpx", "link.gpx")},
	} {
		files, errs := Find(c.ask)
		assert.Equal(t, c.want, files, name)
		assert.Empty(t, errs, name)
	}
}

func TestFindGoesOnPastWhatIsMissing(t *testing.T) {
	dir := put(t, map[string]string{"a.gpx": "x"})
	missing := filepath.Join(dir, "none.gpx")
	files, errs := Find([]string{missing, dir})
	assert.Equal(t, []string{filepath.Join(dir, "a.gpx")}, files)
	require.Len(t, errs, 1)
	var refusal *RefusedError
	require.ErrorAs(t, errs[0], &refusal)
	assert.Contains(t, refusal.Why, "no such file or folder")
	assert.NotEmpty(t, refusal.Hint)
}

func TestFindSaysWhichFolderIsClosed(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("root may read everything")
	}
	dir := put(t, map[string]string{"closed/a.gpx": "x", "open/b.gpx": "x"})
	closed := filepath.Join(dir, "closed")
	require.NoError(t, os.Chmod(closed, 0))
	t.Cleanup(func() { _ = os.Chmod(closed, 0o700) })
	files, errs := Find([]string{dir})
	assert.Equal(t, []string{filepath.Join(dir, "open", "b.gpx")}, files)
	require.Len(t, errs, 1)
	assert.ErrorContains(t, errs[0], "no permission to read")
}
