package desk

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"pawl/wear"
)

// propRules are the rules by which the histories remind.
var propRules = wear.RemindRules{Every: 14 * wear.Day, Again: 30 * wear.Day}

// folk is what the notes know of a person.
type folk struct {
	id        wear.ID
	name      string   // as it is now
	names     []string // all that there were
	email     string   // as it is now
	emails    []string // all that there were
	consent   bool
	forgotten bool
	written   bool // the name was put on a bike
	named     bool // something of others named the person when it was forgotten
	accepted  []posting
}

// posting is a message as it went out.
type posting struct {
	wear.Message
	on wear.Instant
}

// notes are the test's own book: by them it judges what is posted.
type notes struct {
	t       *testing.T
	now     time.Time
	people  []*folk
	touched map[wear.ID]wear.Instant // part: last worked on, or looked at
	undone  wear.Instant             // the last undo, which may have touched any
	ids     map[uint64]string        // Message-ID by message
	taken   map[uint64]bool          // the server has it, whatever it said
	count   map[string]int
}

func newNotes(t *testing.T, now time.Time) *notes {
	return &notes{
		t: t, now: now, touched: map[wear.ID]wear.Instant{}, ids: map[uint64]string{}, taken: map[uint64]bool{}, count: map[string]int{},
	}
}

func (n *notes) at() wear.Instant { return wear.At(n.now) }

// of finds a person; nil = none was ever noted.
func (n *notes) of(id wear.ID) *folk {
	for _, p := range n.people {
		if p.id == id {
			return p
		}
	}
	return nil
}

// living are the people who were not forgotten.
func (n *notes) living() (list []*folk) {
	for _, p := range n.people {
		if !p.forgotten {
			list = append(list, p)
		}
	}
	return list
}

// out judges a message that goes out now.
func (n *notes) out(m wear.Message) {
	n.count["out"]++
	p := n.of(m.Person)
	switch {
	case p == nil:
		n.fault(m, "to nobody of the book")
		return
	case p.forgotten:
		n.fault(m, "after the person was forgotten")
	case !p.consent:
		n.fault(m, "without consent")
	case p.email == "" || m.To != p.email:
		n.fault(m, "to %q, not to the present address %q", m.To, p.email)
	}
	if n.taken[m.ID] && !m.Twice {
		n.fault(m, "again, and not marked so")
	}
	if id, again := n.ids[m.ID]; again && id != m.MessageID {
		n.fault(m, "as %q, before as %q", m.MessageID, id)
	}
	n.ids[m.ID] = m.MessageID
	n.judgeQuiet(p, m)
}

// judgeQuiet judges a message by the last one that the person had: after it only a
// new stop goes out, but for what was on its way before that one was written.
func (n *notes) judgeQuiet(p *folk, m wear.Message) {
	if len(p.accepted) == 0 {
		return
	}
	last := p.accepted[len(p.accepted)-1]
	if n.at()-last.on >= propRules.Every {
		return
	}
	if m.ID < last.ID {
		n.count["overtaken"]++
		return
	}
	if slices.ContainsFunc(m.Tells, func(t wear.Mention) bool { return t.Verdict == wear.Stop && n.isNew(p, t, m.At) }) {
		n.count["new stop"]++
		return
	}
	n.fault(m, "%d days after the last, and no new stop in it", (n.at()-last.on)/wear.Day)
}

// isNew reports whether no message of the last month told it, or something was done
// to the part since, or taken back.
func (n *notes) isNew(p *folk, t wear.Mention, at wear.Instant) bool {
	for _, a := range p.accepted {
		told := slices.ContainsFunc(a.Tells, func(o wear.Mention) bool {
			return o.Bike == t.Bike && o.Part == t.Part && o.Job == t.Job && o.Verdict == wear.Stop
		})
		if told && a.on > at-propRules.Again && max(n.touched[t.Part], n.undone) < a.At {
			return false
		}
	}
	return true
}

func (n *notes) fault(m wear.Message, format string, args ...any) {
	n.t.Errorf("%s: message %x to %x was posted %s", n.now.Format(time.RFC3339), m.ID, uint64(m.Person), fmt.Sprintf(format, args...))
}

// accept notes that a message reached its person.
func (n *notes) accept(m wear.Message) {
	n.taken[m.ID] = true
	p := n.of(m.Person)
	p.accepted = append(p.accepted, posting{m, n.at()})
}

// errCut is how a try breaks off, as if the program were killed.
var errCut = fmt.Errorf("cut off")

// propPoster is a mail server of moods, which notes what it is asked to post.
type propPoster struct {
	*notes
	rnd    *rand.Rand
	meddle func(m wear.Message) // another program, while the message is on its way
}

func (f *propPoster) Post(_ context.Context, m wear.Message) error {
	f.out(m)
	if f.rnd.IntN(4) == 0 {
		f.meddle(m)
	}
	mood := f.rnd.IntN(20)
	answer, err := "accepted", error(nil)
	switch {
	case mood < 4:
		answer, err = "later", &PostError{Code: 451, Msg: "451 <" + strings.ToUpper(m.To) + "> come back later"}
	case mood < 6:
		answer, err = "refused", &PostError{Code: 550, Permanent: true, Msg: "550 <" + m.To + ">: no such mailbox"}
	case mood < 8:
		answer, err = "dead", &PostError{Dead: true, Msg: "cannot be reached"}
	case mood == 8:
		answer, err = "cancelled", context.Canceled
	case mood < 11: // the connection dies behind the message: the server has it, or not
		answer, err = "unsure", &PostError{Unsure: true, Msg: "EOF"}
		f.taken[m.ID] = f.taken[m.ID] || mood == 9
	case mood < 13:
		f.count["cut off"]++
		f.taken[m.ID] = f.taken[m.ID] || mood == 11
		panic(errCut)
	}
	f.count[answer]++
	if err == nil {
		f.accept(m)
	}
	return err
}
