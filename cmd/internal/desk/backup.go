package desk

import (
	"context"

	"pawl/store"
)

// Backup writes a copy of the book, see [store.Book.Backup].
func (d *Desk) Backup(ctx context.Context, path string, o store.BackupOptions) (store.BackupReport, error) {
	return d.Book.Backup(ctx, path, o)
}

// BackupOptions say what is copied.
type BackupOptions = store.BackupOptions
