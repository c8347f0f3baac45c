package main

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"pawl/ingest/rig"
)

// Friends who ride one trail together, half of the pairs at once and half 20 s
// apart, with nothing in their files that tells a bike, remain two rides; the
// exports of their rides count with them, not beside them.
func TestFriendsAreTwoRides(t *testing.T) {
	pairs := 30
	if raced {
		pairs = 4
		t.Log("with the race detector: 4 pairs instead of 30")
	}
	dir, book := watchedYard(t)
	pawl(t, "--book", book, "bike", "add", "his")
	pawl(t, "--book", book, "bike", "add", "hers")
	for i := range pairs {
		start := time.Date(2026, 3, 1+i, 9, 0, 0, 0, time.UTC)
		his := rig.Spec{Seed: uint64(2*i) + 1, Serial: uint32(2*i) + 1, Trail: uint64(i) + 1, Start: start, Minutes: 20}
		hers := his
		hers.Seed, hers.Serial, hers.Start = his.Seed+1, his.Serial+1, start.Add(time.Duration(i%2)*20*time.Second)
		for name, spec := range map[string]rig.Spec{"his": his, "hers": hers} {
			ride := rig.Make(spec)
			putFile(t, filepath.Join(dir, fmt.Sprintf("%s-%02d.fit", name, i)), ride.FIT())
			putFile(t, filepath.Join(dir, fmt.Sprintf("%s-%02d.gpx", name, i)), ride.GPX())
		}
	}
	said := passHastily(t, book, dir)
	states := map[string]int{}
	for _, r := range listRides(t, book) {
		states[r.Format+" "+r.State]++
	}
	assert.Equal(t, map[string]int{"fit counted": 2 * pairs, "gpx twin": 2 * pairs}, states)
	t.Logf("%d questions about %d pairs", said.lines("overlap in time"), pairs)
	assert.Contains(t, pawl(t, "--book", book, "audit"), "every sum agrees with the facts")
}
