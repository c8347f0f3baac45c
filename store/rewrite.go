package store

import (
	"context"
	"fmt"
	"os"

	"go.etcd.io/bbolt"
)

// chunk is about how many bytes go into one transaction of the new file.
const chunk = 16 << 20

// rewrite is Update into a new file that takes the place of the old one. The old
// one is not written at all: bbolt keeps what was deleted in its free pages, and a
// program that is killed must leave the book as it was, or without them.
func (b *Book) rewrite(ctx context.Context, fn func(*Tx) error) error {
	if err := b.drive(); err != nil {
		return err
	}
	if err := b.exists(); err != nil {
		return err
	}
	if err := b.writable(); err != nil {
		return err
	}
	release, err := b.acquire(ctx, true)
	if err != nil {
		return err
	}
	defer release()
	return b.drafted(func(draft string) error {
		return b.open(false, func(db *bbolt.DB) error {
			return b.transact(db, fn, func(t *Tx) error { return t.copyTo(draft) })
		})
	})
}

// copyTo writes the book as this transaction sees it into a new file, and syncs
// that. bbolt's own compaction reads only what is committed.
func (t *Tx) copyTo(draft string) error {
	if err := t.finish(); err != nil {
		return err
	}
	return t.copyRows(context.Background(), draft, appendFill)
}

// copyRows writes all rows that this transaction sees into a new file, with pages
// as full as said, and syncs it.
func (t *Tx) copyRows(ctx context.Context, draft string, fill float64) error {
	info, err := os.Stat(t.book.path)
	if err != nil {
		return fmt.Errorf("book %q: %w", t.book.path, err)
	}
	return t.book.openFile(draft, false, func(db *bbolt.DB) error {
		db.NoSync, db.NoGrowSync = true, true // once is enough, at the end
		err := t.bolt.ForEach(func(name []byte, from *bbolt.Bucket) error { return copyBucket(ctx, db, rowsOf{name, from, fill}) })
		if err == nil && !t.book.noSync {
			err = db.Sync()
		}
		if err == nil {
			err = os.Chmod(draft, info.Mode().Perm())
		}
		if err != nil {
			return fmt.Errorf("book %q: %w", draft, err)
		}
		return nil
	})
}

// rowsOf are the rows of a bucket, and how full the pages of their copy are to be.
type rowsOf struct {
	name []byte
	from *bbolt.Bucket
	fill float64
}

// copyBucket copies the rows of a bucket in their order.
func copyBucket(ctx context.Context, db *bbolt.DB, rows rowsOf) error {
	c := rows.from.Cursor()
	k, v := c.First()
	for more := true; more; more = k != nil {
		if err := ctx.Err(); err != nil {
			return err
		}
		err := db.Update(func(tx *bbolt.Tx) error {
			to, err := tx.CreateBucketIfNotExists(rows.name)
			if err != nil {
				return err
			}
			to.FillPercent = rows.fill
			for size := 0; k != nil && size < chunk; k, v = c.Next() {
				if err := to.Put(k, v); err != nil {
					return err
				}
				size += len(k) + len(v)
			}
			return to.SetSequence(rows.from.Sequence())
		})
		if err != nil {
			return err
		}
	}
	return nil
}
