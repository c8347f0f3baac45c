package ingest

import (
	"errors"
	"fmt"
	"io/fs"
	"time"
)

// FolderError tells that a watched folder, or one in it, is gone or cannot be
// read, or that it is back.
type FolderError struct {
	Path string
	Back bool  // it can be read again
	Err  error // a [*RefusedError] with a hint; nil where Back
}

// Error says which folder and what of it.
func (e *FolderError) Error() string {
	if e.Back {
		return fmt.Sprintf("folder %q: back", e.Path)
	}
	return fmt.Sprintf("folder %q: %v", e.Path, e.Err)
}

// Unwrap is the reason.
func (e *FolderError) Unwrap() error { return e.Err }

// UnsettledError tells of a file that was left out since it kept changing.
type UnsettledError struct {
	Path string
	For  time.Duration // that it was watched
}

// Error says which file and for how long.
func (e *UnsettledError) Error() string {
	return fmt.Sprintf("file %q: still being written after %v, left out for now", e.Path, e.For)
}

// errFlood is told when more happened than the system keeps.
var errFlood = errors.New("watch: more changes at once than the system keeps; all folders are searched for them")

// deafError says that the system cannot tell of changes, and what is done instead.
func deafError(err error) error {
	return fmt.Errorf("watch: the system cannot tell of changes, so the folders are searched every few seconds: %w", err)
}

// noFolder says why a folder cannot be read.
func noFolder(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		err = &RefusedError{path, "no such folder", "plug it in or mount it, or check the name"}
	case errors.Is(err, errNoFolder):
		err = &RefusedError{path, "not a folder", "name the folder that it is in"}
	default:
		err = unreadable(path, err)
	}
	return &FolderError{Path: path, Err: err}
}

// errNoFolder is returned where a folder should be and something else is.
var errNoFolder = errors.New("not a folder")
