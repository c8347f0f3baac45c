package wear

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// reminding is a call of Remind that tells of one due chain; cases change it.
type reminding struct {
	p        Person
	findings []Finding
	visits   []Visit
	earlier  []Message
	r        RemindRules
	now      Instant
}

func newReminding() *reminding {
	return &reminding{
		p:        Person{ID: 7, Name: "Kim", Email: "kim@mail.example", Consent: Consent{Given: days(0), How: "at the counter"}},
		findings: []Finding{dueChain(Due)},
		r:        RemindRules{Every: 14 * Day, Again: 30 * Day},
		now:      days(100),
	}
}

func dueChain(v Verdict) Finding {
	return Finding{Bike: "enduro", BikeID: bikeID, Part: "chain-1", PartID: 11, Kind: "chain", Job: "change", Act: ActChange, Verdict: v, Since: days(10)}
}

func dueFork(v Verdict) Finding {
	return Finding{Bike: "enduro", BikeID: bikeID, Part: "fork-1", PartID: 12, Kind: "fork", Job: "lowers", Act: ActService, Verdict: v, Since: days(10)}
}

// told stores a message that was sent at an instant.
func (r *reminding) told(at Instant, fs ...Finding) *Message {
	r.earlier = append(r.earlier, Message{ID: uint64(len(r.earlier) + 1), Person: r.p.ID, At: at, Ended: at, State: Accepted, Tells: Mentions(fs)})
	return &r.earlier[len(r.earlier)-1]
}

// jobs are what Remind tells: "enduro chain change due".
func (r *reminding) jobs() []string {
	list := []string{}
	for _, f := range Remind(r.p, r.findings, r.visits, r.earlier, r.r, r.now) {
		list = append(list, f.Bike+" "+f.Kind+" "+f.Job+" "+f.Verdict.String())
	}
	return list
}

type remindCase struct {
	change func(r *reminding)
	want   []string
}

func checkReminds(t *testing.T, cases map[string]remindCase) {
	t.Helper()
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			r := newReminding()
			c.change(r)
			want := c.want
			if want == nil {
				want = []string{}
			}
			assert.Equal(t, want, r.jobs())
		})
	}
}

var chainDue, chainStop = []string{"enduro chain change due"}, []string{"enduro chain change stop"}

func TestRemindWhoMayBeWrittenTo(t *testing.T) {
	stop := func(r *reminding) { r.findings = []Finding{dueChain(Stop)} }
	checkReminds(t, map[string]remindCase{
		"consent holds":           {func(*reminding) {}, chainDue},
		"never given":             {func(r *reminding) { stop(r); r.p.Consent = Consent{} }, nil},
		"not said how":            {func(r *reminding) { stop(r); r.p.Consent.How = "" }, nil},
		"ended":                   {func(r *reminding) { stop(r); r.p.Consent.Ended = days(99) }, nil},
		"ends this moment":        {func(r *reminding) { stop(r); r.p.Consent.Ended = r.now }, nil},
		"ends later":              {func(r *reminding) { r.p.Consent.Ended = r.now + 1 }, chainDue},
		"given later":             {func(r *reminding) { stop(r); r.p.Consent.Given = r.now + 1 }, nil},
		"given again":             {func(r *reminding) { r.p.Consent = Consent{Given: days(99), How: "by mail"} }, chainDue},
		"no address":              {func(r *reminding) { stop(r); r.p.Email = "" }, nil},
		"an address that is none": {func(r *reminding) { stop(r); r.p.Email = "kim@mail.example\r\nBcc: x@mail.example" }, nil},
	})
}

func TestRemindWhatIsTold(t *testing.T) {
	declined := func(f Finding) Finding { f.Declined = days(50); return f }
	tells := func(fs ...Finding) func(r *reminding) { return func(r *reminding) { r.findings = fs } }
	checkReminds(t, map[string]remindCase{
		"nothing":       {tells(), nil},
		"fine":          {tells(dueChain(Fine)), nil},
		"order":         {tells(dueChain(Order)), []string{"enduro chain change order"}},
		"declined":      {tells(declined(dueChain(Due)), declined(dueFork(Order))), nil},
		"declined stop": {tells(declined(dueChain(Stop))), chainStop},
		"worst first": {tells(dueChain(Order), dueFork(Stop), dueChain(Fine)),
			[]string{"enduro fork lowers stop", "enduro chain change order"}},
	})
}

func TestRemindQuietTime(t *testing.T) {
	checkReminds(t, map[string]remindCase{
		"something new, too early":      {func(r *reminding) { r.told(r.now-14*Day+1, dueFork(Due)) }, nil},
		"something new, just late":      {func(r *reminding) { r.told(r.now-14*Day, dueFork(Due)) }, chainDue},
		"a stop breaks it":              {func(r *reminding) { r.told(r.now, dueFork(Due)); r.findings[0].Verdict = Stop }, chainStop},
		"an old stop does not":          {func(r *reminding) { r.told(r.now-Day, dueFork(Stop)); r.findings = append(r.findings, dueFork(Stop)) }, nil},
		"it counts from the sending":    {func(r *reminding) { r.told(r.now-40*Day, dueFork(Due)).Ended = r.now - Day }, nil},
		"a message of the future":       {func(r *reminding) { r.told(r.now+Day, dueFork(Due)) }, nil},
		"no quiet time":                 {func(r *reminding) { r.r.Every = 0; r.told(r.now, dueFork(Due)) }, chainDue},
		"a rejected one does not count": {func(r *reminding) { r.told(r.now-Day, dueFork(Due)).State = Rejected }, chainDue},
		"nor a withdrawn one":           {func(r *reminding) { r.told(r.now-Day, dueFork(Due)).State = Withdrawn }, chainDue},
		"one that waits does":           {func(r *reminding) { r.told(r.now-Day, dueFork(Due)).State = Waiting }, nil},
		"however long": {func(r *reminding) {
			r.told(r.now-90*Day, dueFork(Due)).State = Waiting
			r.earlier[0].Ended = 0
		}, nil},
		"and one being tried": {func(r *reminding) { r.told(r.now-90*Day, dueFork(Due)).State = Trying }, nil},
		"with a new stop goes all that is new": {func(r *reminding) {
			r.told(r.now-Day, dueFork(Order))
			other := dueFork(Stop)
			other.Bike, other.BikeID = "gravel", 2
			r.findings = append(r.findings, other, dueFork(Order))
		}, []string{"gravel fork lowers stop", "enduro chain change due"}},
	})
}

func TestRemindRepeats(t *testing.T) {
	const long = 20 * Day // beyond the quiet time, short of telling again
	checkReminds(t, map[string]remindCase{
		"told and no worse":     {func(r *reminding) { r.told(r.now-long, dueChain(Due)) }, nil},
		"told as milder":        {func(r *reminding) { r.told(r.now-long, dueChain(Order)) }, chainDue},
		"told as worse":         {func(r *reminding) { r.told(r.now-long, dueChain(Stop)) }, nil},
		"told 30 days ago":      {func(r *reminding) { r.told(r.now-30*Day, dueChain(Due)) }, chainDue},
		"just not 30 days ago":  {func(r *reminding) { r.told(r.now-30*Day+1, dueChain(Due)) }, nil},
		"worse, in quiet time":  {func(r *reminding) { r.told(r.now-Day, dueChain(Order)) }, nil},
		"a stop, in quiet time": {func(r *reminding) { r.told(r.now-Day, dueChain(Due)); r.findings[0].Verdict = Stop }, chainStop},
		"a rejected one told nothing": {func(r *reminding) {
			r.told(r.now-long, dueChain(Due)).State = Rejected
		}, chainDue},
		"nor a withdrawn one":   {func(r *reminding) { r.told(r.now-long, dueChain(Due)).State = Withdrawn }, chainDue},
		"one that waits did":    {func(r *reminding) { r.told(r.now-90*Day, dueChain(Stop)).State = Waiting; r.findings[0].Verdict = Stop }, nil},
		"one being tried, too":  {func(r *reminding) { r.told(r.now-90*Day, dueChain(Stop)).State = Trying; r.findings[0].Verdict = Stop }, nil},
		"whatever the rules":    {func(r *reminding) { r.r = RemindRules{}; r.told(r.now-Day, dueChain(Due)).State = Waiting }, nil},
		"another part":          {func(r *reminding) { r.told(r.now-long, dueChain(Due)); r.findings[0].PartID = 13 }, chainDue},
		"the same part's other": {func(r *reminding) { r.told(r.now-long, dueChain(Due)); r.findings[0].Job = "measure" }, []string{"enduro chain measure due"}},
	})
}

// What a rider expects of a stop that comes back: to be told where somebody had
// put it right, not where it only wavered.
func TestRemindAStopThatComesBack(t *testing.T) {
	stop := func(r *reminding) { r.findings[0].Verdict = Stop }
	checkReminds(t, map[string]remindCase{
		"eased by itself": {func(r *reminding) { r.told(r.now-5*Day, dueChain(Stop)); stop(r) }, nil},
		"eased, told as due, stop again": {func(r *reminding) {
			r.told(r.now-35*Day, dueChain(Stop))
			r.told(r.now-3*Day, dueChain(Due))
			stop(r)
		}, chainStop},
		"done since": {func(r *reminding) {
			r.told(r.now-5*Day, dueChain(Stop))
			stop(r)
			r.findings[0].Since = r.now - 5*Day + 1 // cleared the same day, or any time after
		}, chainStop},
		"done and due again, in quiet time":    {func(r *reminding) { r.told(r.now-5*Day, dueChain(Due)); r.findings[0].Since = r.now - Day }, nil},
		"done and due again, after quiet time": {func(r *reminding) { r.told(r.now-20*Day, dueChain(Due)); r.findings[0].Since = r.now - Day }, chainDue},
		"a sign-off was void":                  {func(r *reminding) { r.told(r.now-20*Day, dueChain(Due)); r.findings[0].Since = days(1) }, nil},
		"not noted from when on it counted": {func(r *reminding) {
			r.told(r.now-20*Day, dueChain(Due)).Tells[0].Since = 0
			r.findings[0].Since = r.now
		}, nil},
	})
}

func TestRemindVisits(t *testing.T) {
	at := func(day float64) []Visit { return []Visit{{ID: 1, Bike: bikeID, At: days(day) + Day - 1}} }
	visits := func(v []Visit) func(r *reminding) { return func(r *reminding) { r.visits = v } }
	void, other := at(110), at(110)
	void[0].Void, other[0].Bike = true, 2
	checkReminds(t, map[string]remindCase{
		"today":              {visits(at(100)), nil},
		"next week":          {visits(at(107)), nil},
		"yesterday":          {visits(at(99)), chainDue},
		"void":               {visits(void), chainDue},
		"of another bike":    {visits(other), chainDue},
		"missed, and a next": {visits(append(at(99), at(120)...)), nil},
		"a stop":             {func(r *reminding) { r.visits = at(100); r.findings[0].Verdict = Stop }, chainStop},
		"a stop goes alone": {func(r *reminding) {
			r.visits = at(100)
			r.findings[0].Verdict = Stop
			r.findings = append(r.findings, dueFork(Due))
		}, chainStop},
		"at the last moment of its day": {func(r *reminding) { r.visits = at(100); r.now = r.visits[0].At }, nil},
		"a moment later":                {func(r *reminding) { r.visits = at(100); r.now = r.visits[0].At + 1 }, chainDue},
	})
}

func TestRemindChangesNothing(t *testing.T) {
	r := newReminding()
	r.findings = []Finding{dueChain(Order), dueFork(Stop), dueChain(Fine)}
	r.told(days(50), dueFork(Due))
	findings, earlier := slices.Clone(r.findings), slices.Clone(r.earlier)
	assert.Len(t, r.jobs(), 2)
	assert.Equal(t, findings, r.findings)
	assert.Equal(t, earlier, r.earlier)
}

func TestMentionsAreWhatRemindKnowsAgain(t *testing.T) {
	fs := []Finding{dueChain(Due), dueFork(Stop)}
	assert.Equal(t, []Mention{
		{Bike: bikeID, Part: 11, Job: "change", Verdict: Due, Since: days(10)},
		{Bike: bikeID, Part: 12, Job: "lowers", Verdict: Stop, Since: days(10)},
	}, Mentions(fs))
	assert.Empty(t, Mentions(nil))
}

func TestSendingSaysItself(t *testing.T) {
	for s, want := range map[Sending]string{Waiting: "waiting", Trying: "trying", Accepted: "sent", Rejected: "rejected", Withdrawn: "withdrawn", 9: "sending 9"} {
		assert.Equal(t, want, s.String())
	}
}
