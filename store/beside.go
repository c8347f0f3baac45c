package store

import "golang.org/x/sync/errgroup"

// Beside runs work n times at once, each with a transaction of its own that sees
// what this one sees. Within [Book.View] nobody writes, so they all see the same
// book; where this transaction writes, what it wrote would be missing, and work
// runs once, with this one. The error is the first of them.
func (t *Tx) Beside(n int, work func(*Tx) error) error {
	if n < 2 || t.Writes() {
		return work(t)
	}
	var all errgroup.Group
	for range n {
		all.Go(func() error {
			return guarded(t.book.path, func() error { return t.sibling(work) })
		})
	}
	return all.Wait()
}

// Writes reports whether the transaction is one of [Book.Update].
func (t *Tx) Writes() bool { return t.bolt.Writable() }

// sibling runs work with another reading transaction of the same open book.
func (t *Tx) sibling(work func(*Tx) error) error {
	bolt, err := t.bolt.DB().Begin(false)
	if err != nil {
		return t.book.opening(err)
	}
	defer func() { _ = bolt.Rollback() }()
	s, err := t.book.begin(bolt)
	if err != nil {
		return err
	}
	return work(s)
}
