package store

import (
	"fmt"
	"slices"
	"strings"
)

// ErrNoBook is returned when there is no book at the path, or an empty file.
var ErrNoBook error = noBook{}

type noBook struct{}

func (noBook) Error() string { return "no book yet" }

func (noBook) Hint() string {
	return "pawl bike add NAME makes one; pawl demo shows one; --book FILE names another"
}

// NewerError is returned when a later version of pawl wrote the book.
type NewerError struct {
	Path         string
	Format, Ours int
}

// Error names the book and both formats.
func (e *NewerError) Error() string {
	return fmt.Sprintf("book %q: format %d is newer than this pawl's %d", e.Path, e.Format, e.Ours)
}

// Hint says what to do next.
func (e *NewerError) Hint() string { return "use the newer pawl; nothing was changed" }

// HeldError is returned when another program has held the book for too long, or
// does what one program at a time may do.
type HeldError struct {
	Path   string
	Holder string // what the holder says of itself; "" = not known
	What   string // what it does, see [Book.Alone]; "" = it holds the whole book
}

// Error names the holder, and what it does.
func (e *HeldError) Error() string {
	who := e.Holder
	if who == "" {
		who = "another program"
	}
	if e.What != "" {
		return fmt.Sprintf("book %q: %s is under way in %s", e.Path, e.What, who)
	}
	return fmt.Sprintf("book %q: held by %s", e.Path, who)
}

// Hint says what to do next.
func (e *HeldError) Hint() string { return "wait for it to end, or end it, and try again" }

// DamagedError is returned when the file is no book, or is cut or garbled.
type DamagedError struct {
	Path, Why string
	Derived   bool // it is in what is derived from the facts: [Book.Repair] may mend it
}

// Error says what is wrong.
func (e *DamagedError) Error() string { return fmt.Sprintf("book %q: %s", e.Path, e.Why) }

// Hint says what to do next.
func (e *DamagedError) Hint() string {
	if e.Derived {
		return "pawl audit --repair builds anew what is derived from the facts; or restore a backup"
	}
	return "restore a backup, or name another book with --book; the ride files in the folder of originals are not touched"
}

// ReadOnlyError is returned when the book cannot be written.
type ReadOnlyError struct {
	Path string
	Err  error // why; nil = it is marked so
}

// Error says what is wrong.
func (e *ReadOnlyError) Error() string {
	if e.Err == nil {
		return fmt.Sprintf("book %q: read-only", e.Path)
	}
	return fmt.Sprintf("book %q: read-only: %v", e.Path, e.Err)
}

// Unwrap is the system's error.
func (e *ReadOnlyError) Unwrap() error { return e.Err }

// Hint says what to do next.
func (e *ReadOnlyError) Hint() string {
	return "make the file and its folder writable, or copy the book and name the copy with --book"
}

// UnsafeDriveError is returned when two programs could write the book at once,
// because the drive that it lies on does not keep locks.
type UnsafeDriveError struct {
	Path  string
	Drive string // the mount point; "" = not known
	Why   string
}

// Error names the drive and says what is wrong with it.
func (e *UnsafeDriveError) Error() string {
	drive := ""
	if e.Drive != "" {
		drive = fmt.Sprintf(" %q", e.Drive)
	}
	return fmt.Sprintf("book %q: locks do not hold on its drive%s: %s", e.Path, drive, e.Why)
}

// Hint says what to do next.
func (e *UnsafeDriveError) Hint() string {
	return "keep the book on a disk of this machine and name it with --book; folders of rides may be anywhere"
}

// UnknownError is returned when nothing of that name is in the book.
type UnknownError struct {
	Noun, Name string
	Near       []string // names that look like it
}

// Error names it.
func (e *UnknownError) Error() string { return fmt.Sprintf("%s %q: not in the book", e.Noun, e.Name) }

// Hint says what is there; "" = nothing helps.
func (e *UnknownError) Hint() string {
	if len(e.Near) > 0 {
		return "did you mean " + strings.Join(e.Near, " or ") + "?"
	}
	switch e.Noun {
	case bikeNoun, partNoun, personNoun, "ride":
		return fmt.Sprintf("pawl %s list shows them all", e.Noun)
	case "original":
		return "it was not kept; import the file again"
	}
	return ""
}

// AmbiguousError is returned when a short name fits several.
type AmbiguousError struct {
	Noun, Name string
	Fits       []string // more than mostFits where there are others too
}

// mostFits is how many names an ambiguous one is said to be short for.
const mostFits = 5

// Error names what it could be.
func (e *AmbiguousError) Error() string {
	fits := e.Fits
	if len(fits) > mostFits {
		fits = append(slices.Clone(fits[:mostFits]), "others")
	}
	return fmt.Sprintf("%s %q: could be %s", e.Noun, e.Name, strings.Join(fits, " or "))
}

// Hint says what to do next.
func (e *AmbiguousError) Hint() string {
	if e.Noun == personNoun {
		return "type more of the name, or the e-mail address"
	}
	return "type more of the name"
}

// ConflictError is returned when a fact contradicts what the book holds.
type ConflictError struct {
	Noun, Name string // what was to be written
	Why        string // what it contradicts
	Do         string // what to do next
}

// Error says what contradicts what.
func (e *ConflictError) Error() string { return fmt.Sprintf("%s %q: %s", e.Noun, e.Name, e.Why) }

// Hint says what to do next.
func (e *ConflictError) Hint() string { return e.Do }

// corrupt is a record that does not decode: the book is damaged.
func (t *Tx) corrupt(bucket string, key []byte, err error) error {
	derived := slices.ContainsFunc(derivedBuckets, func(name []byte) bool { return string(name) == bucket })
	return &DamagedError{t.book.path, fmt.Sprintf("%s %x: %v", bucket, key, err), derived}
}
