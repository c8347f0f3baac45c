package main

import (
	"runtime"
	"runtime/debug"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// The first collection is put off, those after it are not.
func TestCollectLate(t *testing.T) {
	t.Setenv("GOGC", "")
	usual := debug.SetGCPercent(70)
	defer debug.SetGCPercent(usual)
	percent := func() int {
		p := debug.SetGCPercent(100)
		debug.SetGCPercent(p)
		return p
	}
	collectLate()
	assert.Equal(t, lateGC, percent())
	assert.Eventually(t, func() bool { runtime.GC(); return percent() == 70 }, 10*time.Second, time.Millisecond)
	collectLate()
	debug.SetGCPercent(90) // as a walk over a fleet does
	for range 3 {
		runtime.GC()
		time.Sleep(time.Millisecond)
	}
	assert.Equal(t, 90, percent(), "for as long as it lasts")
	debug.SetGCPercent(lateGC)
	assert.Eventually(t, func() bool { runtime.GC(); return percent() == 70 }, 10*time.Second, time.Millisecond)
	t.Setenv("GOGC", "50")
	collectLate()
	assert.Equal(t, 70, percent(), "whoever runs it says otherwise")
}
