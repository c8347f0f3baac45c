package report

import (
	"cmp"
	"io"
	"slices"

	"pawl/wear"
)

// nearly is the share of its limit from which a job that is fine is listed as
// coming next.
const nearly = 0.8

// DueList is what is to be done, and what the list of it must say beside.
type DueList struct {
	Today    wear.Instant
	Bikes    int            // how many are in question
	Findings []wear.Finding // of all of them, fine ones included, each bike's in their order; see Wanted
	NoBike   []RideLine     // rides of which the bike is not known yet: they count nowhere
	NoBikeDo string         // what to type to give such a ride its bike
	Watched  []WatchLine    // parts of which the last look says watch
	Held     []HeldLine     // bikes that are held back
	All      bool           // list what is fine too
	Only     []wear.Verdict // nothing else was asked for; none = all
	Warnings []string
}

// WatchLine is a part of which the last look says watch.
type WatchLine struct {
	Bike, Part string
	Look       wear.Look
}

// Due writes what is to be done to a terminal, most urgent first and bike by bike:
// of one bike all of it, of many a page.
func Due(w io.Writer, d DueList, s Style) error {
	p := &duePage{page: page{Style: s}, today: d.Today}
	fs := byUrgency(d.Findings)
	list := p.dueGroups(d, fs)
	window, err := p.pageOf(d, list)
	if err != nil {
		return err
	}
	p.totals(d, list, window)
	if window.page == 1 {
		p.noBike(d)
		p.held(d.Held)
	}
	for _, g := range list {
		if g.verdict == wear.Fine && window.page == 1 {
			p.quiet(d, fs)
			p.watched(d.Watched)
		}
		p.due(g, window)
	}
	p.rest(window, "job", "jobs", "--csv")
	if window.page > 1 {
		d.Warnings = nil
	}
	p.footnotes(d.Warnings)
	p.gap()
	p.para("", wear.Caution+".")
	return p.to(w)
}

// HeldLine is a bike that is held back.
type HeldLine struct {
	Bike   string
	Status wear.Status
}

// held lists the bikes that must not go out whatever is due on them.
func (p *page) held(list []HeldLine) {
	if len(list) == 0 {
		return
	}
	p.gap()
	p.line(p.bold("held back"), "  ", plural(len(list), "bike", "bikes"))
	for i, h := range list {
		if i == shownBeside {
			p.more(len(list) - i)
			break
		}
		p.para("  "+brief(h.Bike, longName)+"  ", p.status(h.Status))
	}
}

// status says since when, who says so, and why.
func (s Style) status(st wear.Status) string {
	out := "since " + s.fullDay(st.At)
	if st.Until != 0 {
		out += " until " + s.fullDay(st.Until)
	}
	if st.By != "" {
		out += " by " + brief(st.By, longName)
	}
	if st.Reason != "" {
		out += ": " + brief(st.Reason, longNote)
	}
	return out
}

// duePage is a page about one day.
type duePage struct {
	page
	today  wear.Instant
	notes  []string          // footnotes so far
	minded map[string]string // cautions told for the bike so far, and with which part
}

// byUrgency sorts by verdict, then puts together what is of one bike, in the
// order given: first the bike with the most urgent job.
func byUrgency(findings []wear.Finding) []*wear.Finding {
	worst := make(map[urgency]*wear.Finding)
	for i := range findings {
		f := &findings[i]
		if w := worst[urgencyOf(f)]; w == nil || pressing(f, w) < 0 {
			worst[urgencyOf(f)] = f
		}
	}
	type ranked struct{ f, worst *wear.Finding }
	all := make([]ranked, len(findings))
	for i := range findings {
		all[i] = ranked{&findings[i], worst[urgencyOf(&findings[i])]}
	}
	slices.SortStableFunc(all, func(a, b ranked) int {
		if a.worst == b.worst {
			return 0 // one block
		}
		return cmp.Or(
			cmp.Compare(b.f.Verdict, a.f.Verdict),
			pressing(a.worst, b.worst),
			wear.Naturally(a.f.Bike, b.f.Bike),
			cmp.Compare(a.f.BikeID, b.f.BikeID),
		)
	})
	fs := make([]*wear.Finding, len(all))
	for i := range all {
		fs[i] = all[i].f
	}
	return fs
}

// urgency is what the findings of one block have in common.
type urgency struct {
	verdict wear.Verdict
	bike    wear.ID
	name    string
}

func urgencyOf(f *wear.Finding) urgency { return urgency{f.Verdict, f.BikeID, f.Bike} }

// pressing orders two findings of one verdict: what was seen first, then safety,
// then the share.
func pressing(a, b *wear.Finding) int {
	if a.Seen != b.Seen {
		if a.Seen {
			return -1
		}
		return 1
	}
	if a.Safety != b.Safety {
		if a.Safety {
			return -1
		}
		return 1
	}
	return cmp.Compare(b.Share, a.Share)
}

func ofVerdict(fs []*wear.Finding, v wear.Verdict) []*wear.Finding {
	var out []*wear.Finding
	for _, f := range fs {
		if f.Verdict == v {
			out = append(out, f)
		}
	}
	return out
}

// far reports whether a job that is fine need not be listed.
func far(f *wear.Finding) bool { return f.Share < nearly || over(f) }

// over reports whether a job is fine although what such a part usually lasts is
// past: its look or its reading is the next to come, not the job.
func over(f *wear.Finding) bool { return f.Verdict == wear.Fine && f.Share >= 1 }
