// Command pawl tells whoever looks after mountain bikes what is worn, what is
// loose, what to order and when, from the rides themselves.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"strings"
	"syscall"
	"time"
	"unicode"

	_ "time/tzdata" // the book's zone means the same on every machine

	"golang.org/x/term"

	"pawl/cmd/internal/desk"
	"pawl/report"
)

// The exit codes.
const (
	exitDone   = 0
	exitFailed = 1 // also: some files of an import were refused; the others are in
	exitWrong  = 2 // wrong use
	exitDue    = 3 // due --check: something is due
	exitStop   = 4 // due --check: something is stop, or a bike is held back
)

func main() {
	collectLate()
	ctx, cancel := interruptible()
	defer cancel()
	os.Exit(exitCode(run(ctx, os.Args[1:], system()), os.Stderr))
}

// interruptible ends with the first interrupt, so that what is begun is finished.
func interruptible() (context.Context, context.CancelFunc) {
	return signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
}

// lateGC puts the first garbage collection off from 4 MB of heap to 16. Nothing
// else sets just this percentage, by which it is known again.
const lateGC = 390

// collectLate puts the first garbage collection off, which most commands then
// never reach; from then on all is as without it. It took 4 ms of the 22 of one
// more ride in a large book.
func collectLate() {
	if os.Getenv("GOGC") == "" {
		afterCollection(debug.SetGCPercent(lateGC))
	}
}

// afterCollection sets the percentage after the next collection, or where another
// is in force then, which a walk over a fleet sets for its time, after a later one.
func afterCollection(percent int) {
	runtime.AddCleanup(new(*int), func(percent int) {
		if other := debug.SetGCPercent(percent); other != lateGC {
			debug.SetGCPercent(other)
			afterCollection(percent)
		}
	}, percent)
}

// machine is what a command knows of the world around it.
type machine struct {
	in       io.Reader
	out, err io.Writer
	env      func(string) string
	now      time.Time        // the moment at which the command runs
	clock    func() time.Time // of a command that runs for days
	terminal func(io.Writer) (columns int, is bool)
}

func system() machine {
	return machine{
		in: os.Stdin, out: os.Stdout, err: os.Stderr, env: os.Getenv, now: time.Now(), clock: time.Now,
		terminal: func(w io.Writer) (int, bool) {
			f, ok := w.(*os.File)
			if !ok || !term.IsTerminal(int(f.Fd())) {
				return 0, false
			}
			columns, _, err := term.GetSize(int(f.Fd()))
			return columns, err == nil
		},
	}
}

// run is the whole program: words in, words out, an error that tells the exit code.
func run(ctx context.Context, args []string, m machine) error {
	a := &app{machine: m}
	root := newRoot(a)
	if completing(args) {
		a.completes(root)
	}
	root.SetArgs(args)
	return root.ExecuteContext(ctx)
}

// statusError ends the program with a code and says nothing more.
type statusError int

// Error is for logs; users see what was printed before.
func (s statusError) Error() string { return fmt.Sprintf("status %d", int(s)) }

// exitCode tells the user what went wrong and returns the program's exit code.
func exitCode(err error, w io.Writer) int {
	var status statusError
	var wrong *desk.MistakeError
	var beyond *report.PageError
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &status):
		return int(status)
	}
	complain(w, helped(err))
	if errors.As(err, &wrong) || errors.As(err, &beyond) {
		return exitWrong
	}
	return exitFailed
}

// helped gives an error that comes from the system, or from an empty book, the
// hint that it lacks.
func helped(err error) error {
	var hinted interface{ Hint() string }
	switch {
	case desk.Empty(err):
		return &desk.RefusalError{
			Msg: "the book is empty: no bikes and no rides yet",
			Tip: `pawl bike add "my bike" --sheet trail, then pawl import RIDES-FOLDER; a hire fleet: pawl fleet read FILE.csv (pawl demo shows how it looks)`,
		}
	case errors.Is(err, syscall.ENOSPC):
		return &desk.RefusalError{
			Msg: err.Error(), Tip: "free some room on the disk, then type the same command again: what is in stays in",
		}
	case errors.As(err, &hinted):
	case errors.Is(err, fs.ErrPermission):
		return &desk.RefusalError{Msg: err.Error(), Tip: "name another place, or ask whose it is"}
	}
	return err
}

// complain is the one form in which errors reach a person.
func complain(w io.Writer, err error) {
	fmt.Fprintf(w, "pawl: %s\n", oneLine(err.Error()))
	var hinted interface{ Hint() string }
	if errors.As(err, &hinted) && hinted.Hint() != "" {
		fmt.Fprintf(w, "hint: %s\n", oneLine(hinted.Hint()))
	}
}

// oneLine keeps a message from a hostile file on one line of harmless characters.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\r' || r == '\t' || r == '\u2028' || r == '\u2029':
			return ' '
		case r < 0x20 || r == 0x7f || r >= 0x80 && r < 0xa0 || unicode.Is(unicode.Bidi_Control, r):
			return '\uFFFD'
		}
		return r
	}, s)
}
