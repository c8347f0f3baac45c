package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/gofrs/flock"
)

// patience is how long an operation waits for the book.
const patience = 10 * time.Second

// gate is the lock around the book: whoever wants it takes the turn first and
// keeps it until it has the lock, so that a writer is passed by no reader that
// came after it. bbolt's own lock fails or starves where this one queues.
type gate struct {
	turn, lock *flock.Flock
	again      *flock.Flock // the lock once more, for the probe
}

func (b *Book) gate() gate { return b.gateWith() }

// frozenGate is the gate where no lock file can be made.
func (b *Book) frozenGate() gate {
	return b.gateWith(flock.SetFlag(os.O_RDONLY))
}

func (b *Book) gateWith(o ...flock.Option) gate {
	turn, lock := b.path+".turn", b.path+".lock"
	return gate{flock.New(turn, o...), flock.New(lock, o...), flock.New(lock, o...)}
}

// enter queues and then takes the lock, blocking.
func (g gate) enter(exclusive bool) error {
	if err := g.turn.Lock(); err != nil {
		return err
	}
	defer g.turn.Close()
	if exclusive {
		return g.lock.Lock()
	}
	return g.lock.RLock()
}

// acquire takes the lock within the book's patience and returns what gives it back.
func (b *Book) acquire(ctx context.Context, exclusive bool) (func(), error) {
	g := b.gate()
	err := b.wait(ctx, g, exclusive)
	if unwritable(err) && exclusive {
		return nil, &ReadOnlyError{b.path, err}
	}
	if unwritable(err) {
		g = b.frozenGate()
		err = b.wait(ctx, g, false)
		if unwritable(err) || errors.Is(err, fs.ErrNotExist) {
			return func() {}, nil // read-only media: nobody can write
		}
	}
	if noLocks(err) {
		return nil, b.unsafe(err.Error())
	}
	if err != nil {
		return nil, err
	}
	if err := b.probe(g); err != nil {
		_ = g.lock.Close()
		return nil, err
	}
	if !exclusive {
		return func() { _ = g.lock.Close() }, nil
	}
	b.sign(g.lock.Path())
	return func() { unsign(g.lock.Path()); _ = g.lock.Close() }, nil
}

// wait runs enter beside a clock, because a blocking lock cannot be called back:
// one that comes too late is let go at once.
func (b *Book) wait(ctx context.Context, g gate, exclusive bool) error {
	entered := make(chan error, 1)
	go func() { entered <- g.enter(exclusive) }()
	clock := time.NewTimer(b.patience())
	defer clock.Stop()
	var err error
	select {
	case err = <-entered:
		return err
	case <-ctx.Done():
		err = ctx.Err()
	case <-clock.C:
		err = &HeldError{Path: b.path, Holder: holder(b.path + ".lock")}
	}
	go func() {
		if <-entered == nil {
			_ = g.lock.Close()
		}
	}()
	return err
}

func (b *Book) patience() time.Duration {
	if b.o.Patience > 0 {
		return b.o.Patience
	}
	return patience
}

// unwritable reports whether a lock file could not be made or opened.
func unwritable(err error) bool {
	return errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS)
}

// sign writes the holder's name into the lock file, for others to read. It is a
// courtesy: that it cannot be written is no error.
func (b *Book) sign(lock string) {
	name := b.o.Command
	if name == "" {
		name = filepath.Base(os.Args[0])
	}
	_ = os.WriteFile(lock, fmt.Appendf(nil, "%d %s\n", os.Getpid(), name), 0o600)
}

func unsign(lock string) { _ = os.Truncate(lock, 0) }

// holder reads who signed; a name left by a program that has died is no holder.
func holder(lock string) string {
	raw, _ := os.ReadFile(lock)
	pid, name, ok := strings.Cut(strings.TrimSpace(string(raw)), " ")
	n, err := strconv.Atoi(pid)
	if !ok || err != nil || n <= 0 || !alive(n) {
		return ""
	}
	return fmt.Sprintf("%q (process %d)", name, n)
}

func alive(pid int) bool {
	p, err := os.FindProcess(pid)
	if err != nil {
		return false
	}
	err = p.Signal(syscall.Signal(0))
	return err == nil || errors.Is(err, fs.ErrPermission)
}
