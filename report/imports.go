package report

import (
	"io"
	"path/filepath"
	"strings"
)

// The outcomes of a file, as JSON has them.
const (
	Taken   = "taken"
	Known   = "known"    // the same bytes or the same ride are there already
	Twin    = "twin"     // the same outing as another ride: kept, not counted
	Partial = "partial"  // a damaged file of which a part was taken
	NotRide = "not_ride" // whole, but no ride of a bike
	Refused = "refused"
)

// ImportedFile is what became of one file.
type ImportedFile struct {
	File    string   `json:"file"`
	Outcome string   `json:"outcome"`
	Rides   []string `json:"rides"` // names of its rides
	Why     string   `json:"why"`   // where it was not simply taken
	Notes   []string `json:"notes"` // what a reader of its rides must know
	Wrong   []string `json:"wrong"` // rows of a table that were refused, by line and column
	Hint    string   `json:"-"`     // what to do about it
}

// Import is what became of all files of an import.
type Import struct {
	Files    []ImportedFile
	NoBike   int  // rides taken of which the bike is not known yet
	DryRun   bool // nothing was written
	Warnings []string
}

// counts are of files and sum to all of them: a part of a file counts as
// taken, a twin as known.
func (i Import) counts() (taken, known, notRides, refused int) {
	for _, f := range i.Files {
		switch f.Outcome {
		case Taken, Partial:
			taken++
		case Known, Twin:
			known++
		case NotRide:
			notRides++
		default:
			refused++
		}
	}
	return taken, known, notRides, refused
}

func (i Import) rides() int {
	n := 0
	for _, f := range i.Files {
		if f.Outcome == Taken || f.Outcome == Partial {
			n += len(f.Rides)
		}
	}
	return n
}

// ImportSummary writes what was taken and what was not, each refusal with its
// reason and what to do.
func ImportSummary(w io.Writer, i Import, s Style) error {
	p := &page{Style: s}
	p.troubles(i.Files)
	taken, known, notRides, refused := i.counts()
	verb := "took "
	if i.DryRun {
		verb = "would take "
	}
	parts := []string{verb + plural(i.rides(), "ride", "rides") + " from " + plural(taken, "file", "files")}
	for _, c := range []struct {
		n    int
		text string
	}{{known, "known already"}, {notRides, "not a ride"}, {refused, "refused"}} {
		if c.n > 0 {
			parts = append(parts, number(float64(c.n), 0)+" "+c.text)
		}
	}
	p.para("", strings.Join(parts, ", "))
	p.noted(i.Files)
	if i.NoBike > 0 {
		p.para("", plural(i.NoBike, "ride counts", "rides count")+" nowhere yet: no bike is known")
	}
	for _, warning := range i.Warnings {
		p.para("note: ", warning)
	}
	return p.to(w)
}

// troubles says why files were not simply taken, of so many that a person can read
// it: the others are among the refused files, or named when they are read again.
func (p *page) troubles(files []ImportedFile) {
	told, more := 0, 0
	for _, f := range files {
		switch {
		case !f.trouble():
		case told == manyRows:
			more++
		default:
			told++
			p.trouble(f)
		}
	}
	if more > 0 {
		p.para("", "and "+plural(more, "more file", "more files")+" not simply taken: pawl ride list --refused, or --json")
	}
}

// trouble reports whether a file was not simply taken.
func (f ImportedFile) trouble() bool {
	return len(f.Wrong) > 0 || f.Why != "" && f.Outcome != Taken && f.Outcome != Known
}

// trouble says why a file was not simply taken.
func (p *page) trouble(f ImportedFile) {
	for _, row := range f.Wrong[:min(len(f.Wrong), manyRows)] {
		p.para("", clean(row))
	}
	if more := len(f.Wrong) - manyRows; more > 0 {
		p.para("", "and "+plural(more, "more row", "more rows")+" of "+clean(f.File)+", which --json has")
	}
	if f.Why == "" || f.Outcome == Taken || f.Outcome == Known {
		return
	}
	p.para("", clean(f.File)+": "+brief(f.Why, longNote)) // the name whole: it is to be copied
	if f.Hint != "" {
		p.para("  hint: ", f.Hint)
	}
}

// fewNoted is up to how many files with notes are listed one by one.
const fewNoted = 5

// noted tells what a reader of the rides must know: file by file where they
// are few, else each note once, with how many files have it.
func (p *page) noted(files []ImportedFile) {
	var with []ImportedFile
	for _, f := range files {
		if len(f.Notes) > 0 && (f.Outcome == Taken || f.Outcome == Partial) {
			with = append(with, f)
		}
	}
	if len(with) <= fewNoted {
		for _, f := range with {
			p.para("  ", clean(filepath.Base(f.File))+": "+brief(strings.Join(f.Notes, "; "), 10*longNote))
		}
		return
	}
	p.para("  ", plural(len(with), "file has a note", "files have notes")+
		" on what was estimated or left out: pawl ride show RIDE tells")
}

// ImportJSON writes what became of all files as one JSON object.
func ImportJSON(w io.Writer, i Import) error {
	taken, known, notRides, refused := i.counts()
	files := make([]ImportedFile, len(i.Files))
	for n, f := range i.Files {
		f.Rides, f.Notes, f.Wrong = list(f.Rides), list(f.Notes), list(f.Wrong)
		files[n] = f
	}
	return writeJSON(w, struct {
		envelope
		Taken    int            `json:"taken"`
		Known    int            `json:"known"`
		NotRides int            `json:"not_rides"`
		Refused  int            `json:"refused"`
		Files    []ImportedFile `json:"files"`
	}{enclose(i.Warnings), taken, known, notRides, refused, files})
}
