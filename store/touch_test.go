package store_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
)

// TestStrayPage: a bucket whose first page lies far beyond the file is found by
// the audit, whichever bucket it is, and does not end the program. In a leaf of
// bbolt the name of a bucket stands before the number of its first page.
func TestStrayPage(t *testing.T) {
	path := filepath.Join(t.TempDir(), "the.book")
	filled(t, store.At(path, store.Options{}), 60)
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	strayed := 0
	for _, bucket := range []string{"before", "entries", "files", "gears", "rides", "rides.id", "stays", "weeks"} {
		raw := bytes.Clone(whole)
		changed := false
		for at := 0; ; at++ {
			next := bytes.Index(raw[at:], []byte(bucket))
			if next < 0 {
				break
			}
			at += next
			page := raw[at+len(bucket):][:8]
			if n := binary.LittleEndian.Uint64(page); n > 1 && n < uint64(len(raw)/4096) {
				binary.LittleEndian.PutUint64(page, 1<<20)
				changed = true
			}
		}
		if !changed {
			continue // it is small enough to lie within its parent
		}
		strayed++
		require.NoError(t, os.WriteFile(path, raw, 0o600))
		report, err := store.At(path, store.Options{}).Audit(context.Background())
		assert.True(t, err != nil || !report.Clean(), bucket)
	}
	assert.GreaterOrEqual(t, strayed, 4)
}
