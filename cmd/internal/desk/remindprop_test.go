package desk

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pawl/store"
	"pawl/store/storetest"
	"pawl/wear"
)

// propSheet is a bike of few parts, some of them of safety.
var propSheet = wear.Sheet{Parts: []wear.Part{{Kind: "chain", Speeds: 12}, {Kind: "front-pads"}, {Kind: "guide"}, {Kind: "pivot-bolts"}}}

// history is a random history of a small book.
type history struct {
	*notes
	d     *Desk
	rnd   *rand.Rand
	bikes []wear.ID
	names []string // of the bikes; nil = to be read
	born  int      // people, for new names and addresses
}

// Random histories of books: whatever happens, nobody is written to who must not
// be, nothing is sent twice without saying so, and who was forgotten is gone.
func TestRemindNeverWrites(t *testing.T) {
	histories, steps := 24, 425
	if raced || testing.Short() {
		histories = 3
	}
	var lock sync.Mutex
	total := map[string]int{}
	t.Run("history", func(t *testing.T) {
		for seed := range histories {
			t.Run(fmt.Sprint(seed), func(t *testing.T) {
				t.Parallel()
				h := newHistory(t, uint64(seed))
				for range steps {
					h.step()
				}
				h.end()
				lock.Lock()
				defer lock.Unlock()
				for what, n := range h.count {
					total[what] += n
				}
			})
		}
	})
	t.Logf("%d histories of %d steps:", histories, steps)
	for _, what := range slices.Sorted(maps.Keys(total)) {
		t.Logf("%5d %s", total[what], what)
	}
	for _, what := range []string{"out", "accepted", "later", "refused", "dead", "unsure", "cut off", "withdrawn", "twice", "new stop", "forget", "undo"} {
		assert.Positive(t, total[what], "no history had it: %s", what)
	}
}

func newHistory(t *testing.T, seed uint64) *history {
	h := &history{notes: newNotes(t, sendingDay), rnd: rand.New(rand.NewPCG(seed, 77))}
	h.d = &Desk{Book: storetest.Open(t, store.Options{Now: func() time.Time { return h.now }}), Now: h.now}
	for i := range 3 {
		b, _, err := h.d.AddBike(t.Context(), BikeRequest{Bike: wear.Bike{Name: fmt.Sprint("hire ", i)}, Sheet: propSheet, Used: Nothing()})
		require.NoError(t, err)
		h.bikes = append(h.bikes, b.ID)
	}
	for range 2 {
		h.addPerson()
	}
	return h
}

// step is one thing that happens.
func (h *history) step() {
	moves := []struct {
		weight int
		what   string
		move   func() error
	}{
		{16, "time", h.pass}, {8, "ride", h.ride}, {8, "look", h.look}, {7, "sign-off", h.signOff}, {2, "declined", h.decline},
		{2, "person", h.addPerson}, {3, "change", h.changePerson}, {4, "consent", h.consent}, {4, "e-mail", h.email},
		{4, "owner", h.owner}, {1, "bike named", h.nameBike}, {3, "visit", h.visit}, {2, "visit dropped", h.dropVisit},
		{14, "queue", h.queue}, {16, "send", h.send}, {2, "files", h.write}, {1, "forget", h.forget}, {3, "undo", h.undo},
	}
	sum := 0
	for _, m := range moves {
		sum += m.weight
	}
	pick := h.rnd.IntN(sum)
	for _, m := range moves {
		if pick -= m.weight; pick >= 0 {
			continue
		}
		err := m.move()
		var hinted interface{ Hint() string }
		if errors.As(err, &hinted) {
			h.count["not possible: "+m.what]++
			return
		}
		require.NoError(h.t, err, m.what)
		h.count[m.what]++
		return
	}
}

func (h *history) pass() error {
	d := time.Duration(1+h.rnd.IntN(90)) * time.Minute
	switch h.rnd.IntN(3) {
	case 0:
		d *= 20
	case 1:
		d += time.Duration(1+h.rnd.IntN(9)) * 24 * time.Hour
	}
	h.now = h.now.Add(d)
	h.d.Now = h.now
	return nil
}

// bike is the present name of one of the bikes.
func (h *history) bike() string {
	if h.names == nil {
		require.NoError(h.t, h.d.Book.View(h.t.Context(), func(tx *store.Tx) error {
			for _, id := range h.bikes {
				b, err := tx.Bike(id)
				if err != nil {
					return err
				}
				h.names = append(h.names, b.Name)
			}
			return nil
		}))
	}
	return h.names[h.rnd.IntN(len(h.names))]
}

// someone is one of the people who live; nil = none does.
func (h *history) someone() *folk {
	if living := h.living(); len(living) > 0 {
		return living[h.rnd.IntN(len(living))]
	}
	return nil
}

func (h *history) ride() error {
	_, _, err := h.d.AddRide(h.t.Context(), RideRequest{Bike: h.bike(), Km: 20 + float64(h.rnd.IntN(80)), Climb: 600, Hours: 6, Ground: wear.Ground(h.rnd.IntN(4))})
	return err
}

func (h *history) look() error {
	f := Fact{Bike: h.bike(), Part: propSheet.Parts[h.rnd.IntN(len(propSheet.Parts))].Kind}
	word := []string{"unsafe", "unsafe", "good", "good", "replace", "watch"}[h.rnd.IntN(6)]
	_, p, err := h.d.Look(h.t.Context(), f, word)
	if err == nil {
		h.touched[p.ID] = h.at()
	}
	return err
}

// signed signs off what one of the findings of a bike asks for, or one that is due.
func (h *history) signed(declined bool) error {
	bike := h.bike()
	due, err := h.d.Due(h.t.Context(), []string{bike}, "")
	if err != nil {
		return err
	}
	f := due.Findings[h.rnd.IntN(len(due.Findings))]
	if h.rnd.IntN(3) > 0 {
		f = due.Findings[0]
	}
	_, err = h.d.SignOff(h.t.Context(), SignOffRequest{Bike: bike, Jobs: []string{f.Part + ":" + f.Job}, Declined: declined})
	if err == nil {
		h.touched[f.PartID] = h.at()
	}
	return err
}

func (h *history) signOff() error { return h.signed(false) }
func (h *history) decline() error { return h.signed(true) }

// newAddress is a new one, or one that somebody had once.
func (h *history) newAddress() string {
	if p := h.people; len(p) > 0 && h.rnd.IntN(4) == 0 {
		if old := p[h.rnd.IntN(len(p))]; len(old.emails) > 0 && !old.forgotten {
			return old.emails[h.rnd.IntN(len(old.emails))]
		}
	}
	h.born++
	return fmt.Sprintf("zq%d@folk.example", h.born)
}

func (h *history) addPerson() error {
	if len(h.living()) >= 4 {
		return h.changePerson()
	}
	h.born++
	name, address := fmt.Sprintf("Zoq%d Brandt", h.born), h.newAddress()
	req := PersonRequest{Name: &name, Email: &address, Bikes: []string{h.bike()}}
	if h.rnd.IntN(3) > 0 {
		req.Consent = "at the counter"
	}
	p, err := h.d.AddPerson(h.t.Context(), req)
	if err == nil {
		h.people = append(h.people, &folk{id: p.ID, name: name, names: []string{name}, email: address, emails: []string{address}, consent: req.Consent != ""})
	}
	return err
}

// change changes what is known of a person, and where that is done, the notes.
func (h *history) change(p *folk, req PersonRequest, note func()) error {
	_, err := h.d.ChangePerson(h.t.Context(), p.name, req)
	if err == nil {
		note()
	}
	return err
}

func (h *history) changePerson() error {
	p := h.someone()
	if p == nil {
		return nil
	}
	imperial, note := h.rnd.IntN(2) == 0, "rings after six, says "+p.name
	req := PersonRequest{Imperial: &imperial, Note: &note}
	if h.rnd.IntN(3) == 0 {
		h.born++
		name := fmt.Sprintf("Zoq%d Brandt", h.born)
		req.Name = &name
	}
	return h.change(p, req, func() {
		if req.Name != nil {
			p.name, p.names = *req.Name, append(p.names, *req.Name)
		}
	})
}

// consent gives or takes consent back, now or as of an earlier day: what is in
// force afterwards is what was said last.
func (h *history) consent() error {
	p := h.someone()
	if p == nil {
		return nil
	}
	req := PersonRequest{}
	if h.rnd.IntN(3) == 0 {
		req.On = h.now.AddDate(0, 0, -h.rnd.IntN(20)).Format(time.DateOnly)
	}
	if req.Withdraw = h.rnd.IntN(2) == 0; !req.Withdraw {
		req.Consent = "by phone"
	}
	return h.change(p, req, func() { p.consent = !req.Withdraw })
}

func (h *history) email() error {
	p := h.someone()
	if p == nil {
		return nil
	}
	address := ""
	if h.rnd.IntN(4) > 0 {
		address = h.newAddress()
	}
	return h.change(p, PersonRequest{Email: &address}, func() {
		if p.email = address; address != "" {
			p.emails = append(p.emails, address)
		}
	})
}

func (h *history) owner() error {
	who := "none"
	if p := h.someone(); p != nil && h.rnd.IntN(5) > 0 {
		who = p.name
	}
	_, err := h.d.SetOwner(h.t.Context(), h.bike(), who)
	return err
}

// nameBike calls one of a person's bikes after the person.
func (h *history) nameBike() error {
	p, bike := h.someone(), h.bike()
	if p == nil {
		return nil
	}
	if _, err := h.d.SetOwner(h.t.Context(), bike, p.name); err != nil {
		return err
	}
	_, _, err := h.d.ChangeBike(h.t.Context(), bike, func(b *wear.Bike) error {
		b.Name, b.Note = p.name+" "+fmt.Sprint(b.ID&0xff), "as "+p.name+" likes it"
		return nil
	})
	p.written, h.names = p.written || err == nil, nil
	return err
}

func (h *history) visit() error {
	_, err := h.d.AddVisit(h.t.Context(), h.bike(), h.now.AddDate(0, 0, h.rnd.IntN(20)).Format(time.DateOnly), "")
	return err
}

func (h *history) dropVisit() error {
	_, err := h.d.DropVisit(h.t.Context(), h.bike())
	return err
}

func (h *history) request() RemindRequest {
	return RemindRequest{Rules: propRules, From: "shop@ridge.example", Write: func(l Letter) (wear.Message, error) {
		text := fmt.Sprintf("%s <%s>: %d jobs", l.Person.Name, l.Person.Email, len(l.Findings))
		return wear.Message{Subject: "Your bike", Text: text, HTML: "<p>" + text + "</p>", Calendar: text}, nil
	}}
}

func (h *history) queue() error {
	req := h.request()
	if p := h.someone(); p != nil && h.rnd.IntN(4) == 0 {
		req.Who = p.name
	}
	queued, err := h.d.QueueReminders(h.t.Context(), req)
	h.count["queued"] += len(queued)
	return err
}

// send sends what waits; the server, another program or a kill may come between.
func (h *history) send() (err error) {
	defer func() {
		if r := recover(); r != nil && r != any(errCut) {
			panic(r)
		}
	}()
	poster := &propPoster{notes: h.notes, rnd: h.rnd, meddle: func(wear.Message) {
		_ = []func() error{h.consent, h.email, h.owner, h.undo}[h.rnd.IntN(4)]() // whether it can be or not
	}}
	res, err := h.d.SendOutbox(h.t.Context(), poster, func() time.Time { return h.now })
	h.count["withdrawn"] += res.Withdrawn
	h.count["twice"] += res.Twice
	if errors.Is(err, context.Canceled) {
		err = nil
	}
	return err
}

// write writes what waits to files; the disk may be full.
func (h *history) write() error {
	full := errors.New("disk full")
	_, err := h.d.WriteOutbox(h.t.Context(), h.request(), func(m wear.Message) error {
		h.out(m)
		if h.rnd.IntN(4) == 0 {
			return full
		}
		h.accept(m)
		h.count["written"]++
		return nil
	})
	if errors.Is(err, full) {
		err = nil
	}
	return err
}

func (h *history) forget() error {
	p := h.someone()
	if p == nil {
		return nil
	}
	res, err := h.d.ForgetPerson(h.t.Context(), p.name)
	if err != nil {
		return err
	}
	h.names = nil
	p.forgotten, p.named = true, len(res.StillNamed) > 0
	lent := slices.ContainsFunc(p.emails, func(address string) bool { return h.heldElsewhere(p, address) })
	assert.True(h.t, p.written || lent || !p.named, "%s is still named: %q", p.name, res.StillNamed)
	h.gone()
	return nil
}

func (h *history) undo() error {
	_, err := h.d.Undo(h.t.Context())
	if err == nil {
		h.undone, h.names = h.at(), nil
	}
	return err
}

// gone looks for those who were forgotten in all files of the book.
func (h *history) gone() {
	paths, err := filepath.Glob(h.d.Book.Path() + "*")
	require.NoError(h.t, err)
	require.NotEmpty(h.t, paths)
	for _, path := range paths {
		raw, err := os.ReadFile(path)
		require.NoError(h.t, err)
		raw = bytes.ToLower(raw)
		for _, p := range h.people {
			if !p.forgotten {
				continue
			}
			for _, name := range p.names {
				assert.False(h.t, !p.named && bytes.Contains(raw, bytes.ToLower([]byte(name))), "%s: %s", filepath.Base(path), name)
			}
			for _, address := range p.emails {
				left := bytes.Contains(raw, []byte(address)) && !h.heldElsewhere(p, address)
				assert.False(h.t, left, "%s: %s", filepath.Base(path), address)
			}
		}
	}
}

// heldElsewhere reports whether somebody else has, or had, an address.
func (h *history) heldElsewhere(p *folk, address string) bool {
	return slices.ContainsFunc(h.people, func(o *folk) bool { return o != p && slices.Contains(o.emails, address) })
}

// end forgets everyone, and looks once more. The audit follows when the test ends.
func (h *history) end() {
	h.gone()
	outbox, err := h.d.Outbox(h.t.Context())
	require.NoError(h.t, err)
	for _, m := range outbox { // servers quote the address in any case
		assert.NotContains(h.t, strings.ToLower(m.Message.Why), "folk.example")
	}
	for len(h.living()) > 0 {
		require.NoError(h.t, h.forget())
		h.count["forget"]++
	}
	for range 20 {
		_ = h.undo() // what can be taken back brings nobody back
	}
	h.gone()
}
