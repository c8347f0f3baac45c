package wear

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// history is a random life of one customer. It keeps its own notes of what was
// told, by which the answers of Remind are judged.
type history struct {
	*testing.T
	rng *rand.Rand
	r   RemindRules
	now Instant
	p   Person

	agreed   bool // his word holds
	findings []Finding
	rounds   []int // of each finding: how often its job was done
	visits   []Visit
	messages []Message
	notes    []note // of each message
	seen     map[string]int
}

// note is what a message told: of each finding its round and verdict.
type note struct {
	round   map[int]int
	verdict map[int]Verdict
}

func newHistory(t *testing.T, seed uint64, seen map[string]int) *history {
	h := &history{T: t, rng: rand.New(rand.NewPCG(seed, 6)), now: days(0), seen: seen}
	h.r = RemindRules{Every: h.days(30), Again: h.days(30)}
	h.p = Person{ID: 7, Name: "Kim", Email: "kim@mail.example"}
	for bike := range ID(2) {
		for part := range ID(4) {
			h.findings = append(h.findings, Finding{BikeID: bike + 1, Bike: string(rune('a' + bike)), PartID: 10*bike + part + 1, Job: "check", Since: h.now})
		}
	}
	h.rounds = make([]int, len(h.findings))
	return h
}

// days is a whole number of days from one to most.
func (h *history) days(most int) Instant { return Instant(1+h.rng.IntN(most)) * Day }

// step lets one thing happen.
func (h *history) step() {
	i := h.rng.IntN(len(h.findings))
	f := &h.findings[i]
	switch h.rng.IntN(12) {
	case 0, 1, 2:
		h.now += h.days(8) / 2 // half days, so that times meet the rules to the moment
	case 3, 4, 5: // comes, worsens, eases or vanishes
		f.Verdict = Verdict(h.rng.IntN(int(Stop) + 1))
	case 6: // the job is done
		h.now += Day / 2
		f.Verdict, f.Since, f.Declined = Fine, h.now, 0
		h.rounds[i]++
	case 7:
		f.Declined = h.now
	case 8:
		h.word()
	case 9:
		h.visit()
	default:
		h.post()
	}
}

// word gives, ends or renews consent, takes the address away or puts it back.
func (h *history) word() {
	switch h.rng.IntN(6) {
	case 0:
		h.agreed, h.p.Consent.Ended = false, h.now
	case 1:
		h.p.Email = ""
	case 2, 3:
		h.p.Email = "kim@mail.example"
	default:
		h.agreed, h.p.Consent = true, Consent{Given: h.now, How: "at the counter"}
	}
}

// visit plans one, or makes one void.
func (h *history) visit() {
	if n := len(h.visits); n > 0 && h.rng.IntN(2) == 0 {
		h.visits[h.rng.IntN(n)].Void = true
		return
	}
	day := (h.now + h.days(10) - Day) / Day * Day
	h.visits = append(h.visits, Visit{ID: uint64(len(h.visits)), Bike: ID(1 + h.rng.IntN(2)), At: day + Day - 1})
}

// post takes a message a step on its way.
func (h *history) post() {
	for i := range h.messages {
		m := &h.messages[i]
		switch {
		case m.State == Waiting:
			m.State = []Sending{Trying, Trying, Trying, Withdrawn}[h.rng.IntN(4)]
		case m.State == Trying:
			m.State = []Sending{Waiting, Accepted, Accepted, Rejected}[h.rng.IntN(4)]
		default:
			continue
		}
		if m.State > Trying {
			m.Ended = h.now
		}
		return
	}
}

// send stores a message that tells the findings.
func (h *history) send(fs []Finding) {
	n := note{map[int]int{}, map[int]Verdict{}}
	for _, f := range fs {
		i := h.index(f)
		n.round[i], n.verdict[i] = h.rounds[i], f.Verdict
	}
	h.messages = append(h.messages, Message{ID: uint64(len(h.messages)), At: h.now, Tells: Mentions(fs)})
	h.notes = append(h.notes, n)
}

func (h *history) index(f Finding) int {
	return slices.IndexFunc(h.findings, func(o Finding) bool { return o.PartID == f.PartID && o.BikeID == f.BikeID })
}

// youngerThan reports whether a message reached him less than some ms ago, or
// will.
func (h *history) youngerThan(m Message, ms Instant) bool {
	if m.State == Accepted {
		return h.now < m.Ended+ms
	}
	return m.State == Waiting || m.State == Trying
}

func (h *history) quiet() bool {
	return slices.ContainsFunc(h.messages, func(m Message) bool { return h.youngerThan(m, h.r.Every) })
}

// news reports whether the i-th finding is to be told, the quiet time aside.
func (h *history) news(i int) bool {
	f := h.findings[i]
	day := func(at Instant) Instant { return at / Day }
	if f.Verdict == Fine || f.Verdict < Stop && (f.Declined > 0 || slices.ContainsFunc(h.visits, func(v Visit) bool {
		return v.Bike == f.BikeID && !v.Void && day(v.At) >= day(h.now)
	})) {
		return false
	}
	for k, m := range h.messages {
		round, told := h.notes[k].round[i]
		if told && round == h.rounds[i] && h.notes[k].verdict[i] >= f.Verdict && h.youngerThan(m, h.r.Again) {
			return false
		}
	}
	return true
}

// check judges what Remind says now, and sends it now and then.
func (h *history) check() {
	fs := Remind(h.p, h.findings, h.visits, h.messages, h.r, h.now)
	h.sameInAnyOrder(fs)
	want, stops := []int{}, 0
	for i := range h.findings {
		if h.news(i) {
			want = append(want, i)
			stops += boolInt(h.findings[i].Verdict == Stop)
		}
	}
	may := h.agreed && h.p.Email != ""
	if len(fs) > 0 {
		require.True(h, may, "told without consent or address")
		require.True(h, !h.quiet() || stops > 0, "told in the quiet time without a new stop")
	}
	if !may || h.quiet() && stops == 0 {
		want = want[:0]
	}
	got := []int{}
	for _, f := range fs {
		got = append(got, h.index(f))
	}
	require.ElementsMatch(h, want, got)
	h.count(fs, may, stops)
	if len(fs) > 0 && h.rng.IntN(2) == 0 {
		h.send(fs)
	}
}

func (h *history) sameInAnyOrder(want []Finding) {
	shuffled := func(n int, swap func(i, j int)) { h.rng.Shuffle(n, swap) }
	findings, messages, visits := slices.Clone(h.findings), slices.Clone(h.messages), slices.Clone(h.visits)
	shuffled(len(findings), func(i, j int) { findings[i], findings[j] = findings[j], findings[i] })
	shuffled(len(messages), func(i, j int) { messages[i], messages[j] = messages[j], messages[i] })
	shuffled(len(visits), func(i, j int) { visits[i], visits[j] = visits[j], visits[i] })
	require.Equal(h, want, Remind(h.p, findings, visits, messages, h.r, h.now))
}

// count notes what the history met, so that the test knows what it tested.
func (h *history) count(fs []Finding, may bool, stops int) {
	h.seen["steps"]++
	h.seen["told"] += boolInt(len(fs) > 0)
	h.seen["stop in quiet time"] += boolInt(len(fs) > 0 && h.quiet())
	h.seen["kept quiet"] += boolInt(may && len(fs) == 0 && h.quiet())
	h.seen["stop held back"] += boolInt(!may && stops > 0)
	for _, m := range h.messages {
		h.seen[m.State.String()]++
	}
	for _, f := range fs {
		h.seen["declined stop"] += boolInt(f.Declined > 0)
		h.seen["told before"] += boolInt(slices.ContainsFunc(h.notes, func(n note) bool { _, ok := n.round[h.index(f)]; return ok }))
	}
}

func TestRemindOverRandomHistories(t *testing.T) {
	seen := map[string]int{}
	for seed := range uint64(100) {
		h := newHistory(t, seed, seen)
		for range 150 {
			h.step()
			h.check()
		}
	}
	t.Log(seen)
	assert.GreaterOrEqual(t, seen["steps"], 10_000)
	for _, what := range []string{"told", "stop in quiet time", "kept quiet", "stop held back", "declined stop", "told before",
		"waiting", "trying", "sent", "rejected", "withdrawn"} {
		assert.Greater(t, seen[what], 100, what)
	}
}
