package store_test

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
)

// childAlone sends, and does not come to an end.
func childAlone(b *store.Book, out io.Writer) error {
	return b.Alone(context.Background(), "remind", func() error {
		fmt.Fprintln(out, "alone")
		time.Sleep(time.Minute)
		return nil
	})
}

// TestAlone: a second one is refused at once, with who it is that sends; the book
// itself stays free, and so does what is called otherwise.
func TestAlone(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	withBike(t, b)
	ctx := context.Background()
	run := func(what string) (ran bool, err error) {
		err = b.Alone(ctx, what, func() error { ran = true; return nil })
		return ran, err
	}
	cmd, out := child(t, "alone", b.Path())
	require.True(t, out.Scan())
	ran, err := run("remind")
	var held *store.HeldError
	require.ErrorAs(t, err, &held)
	assert.False(t, ran)
	assert.Contains(t, err.Error(), `remind is under way in "pawl alone" (process `)
	ran, err = run("watch")
	require.NoError(t, err)
	assert.True(t, ran)
	require.NoError(t, b.Update(ctx, nothing), "the book is free")

	require.NoError(t, cmd.Process.Kill())
	_ = cmd.Wait()
	ran, err = run("remind")
	require.NoError(t, err, "a dead program does nothing")
	assert.True(t, ran)
	require.NoError(t, b.Alone(ctx, "remind", func() error {
		ran, err := run("remind")
		assert.False(t, ran)
		assert.ErrorContains(t, err, "remind is under way in")
		return nil
	}), "nor twice in one program")
	require.ErrorIs(t, b.Alone(ctx, "remind", func() error { return os.ErrClosed }), os.ErrClosed)
}

func TestAloneFails(t *testing.T) {
	b := storetest.Open(t, store.Options{})
	withBike(t, b)
	never := func() error { assert.Fail(t, "ran"); return nil }
	for _, what := range []string{"", "../x", "Remind", "a b"} {
		require.ErrorContains(t, b.Alone(context.Background(), what, never), "not a word in small letters")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	require.ErrorIs(t, b.Alone(ctx, "remind", never), context.Canceled)
	require.NoError(t, os.Mkdir(b.Path()+".remind.lock", 0o700))
	require.ErrorContains(t, b.Alone(context.Background(), "remind", never), "remind.lock")
	require.NoError(t, os.Chmod(b.Path(), 0o400))
	var frozen *store.ReadOnlyError
	require.ErrorAs(t, b.Alone(context.Background(), "remind", never), &frozen)
	require.NoError(t, os.Chmod(b.Path(), 0o600))
	assert.NotContains(t, names(t, filepath.Dir(b.Path())), "book.new")
}
