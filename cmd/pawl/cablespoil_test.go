package main

import (
	"slices"
	"strings"
)

// Orders of writing that a power cut does not forgive, made from a good one.

func ofPack(o op) bool { return strings.HasSuffix(o.path, ".pack") }

// originalsLate syncs the originals of a run only after its last other sync.
func originalsLate(ops []op) (out []op) {
	var late []op
	for _, o := range ops {
		switch {
		case o.kind == opSync && ofPack(o):
			late = append(late, o)
			continue
		case o.kind == opSaid:
			out, late = append(out, late...), nil
		}
		out = append(out, o)
	}
	return out
}

// pagesUnsynced leaves out the sync between the pages of a commit and the meta
// page that speaks of them, which is one of the first two.
func pagesUnsynced(ops []op) (out []op) {
	for i, o := range ops {
		meta := i+1 < len(ops) && ops[i+1].kind == opWrite && ops[i+1].at < 2*4096 && !ofPack(ops[i+1])
		if o.kind != opSync || !meta {
			out = append(out, o)
		}
	}
	return out
}

func folderUnsynced(ops []op) []op {
	return slices.DeleteFunc(slices.Clone(ops), func(o op) bool { return o.kind == opSync && o.folder && o.path == "." })
}

// saidEarly acknowledges each run before its last sync.
func saidEarly(ops []op) []op {
	out, last := slices.Clone(ops), -1
	for i, o := range out {
		switch {
		case o.kind == opSync:
			last = i
		case o.kind == opSaid && last >= 0:
			copy(out[last+1:i+1], out[last:i])
			out[last] = o
			last = -1
		}
	}
	return out
}

// inPlace writes the book under its own name from the first.
func inPlace(ops []op) (out []op) {
	for _, o := range ops {
		if o.kind == opRename {
			continue
		}
		o.path = strings.TrimSuffix(o.path, ".new")
		out = append(out, o)
	}
	return out
}
