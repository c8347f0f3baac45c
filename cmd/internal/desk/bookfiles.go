package desk

import (
	"path/filepath"
	"strings"
)

// ownFiles reports which files of some folders are the book's own: the book and
// what lies beside it under its name. A folder may be a link, and so may the book
// or its folder: they are told where they really are.
func ownFiles(book string, dirs []string) (func(path string) bool, error) {
	book, err := filepath.Abs(book)
	if err != nil {
		return nil, err
	}
	names := []string{book}
	for _, dir := range dirs {
		dir, err := filepath.Abs(dir)
		if err != nil {
			return nil, err
		}
		for _, place := range []string{beside(book), really(book)} {
			if rel, err := filepath.Rel(really(dir), place); err == nil && filepath.IsLocal(rel) {
				names = append(names, filepath.Join(dir, rel))
			}
		}
	}
	return func(path string) bool {
		for _, name := range names {
			if path == name || strings.HasPrefix(path, name+".") {
				return true
			}
		}
		return false
	}, nil
}

// beside is where the files beside a file really are.
func beside(path string) string {
	return filepath.Join(really(filepath.Dir(path)), filepath.Base(path))
}

// really is a path without links; of what is not there, as much as is.
func really(path string) string {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		return real
	}
	if above := filepath.Dir(path); above != path {
		return filepath.Join(really(above), filepath.Base(path))
	}
	return path
}
