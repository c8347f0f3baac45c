package store

import (
	"context"
	"fmt"
	"strings"

	"github.com/gofrs/flock"
)

// Alone runs fn while no other program, nor another part of this one, does what is
// so named (one word in small letters): sending, say. The book itself is held no
// longer than fn's own operations on it. Where it is under way elsewhere, Alone
// does not wait but returns a [HeldError].
func (b *Book) Alone(ctx context.Context, what string, fn func() error) error {
	if what == "" || strings.Trim(what, "abcdefghijklmnopqrstuvwxyz") != "" {
		return fmt.Errorf("lock %q: not a word in small letters", what)
	}
	for _, check := range []func() error{ctx.Err, b.drive, b.writable} {
		if err := check(); err != nil {
			return err
		}
	}
	path := b.path + "." + what + ".lock"
	lock := flock.New(path)
	got, err := lock.TryLock()
	switch {
	case unwritable(err):
		return &ReadOnlyError{b.path, err}
	case noLocks(err):
		return b.unsafe(err.Error())
	case err != nil:
		return fmt.Errorf("book %q: %w", b.path, err)
	case !got:
		return &HeldError{Path: b.path, Holder: holder(path), What: what}
	}
	defer lock.Close()
	if err := b.probe(gate{again: flock.New(path)}); err != nil {
		return err
	}
	b.sign(path)
	defer unsign(path)
	return fn()
}
