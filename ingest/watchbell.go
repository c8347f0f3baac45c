package ingest

import (
	"errors"
	"io/fs"
	"os"
	"runtime"
	"slices"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"
)

// bell is the system's way to tell of changes.
type bell struct {
	events  *fsnotify.Watcher // nil where it is deaf
	folders map[string]bool   // that are listened to
	deaf    bool              // the system cannot tell: search instead
}

// listen begins to hear of changes.
func (w *watcher) listen() {
	events, err := fsnotify.NewWatcher()
	if err != nil {
		w.goDeaf(err)
		return
	}
	w.bell = bell{events: events, folders: map[string]bool{}}
}

// deafen hears nothing any more.
func (w *watcher) deafen() {
	if w.events != nil {
		_ = w.events.Close() // it was only read
		w.events = nil
	}
}

// goDeaf falls back to searching, for the rest of the run.
func (w *watcher) goDeaf(err error) {
	w.deafen()
	w.deaf = true
	w.rescan = time.Time{}
	w.tell(deafError(err))
}

// rings are the changes; nil where none can be heard.
func (w *watcher) rings() <-chan fsnotify.Event {
	if w.events == nil {
		return nil
	}
	return w.events.Events
}

func (w *watcher) fails() <-chan error {
	if w.events == nil {
		return nil
	}
	return w.events.Errors
}

// failed takes in an error of the system. Too many changes at once are found by
// a search, a little later: there are more to come.
func (w *watcher) failed(err error) {
	if !errors.Is(err, fsnotify.ErrEventOverflow) {
		w.goDeaf(err)
		return
	}
	now := time.Now()
	if soon := now.Add(w.settle); soon.Before(w.rescan) {
		w.rescan = soon
	}
	if w.flood.IsZero() || now.Sub(w.flood) > w.o.Rescan {
		w.flood = now
		w.tell(errFlood)
	}
}

// hear listens to a folder, or to the one that a root is in: it tells at once
// when the root comes or goes. That is cheap on Linux only; elsewhere missing
// roots are just looked for.
func (w *watcher) hear(folder string, parent bool) {
	if w.events == nil || parent && runtime.GOOS != "linux" {
		return
	}
	err := w.events.Add(folder)
	switch {
	case err == nil:
		w.folders[folder] = true
	case parent, errors.Is(err, fs.ErrNotExist), errors.Is(err, fs.ErrPermission): // reading it tells
	default: // most often there is no room for more of them
		w.goDeaf(err)
	}
}

// letGo stops listening to folders that are not there any more under their
// name: the library would go on telling the old one.
func (w *watcher) letGo() {
	for folder := range w.folders {
		if info, err := os.Stat(folder); err != nil || !info.IsDir() {
			w.unhear(folder)
		}
	}
}

func (w *watcher) unhear(folder string) {
	delete(w.folders, folder)
	if w.events != nil {
		_ = w.events.Remove(folder) // the system may have done so already
	}
}

// rung takes in one change.
func (w *watcher) rung(e fsnotify.Event, ok bool) {
	now := time.Now()
	switch {
	case !ok:
		w.goDeaf(fsnotify.ErrClosed)
	case w.isRoot(e.Name):
		w.rootRung(e, now)
	case !w.ours(e.Name) || w.passedOver(e.Name):
	case e.Has(fsnotify.Remove | fsnotify.Rename):
		w.left(e.Name)
	default:
		w.came(e, now)
	}
}

// rootRung takes in what happened to a root itself.
func (w *watcher) rootRung(e fsnotify.Event, now time.Time) {
	gone := e.Has(fsnotify.Remove | fsnotify.Rename)
	if gone {
		w.left(e.Name)
	}
	if gone || e.Has(fsnotify.Create) {
		w.searchRoot(e.Name, now)
		w.again(now)
	}
}

func (w *watcher) isRoot(path string) bool { return slices.Contains(w.roots, path) }

// ours reports whether a path is in a folder that was named, not beside one.
func (w *watcher) ours(path string) bool {
	return slices.ContainsFunc(w.roots, func(root string) bool { return strings.HasPrefix(path, below(root)) })
}

// came takes in that something is there or was written.
func (w *watcher) came(e fsnotify.Event, now time.Time) {
	info, err := os.Lstat(e.Name)
	switch {
	case err != nil:
		w.gone(e.Name)
	case info.IsDir():
		if e.Has(fsnotify.Create) {
			w.search(e.Name, now)
		}
	case !info.Mode().IsRegular():
		w.gone(e.Name)
	case e.Has(fsnotify.Create):
		w.saw(e.Name, traceOf(info), created, now)
	case e.Has(fsnotify.Write):
		w.saw(e.Name, traceOf(info), written, now)
	default: // its time or its rights
		w.saw(e.Name, traceOf(info), found, now)
	}
}

// left forgets what is gone, with all below it.
func (w *watcher) left(path string) {
	w.gone(path)
	inIt := below(path)
	if w.folders[path] {
		w.goneBelow(inIt, true)
	}
	for f := range w.folders {
		if f == path || strings.HasPrefix(f, inIt) {
			w.unhear(f)
		}
	}
}
