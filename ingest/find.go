package ingest

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// Find lists the files of paths, in the order given. Folders are searched to
// the bottom, each in order of names; hidden files and folders are passed over
// there, and links are not followed, so that nothing outside a folder comes in
// with it. What is named by itself is taken, hidden or linked. A file that is
// named twice comes once. A bundle is one file here: [Run] opens it. errs tell
// what cannot be found or read; the rest is listed all the same.
func Find(paths []string) (files []string, errs []error) {
	f := finder{seen: map[string]bool{}}
	for _, path := range paths {
		info, err := os.Stat(path)
		switch {
		case err != nil:
			f.errs = append(f.errs, unreadable(path, err))
		case info.IsDir():
			f.folder(path)
		default:
			f.add(path)
		}
	}
	return f.files, f.errs
}

type finder struct {
	files []string
	errs  []error
	seen  map[string]bool
}

func (f *finder) add(path string) {
	clean := filepath.Clean(path)
	if !f.seen[clean] {
		f.seen[clean] = true
		f.files = append(f.files, clean)
	}
}

// folder walks below root. The separator behind it makes a link to a folder be
// followed where the user named the link.
func (f *finder) folder(root string) {
	root = filepath.Clean(root) + string(filepath.Separator)
	_ = filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			f.errs = append(f.errs, unreadable(path, err))
			if d != nil && d.IsDir() {
				return fs.SkipDir
			}
		case path != root && strings.HasPrefix(d.Name(), "."):
			if d.IsDir() {
				return fs.SkipDir
			}
		case d.Type().IsRegular():
			f.add(path)
		}
		return nil
	})
}

// unreadable says why a path cannot be read and what to do about it.
func unreadable(path string, err error) error {
	var cause *fs.PathError
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &RefusedError{path, "no such file or folder", "check the name; a folder can be named too"}
	case errors.Is(err, fs.ErrPermission):
		return &RefusedError{path, "no permission to read it", "ask its owner, or copy it to where it can be read"}
	case errors.As(err, &cause):
		err = cause.Err
	}
	return &RefusedError{path, fmt.Sprintf("cannot be read: %v", err), "try again; copy it to another disk if that fails"}
}
