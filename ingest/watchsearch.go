package ingest

import (
	"errors"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"time"
)

const (
	pollEvery = 2 * time.Second // for what the system cannot tell
	pollShare = 50              // searching may take one part in so many of the time
)

// below is a folder with the separator behind it: what begins like that is in
// it.
func below(folder string) string {
	return strings.TrimSuffix(folder, string(filepath.Separator)) + string(filepath.Separator)
}

// readFolder says why a folder cannot be read, nil where it can.
func readFolder(path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return noFolder(path, err)
	}
	if !info.IsDir() {
		return noFolder(path, errNoFolder)
	}
	return nil
}

// lookAt takes a look at a plain file.
func lookAt(path string) (trace, bool) {
	info, err := os.Lstat(path)
	if err != nil || !info.Mode().IsRegular() {
		return trace{}, false
	}
	return traceOf(info), true
}

func traceOf(info fs.FileInfo) trace {
	return trace{info.Size(), info.ModTime().UnixNano(), info.Mode(), inodeOf(info)}
}

// searchAll searches every folder that was named.
func (w *watcher) searchAll(now time.Time) {
	w.round++
	w.letGo()
	var read []string
	for _, root := range w.roots {
		if w.searchRoot(root, now) {
			read = append(read, root)
		}
	}
	for _, root := range read { // only now: a root may be within another
		w.goneBelow(below(root), false)
	}
	w.again(now)
	every := w.o.Rescan
	if w.deaf {
		every = min(every, max(pollEvery, pollShare*time.Since(now)))
	}
	w.rescan = now.Add(every)
}

// searchMissing looks for the roots that are missing.
func (w *watcher) searchMissing(now time.Time) {
	for _, root := range w.roots {
		if w.troubles[root] != "" {
			w.searchRoot(root, now)
		}
	}
	w.again(now)
}

// again sets the time to look for missing roots.
func (w *watcher) again(now time.Time) {
	w.poll = time.Time{}
	for _, root := range w.roots {
		if w.troubles[root] != "" {
			w.poll = now.Add(pollEvery)
		}
	}
}

// searchRoot searches one of the folders that were named and reports whether
// all in it could be read. What was known of it stays known while it is away.
func (w *watcher) searchRoot(root string, now time.Time) bool {
	w.hear(filepath.Dir(root), true)
	if err := readFolder(root); err != nil {
		w.trouble(root, err)
		return false
	}
	return w.search(root, now)
}

// search takes in what is in a folder and below, by the rules of [Find], and
// reports whether all could be read. A folder is listened to before it is read,
// so that nothing comes in between.
func (w *watcher) search(folder string, now time.Time) bool {
	failed := map[string]bool{}
	top := below(folder) // a link is followed where the user named it
	_ = filepath.WalkDir(top, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			path = filepath.Clean(path)
			if path == folder || !errors.Is(err, fs.ErrNotExist) { // else it has just gone
				failed[path] = true
				w.trouble(path, noFolder(path, err))
			}
			return fs.SkipDir
		case path != top && w.passedOver(path):
			if d.IsDir() {
				return fs.SkipDir
			}
		case d.IsDir():
			w.hear(filepath.Clean(path), false)
		case d.Type().IsRegular():
			w.find(path, d, now)
		}
		return nil
	})
	w.recovered(top, failed)
	return len(failed) == 0
}

// passedOver reports what is not searched: hidden, or not to be touched.
func (w *watcher) passedOver(path string) bool {
	return strings.HasPrefix(filepath.Base(path), ".") || w.o.Skip != nil && w.o.Skip(path)
}

// find takes in a file of a search.
func (w *watcher) find(path string, d fs.DirEntry, now time.Time) {
	if info, err := d.Info(); err == nil { // else it is gone already
		w.saw(path, traceOf(info), found, now)
	}
}

// trouble tells what is wrong with a folder, once.
func (w *watcher) trouble(folder string, err error) {
	if why := err.Error(); w.troubles[folder] != why {
		w.troubles[folder] = why
		w.tell(err)
	}
}

// recovered tells which folders could be read again in a search from top.
func (w *watcher) recovered(top string, failed map[string]bool) {
	maps.DeleteFunc(w.troubles, func(folder, _ string) bool {
		if failed[folder] || !strings.HasPrefix(below(folder), top) {
			return false
		}
		if readFolder(folder) == nil {
			w.tell(&FolderError{Path: folder, Back: true})
			return true
		}
		return !w.isRoot(folder) // it went away for good
	})
}
