package desk

import (
	"context"
	"runtime"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// While pages come from the disk more threads run; as many as before when they no
// longer do, and when the walk ends.
func TestMoreThreadsWhilePagesAreCold(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(2))
	for _, endsCold := range []bool{true, false} {
		var cold atomic.Bool
		var faults atomic.Int64
		ctx, stop := context.WithCancel(t.Context())
		end := inBackground(func() {
			threadsWhileCold(ctx, func() int64 {
				if cold.Load() {
					faults.Add(coldPages)
				}
				return faults.Load()
			})
		}, stop)
		becomes := func(n int) bool {
			return assert.Eventually(t, func() bool { return runtime.GOMAXPROCS(0) == n }, 10*time.Second, coldEvery)
		}
		cold.Store(true)
		becomes(coldReaders)
		if !endsCold {
			cold.Store(false)
			becomes(2)
		}
		end()
		assert.Equal(t, 2, runtime.GOMAXPROCS(0))
	}
}

func TestPagesFromDiskOnlyGrow(t *testing.T) {
	before := pagesFromDisk()
	assert.GreaterOrEqual(t, before, int64(0))
	assert.GreaterOrEqual(t, pagesFromDisk(), before)
}
