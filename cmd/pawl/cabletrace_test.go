package main

import (
	"encoding/hex"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// traced are the system calls by which files and names change.
const traced = "openat,creat,pwrite64,write,pwritev,pwritev2,truncate,ftruncate,fallocate,fsync,fdatasync,sync_file_range," +
	"rename,renameat,renameat2,unlink,unlinkat,rmdir,link,linkat,symlinkat,mkdir,mkdirat,close,dup,copy_file_range"

// tracer is strace, where it is there and may trace: some machines forbid it.
func tracer(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("strace")
	if err != nil && os.Getenv("CI") == "true" {
		t.Fatalf("strace is missing: %v", err)
	}
	if err == nil {
		err = exec.Command(path, "-o", os.DevNull, "true").Run()
	}
	if err != nil {
		t.Skipf("strace does not run: %v", err)
	}
	return path
}

// recorded reports whether a file is of those that a power cut matters to: all
// but the locks, which nobody reads back.
func recorded(rel string) bool {
	return strings.HasPrefix(rel, cableBook) && !strings.HasSuffix(rel, ".lock") && !strings.HasSuffix(rel, ".turn")
}

// trace gathers the ops of programs that run one after the other on one folder.
type trace struct {
	dir   string // without links
	ops   []op
	known map[string]bool // names that are there
}

// run runs a program under strace and appends what it did.
func (tr *trace) run(t *testing.T, strace string, words ...string) {
	t.Helper()
	log := filepath.Join(t.TempDir(), "log")
	cmd := exec.Command(strace, append([]string{"-f", "-y", "-xx", "-s", "16777216", "-o", log, "-e", "trace=" + traced}, words...)...)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	raw, err := os.ReadFile(log)
	require.NoError(t, err)
	for _, call := range calls(string(raw)) {
		require.NoError(t, tr.take(call))
	}
}

// call is a system call that did not fail.
type call struct {
	name string
	args []string
	ret  string
}

// calls reads a log of strace -f, in the order in which the calls ended. With -xx
// every string is hexadecimal, so that no character of one can mislead.
func calls(log string) []call {
	var all []call
	begun := map[string]string{}
	for line := range strings.Lines(log) {
		pid, text, _ := strings.Cut(strings.TrimSpace(line), " ")
		text = strings.TrimSpace(text)
		if head, is := strings.CutSuffix(text, " <unfinished ...>"); is {
			begun[pid] = head
			continue
		}
		if _, tail, is := strings.Cut(text, " resumed>"); is && strings.HasPrefix(text, "<... ") {
			text = begun[pid] + tail
		}
		name, rest, is := strings.Cut(text, "(")
		end := strings.LastIndex(rest, ") ")
		if !is || end < 0 {
			continue // a signal, or the end of a thread
		}
		ret := strings.TrimPrefix(strings.TrimSpace(rest[end+1:]), "= ")
		if strings.HasPrefix(ret, "-") || strings.HasPrefix(ret, "?") {
			continue
		}
		all = append(all, call{name, strings.Split(rest[:end], ", "), ret})
	}
	return all
}

// take turns a call into an op, where it is one on what is recorded. A call that
// it does not know how to replay is an error there.
func (tr *trace) take(c call) error {
	switch c.name {
	case "close", "dup":
		return nil // files are told by their path, not by number
	case "openat", "creat":
		return tr.opened(c)
	case "write":
		if strings.HasPrefix(c.args[0], "1<") {
			tr.ops = append(tr.ops, op{kind: opSaid})
			return nil
		}
	}
	var paths []string
	for _, arg := range c.args {
		if rel, is := tr.within(arg); is {
			paths = append(paths, rel)
		}
	}
	if len(paths) == 0 {
		return nil
	}
	o, err := tr.op(c, paths)
	if err != nil {
		return fmt.Errorf("%s of %q: %w", c.name, paths, err)
	}
	tr.ops = append(tr.ops, o)
	return nil
}

// within is the path, relative to the folder, of an argument that names a file
// or a descriptor of one.
func (tr *trace) within(arg string) (rel string, is bool) {
	text := strings.Trim(arg, `"`)
	if from := strings.IndexByte(arg, '<'); from >= 0 {
		text = strings.TrimSuffix(arg[from+1:], ">")
		if strings.HasPrefix(arg, "AT_FDCWD") {
			return "", false
		}
	} else if text == arg || len(arg) > 4*4096 {
		return "", false // no string, or one that is too long for a path
	}
	raw, err := unhex(text)
	if err != nil {
		return "", false
	}
	rel, err = filepath.Rel(tr.dir, string(raw))
	return rel, err == nil && (rel == "." || recorded(rel))
}

func unhex(s string) ([]byte, error) { return hex.DecodeString(strings.ReplaceAll(s, `\x`, "")) }

func (tr *trace) opened(c call) error {
	rel, is := tr.within(c.ret)
	flags := strings.Split(c.args[min(2, len(c.args)-1)], "|")
	switch {
	case !is || rel == ".":
	case !tr.known[rel] && slices.Contains(flags, "O_CREAT"):
		tr.known[rel] = true
		tr.ops = append(tr.ops, op{kind: opCreate, path: rel})
	case slices.Contains(flags, "O_TRUNC"):
		tr.ops = append(tr.ops, op{kind: opLength, path: rel})
	case slices.Contains(flags, "O_APPEND"), c.name == "creat":
		return fmt.Errorf("%s of %q: not known how to replay", c.name, rel)
	}
	return nil
}

func (tr *trace) op(c call, paths []string) (o op, err error) {
	o.path = paths[0]
	switch c.name {
	case "pwrite64":
		o.kind = opWrite
		return o, written(&o, c)
	case "ftruncate", "truncate":
		o.kind = opLength
		o.at, err = strconv.ParseInt(c.args[1], 10, 64)
	case "fsync", "fdatasync":
		o.kind, o.folder = opSync, o.path == "." || o.path == cableBook+".originals"
	case "mkdir", "mkdirat":
		o.kind = opFolder
	case "unlink", "unlinkat":
		o.kind = opRemove
		delete(tr.known, o.path)
	case "rename", "renameat", "renameat2":
		if len(paths) != 2 {
			return o, fmt.Errorf("leads out of the folder")
		}
		o.kind, o.to = opRename, paths[1]
		delete(tr.known, o.path)
		tr.known[o.to] = true
	default:
		return o, fmt.Errorf("not known how to replay")
	}
	return o, err
}

// written reads what a pwrite64 wrote where.
func written(o *op, c call) error {
	if len(c.args) != 4 {
		return fmt.Errorf("%d arguments", len(c.args))
	}
	n, err := strconv.Atoi(c.ret)
	if err != nil {
		return err
	}
	if o.data, err = unhex(strings.Trim(c.args[1], `"`)); err != nil {
		return err // also where strace has cut it short
	}
	o.data = o.data[:n]
	o.at, err = strconv.ParseInt(c.args[3], 10, 64)
	return err
}
