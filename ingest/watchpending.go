package ingest

import (
	"io/fs"
	"slices"
	"strings"
	"time"
)

const (
	maxHanded = 200 // files that are handed over at a time
	lookAgain = time.Second
)

// trace is by what a file is known again without reading it.
type trace struct {
	size  int64       // bytes
	mtime int64       // ns since 1970
	mode  fs.FileMode // who may read it
	inode uint64      // 0 where the system has none
}

// same reports whether nothing was written in between, and the same people may
// read it. The inode is left out: on FAT and many network mounts it is made up
// anew whenever the system likes.
func (t trace) same(u trace) bool { return t.size == u.size && t.mtime == u.mtime && t.mode == u.mode }

// news is how a file came to be looked at.
type news uint8

const (
	found   news = iota // by a search
	written             // the system told that something was done to it
	created             // the system told that it came or took another's place
)

// pending knows which files were handed over and which are to be. It asks no
// clock: whoever calls it says what time it is.
type pending struct {
	settle   time.Duration
	patience time.Duration
	look     func(path string) (trace, bool) // false: no such file
	whole    func(path string) bool

	known   map[string]memo
	waiting map[string]*wait
	round   uint32    // of searches
	held    time.Time // nothing is handed over before that
	soonest time.Time // nothing is to be done before that; zero: at no time
}

// memo is a file that was handed over.
type memo struct {
	trace
	round uint32 // in which it was last seen
}

// wait is a file that was not handed over yet as it is now.
type wait struct {
	trace
	first time.Time // when it was first seen
	since time.Time // when it was last seen to have changed
	due   time.Time // when to look at it next
	cut   bool      // it was read and is not complete
	ready bool
}

func newPending(settle, patience time.Duration) *pending {
	return &pending{settle: settle, patience: patience, known: map[string]memo{}, waiting: map[string]*wait{}}
}

// saw takes in that a file is there.
func (p *pending) saw(path string, t trace, how news, now time.Time) {
	m, ok := p.known[path]
	if ok {
		m.round = p.round
		p.known[path] = m
	}
	if ok && m.same(t) && (how != created || m.inode == t.inode) {
		delete(p.waiting, path)
		return
	}
	w := p.waiting[path]
	if w == nil {
		w = &wait{first: now}
		p.waiting[path] = w
	} else if how == found && w.same(t) {
		return
	}
	p.start(w, t, now)
}

// start waits for the file to be still from now on.
func (p *pending) start(w *wait, t trace, now time.Time) {
	w.trace, w.since, w.due = t, now, now.Add(p.settle)
	w.cut, w.ready = false, false
	p.wake(w.due)
}

func (p *pending) wake(at time.Time) {
	if p.soonest.IsZero() || at.Before(p.soonest) {
		p.soonest = at
	}
}

// gone forgets a file.
func (p *pending) gone(path string) {
	delete(p.known, path)
	delete(p.waiting, path)
}

// goneBelow forgets the files of a folder, all of them or those that this round
// did not find. folder ends in a separator.
func (p *pending) goneBelow(folder string, all bool) {
	for path, m := range p.known {
		if strings.HasPrefix(path, folder) && (all || m.round != p.round) {
			delete(p.known, path)
		}
	}
	for path := range p.waiting { // what only was not found is found out when it is due
		if all && strings.HasPrefix(path, folder) {
			delete(p.waiting, path)
		}
	}
}

// due looks at the files whose time has come and returns those that are to be
// handed over, by name, and when to call it next; zero says not before a file
// is seen. What it returns stays ready until it is done.
func (p *pending) due(now time.Time) (ready []string, next time.Time) {
	p.soonest = time.Time{}
	var names []string
	for path, w := range p.waiting {
		if at := p.when(w); at.After(now) {
			p.wake(at)
		} else {
			names = append(names, path)
		}
	}
	slices.Sort(names)
	for i, path := range names {
		if len(ready) == maxHanded || i == 4*maxHanded {
			p.wake(now)
			break
		}
		if p.judge(path, p.waiting[path], now) {
			ready = append(ready, path)
		}
	}
	return ready, p.soonest
}

// when is the time at which something can be done for a file.
func (p *pending) when(w *wait) time.Time {
	if w.ready && w.due.Before(p.held) {
		return p.held
	}
	return w.due
}

// judge looks at a file and reports whether it is to be handed over.
func (p *pending) judge(path string, w *wait, now time.Time) bool {
	t, there := p.look(path)
	if !there {
		p.gone(path)
		return false
	}
	if !w.same(t) {
		p.start(w, t, now)
		return false
	}
	w.inode = t.inode
	if w.ready {
		return true
	}
	patient := w.since.Add(p.patience)
	w.cut = w.cut || now.Before(patient) && !p.whole(path)
	if w.cut && now.Before(patient) {
		w.due = now.Add(min(lookAgain, patient.Sub(now)))
		p.wake(w.due)
		return false
	}
	w.ready = true
	if now.Before(p.held) {
		p.wake(p.held)
		return false
	}
	return true
}

// done remembers files as handed over.
func (p *pending) done(files []string) {
	for _, path := range files {
		if w := p.waiting[path]; w != nil {
			p.known[path] = memo{w.trace, p.round}
			delete(p.waiting, path)
		}
	}
}

// hold keeps all that is ready until then.
func (p *pending) hold(until time.Time) {
	p.held = until
	p.wake(until)
}

// restless are the files that were still changing so long after they were first
// seen, by name. They are forgotten.
func (p *pending) restless(long time.Duration) (files []string) {
	for path, w := range p.waiting {
		if w.since.Sub(w.first) >= long {
			files = append(files, path)
			delete(p.waiting, path)
		}
	}
	slices.Sort(files)
	return files
}
