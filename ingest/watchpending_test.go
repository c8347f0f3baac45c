package ingest

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// shelf is a pending over files that are only said to be there.
type shelf struct {
	*pending
	files map[string]trace
	cut   map[string]bool
	read  int // how often a file was read
}

var noon = time.Date(2025, 6, 1, 12, 0, 0, 0, time.UTC)

// after is so many seconds after noon.
func after(seconds float64) time.Time {
	return noon.Add(time.Duration(seconds * float64(time.Second)))
}

func newShelf(t *testing.T) *shelf {
	t.Helper()
	d := &shelf{newPending(500*time.Millisecond, time.Minute), map[string]trace{}, map[string]bool{}, 0}
	d.look = func(path string) (trace, bool) { tr, ok := d.files[path]; return tr, ok }
	d.whole = func(path string) bool { d.read++; return !d.cut[path] }
	return d
}

// put writes a file and tells of it.
func (d *shelf) put(path string, size int64, how news, at time.Time) {
	d.files[path] = trace{size: size, mtime: at.UnixNano(), inode: 7}
	d.saw(path, d.files[path], how, at)
}

// at is what is ready then.
func (d *shelf) at(seconds float64) []string {
	ready, _ := d.due(after(seconds))
	return ready
}

func TestPendingWaitsUntilAFileIsStill(t *testing.T) {
	d := newShelf(t)
	d.put("a", 1, created, after(0))
	ready, next := d.due(after(0.1))
	assert.Empty(t, ready)
	assert.Equal(t, after(0.5), next)
	d.put("a", 2, written, after(0.4))
	assert.Empty(t, d.at(0.5))
	assert.Zero(t, d.read, "it is not read while it changes")
	assert.Equal(t, []string{"a"}, d.at(0.9))
	assert.Equal(t, []string{"a"}, d.at(0.95), "until it is done")
	d.done([]string{"a"})
	ready, next = d.due(after(100))
	assert.Empty(t, ready)
	assert.Zero(t, next, "there is nothing to wait for")
}

func TestPendingSeesChangesNobodyTold(t *testing.T) {
	d := newShelf(t)
	d.put("a", 1, found, after(0))
	d.files["a"] = trace{size: 2}
	assert.Empty(t, d.at(0.5))
	assert.Equal(t, []string{"a"}, d.at(1))
	delete(d.files, "a")
	assert.Empty(t, d.at(1.1), "it went away before it was handed over")
	assert.Empty(t, d.waiting)
}

func TestPendingIsPatientWithWhatIsCut(t *testing.T) {
	d := newShelf(t)
	d.cut["a"] = true
	d.put("a", 1, created, after(0))
	assert.Empty(t, d.at(0.5))
	ready, next := d.due(after(59.8))
	assert.Empty(t, ready)
	assert.Equal(t, after(60), next)
	assert.Equal(t, 1, d.read, "it is read once as long as it does not change")
	assert.Equal(t, []string{"a"}, d.at(60), "it is refused with its reason then")
}

func TestPendingTakesAtOnceWhatWasFinished(t *testing.T) {
	d := newShelf(t)
	d.cut["a"] = true
	d.put("a", 1, created, after(0))
	assert.Empty(t, d.at(0.5))
	d.cut["a"] = false
	d.saw("a", d.files["a"], written, after(3)) // filled in where room was set aside: size and time are as before
	assert.Equal(t, []string{"a"}, d.at(3.5))
}

func TestPendingKnowsWhatWasHandedOver(t *testing.T) {
	same := trace{size: 1, mtime: noon.UnixNano(), inode: 7}
	for name, c := range map[string]struct {
		now  trace
		how  news
		want bool
	}{
		"found again":                        {same, found, false},
		"told of, but the same":              {same, written, false},
		"moved away and back":                {same, created, false},
		"longer":                             {trace{2, same.mtime, 0, 7}, written, true},
		"longer, and nobody told":            {trace{2, same.mtime, 0, 7}, found, true},
		"as long, but later":                 {trace{1, same.mtime + 1, 0, 7}, found, true},
		"to be read by others now":           {trace{1, same.mtime, 0o444, 7}, found, true},
		"another of the same length put":     {trace{1, same.mtime, 0, 8}, created, true},
		"renumbered by FAT or a network":     {trace{1, same.mtime, 0, 8}, found, false},
		"renumbered, and told of its rights": {trace{1, same.mtime, 0, 8}, written, false},
	} {
		d := newShelf(t)
		d.put("a", 1, created, noon)
		d.done(d.at(1))
		d.files["a"] = c.now
		d.saw("a", c.now, c.how, after(10))
		assert.Equal(t, c.want, len(d.at(11)) == 1, name)
	}
}

func TestPendingForgets(t *testing.T) {
	d := newShelf(t)
	for _, path := range []string{"x/a", "x/y/b", "xy"} {
		d.put(path, 1, created, noon)
	}
	d.done(d.at(1))
	d.gone("x/a")
	assert.Len(t, d.known, 2)
	d.round++
	d.saw("x/y/b", d.files["x/y/b"], found, after(2))
	d.goneBelow("x/", false)
	assert.Len(t, d.known, 2, "seen in this round, or elsewhere")
	d.goneBelow("x/", true)
	assert.Len(t, d.known, 1)
	d.put("x/y/b", 1, created, noon)
	assert.Equal(t, []string{"x/y/b"}, d.at(3), "it is new again")
	d.goneBelow("x/", true)
	assert.Empty(t, d.at(4))
}

func TestPendingHoldsWhatIsReady(t *testing.T) {
	d := newShelf(t)
	d.put("a", 1, created, noon)
	assert.Equal(t, []string{"a"}, d.at(1))
	d.hold(after(10))
	d.put("b", 1, created, after(2))
	assert.Empty(t, d.at(3))
	ready, next := d.due(after(9))
	assert.Empty(t, ready)
	assert.Equal(t, after(10), next)
	assert.Equal(t, []string{"a", "b"}, d.at(10))
}

func TestPendingHandsOverSoManyAtATime(t *testing.T) {
	d := newShelf(t)
	for i := range 2*maxHanded + 1 {
		d.put(fmt.Sprintf("%04d", i), 1, found, noon)
	}
	var sizes []int
	for range 3 {
		ready, next := d.due(after(1))
		assert.IsIncreasing(t, ready)
		sizes = append(sizes, len(ready))
		d.done(ready)
		assert.Equal(t, len(sizes) < 3, next.Equal(after(1)), "there are more, or nothing")
	}
	assert.Equal(t, []int{maxHanded, maxHanded, 1}, sizes)
}

func TestPendingGivesUpOnTheRestless(t *testing.T) {
	d := newShelf(t)
	d.put("b", 1, found, noon)
	for i := range 10 {
		at := float64(i) / 4
		d.put("a", int64(i), written, after(at))
		assert.NotContains(t, d.at(at), "a")
	}
	assert.Empty(t, d.restless(3*time.Second))
	d.put("a", 11, written, after(3))
	assert.Equal(t, []string{"a"}, d.restless(3*time.Second))
	assert.Equal(t, []string{"b"}, d.at(1000), "however late its turn comes")
}
