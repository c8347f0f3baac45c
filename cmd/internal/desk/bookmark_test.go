package desk

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/wear"
)

// TestABookThatIsExchangedBeforeAnybodyLooks: what an import wrote tells that the
// book is another one, also where it went between the writing and the first look.
func TestABookThatIsExchangedBeforeAnybodyLooks(t *testing.T) {
	d := hireDesk(t, 1)
	path := d.Book.Path()
	older := filepath.Join(t.TempDir(), "older.book")
	raw, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(older, raw, 0o600))

	var mark bookmark
	require.NoError(t, d.Book.Update(t.Context(), func(tx *store.Tx) error {
		tx.Begin(importVerb, "of 1 file", "")
		_, ok := tx.Wrote()
		assert.False(t, ok, "nothing yet")
		if _, err := tx.AddBike(wear.Bike{Name: "new"}); err != nil {
			return err
		}
		e, ok := tx.Wrote()
		assert.True(t, ok)
		mark.wrote(e)
		return nil
	}))
	still := mark
	assert.False(t, still.exchanged(t.Context(), d.Book), "it is the book that was written to")

	require.NoError(t, os.Rename(path, path+"-aside"))
	assert.True(t, mark.gone(d.Book))
	require.NoError(t, os.Rename(older, path))
	assert.True(t, mark.exchanged(t.Context(), d.Book))
	assert.False(t, mark.exchanged(t.Context(), d.Book), "asked once")
}
