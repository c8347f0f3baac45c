package desk

import "sync"

// whileWalking is a choice for the whole process that holds while fleets are walked:
// the first of several walks at once makes it, and the last takes it back. Would each
// do so for itself, the one that began second and ends last would leave behind what
// the first had chosen.
type whileWalking struct {
	mu   sync.Mutex
	n    int // walks
	undo func()
}

var lateness, coldness whileWalking

// begin makes the choice where no other walk has, until end is called once.
func (w *whileWalking) begin(choose func() (undo func())) (end func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.n++; w.n == 1 {
		w.undo = choose()
	}
	return w.end
}

func (w *whileWalking) end() {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.n--; w.n == 0 {
		w.undo()
	}
}
