package desk

import (
	"math"
	"runtime/debug"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Of two walks at once, as two readers of the page begin them, the one that ends last
// leaves all as it was before the first.
func TestWalksAtOnceLeaveTheProcessAsItWas(t *testing.T) {
	t.Setenv("GOMEMLIMIT", "")
	defer debug.SetGCPercent(debug.SetGCPercent(77))
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(math.MaxInt64))
	percent := func() int {
		p := debug.SetGCPercent(77)
		debug.SetGCPercent(p)
		return p
	}
	first := collectLate()
	second := collectLate()
	first()
	assert.Equal(t, walkGC, percent(), "the other goes on")
	assert.EqualValues(t, walkMemory, debug.SetMemoryLimit(-1))
	second()
	assert.Equal(t, 77, percent())
	assert.EqualValues(t, math.MaxInt64, debug.SetMemoryLimit(-1))

	d := walkDesk(t, caseWindow)
	var walks sync.WaitGroup
	for range 6 {
		walks.Go(func() {
			_, err := d.DueOf(t.Context(), DueRequest{})
			assert.NoError(t, err)
		})
	}
	walks.Wait()
	assert.Equal(t, 77, percent())
}
