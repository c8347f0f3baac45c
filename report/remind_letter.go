package report

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"pawl/wear"
)

// longText is the most columns of a text of the schedule: no caution is as long.
const longText = 1000

// letter is what the templates see. The comment of remind/message.txt tells
// those who write templates what each field is; all text is safe for a line.
type letter struct {
	Name, Today        string
	Jobs               int
	Verdict, Who, What string
	Bikes              []letterBike
	Visits             []letterVisit
	Caution            string
	Shop               letterShop
	StopURL, StopMail  string
}

type letterShop struct{ Name, Address, Phone string }

type letterVisit struct{ Bike, On string }

type letterBike struct {
	Name, Visit string
	Jobs        []letterJob
	Declined    []letterDeclined
	name        string // as the book has it
}

type letterJob struct {
	Verdict, Words, Shape, Part, Title, Why, When, Order, Advice, Clears, Manual, Caution, Declined string
}

type letterDeclined struct{ Part, Title, On, Caution string }

// newLetter puts a reminder into words.
func newLetter(r Reminder) letter {
	p := &duePage{page: page{Style: Style{Imperial: r.Person.Imperial, Zone: r.Zone}}, today: r.Today}
	l := letter{
		Name: bounded(r.Person.Name, longName), Today: p.fullDay(r.Today), Caution: wear.Caution,
		Shop: letterShop{bounded(r.Shop.Name, longName), bounded(r.Shop.Address, longNote), bounded(r.Shop.Phone, longName)},
	}
	l.StopURL, l.StopMail = r.Shop.stopWords()
	l.Bikes = p.letterBikes(byUrgency(r.Findings))
	for i, b := range l.Bikes {
		l.Jobs += len(b.Jobs)
		if at, ok := r.Visits[b.name]; ok {
			l.Bikes[i].Visit = p.soonDay(at)
		}
	}
	l.Visits = p.otherVisits(r.Visits, l.Bikes)
	l.Verdict, l.Who, l.What = l.gist()
	return l
}

// letterBikes groups findings, most urgent first, by bike. What is fine is left
// out but for what was declined.
func (p *duePage) letterBikes(fs []*wear.Finding) []letterBike {
	var bikes []letterBike
	at := map[urgency]int{}
	cautions := map[urgency]map[string]string{}
	for _, f := range fs {
		if f.Verdict == wear.Fine && f.Declined == 0 {
			continue
		}
		key := urgency{bike: f.BikeID, name: f.Bike}
		i, known := at[key]
		if !known {
			i = len(bikes)
			at[key], cautions[key] = i, map[string]string{}
			bikes = append(bikes, letterBike{Name: bounded(f.Bike, longName), name: f.Bike})
		}
		p.minded = cautions[key]
		if f.Verdict == wear.Fine {
			bikes[i].Declined = append(bikes[i].Declined, p.letterDeclined(f))
		} else {
			bikes[i].Jobs = append(bikes[i].Jobs, p.letterJob(f))
		}
	}
	return bikes
}

func (p *duePage) letterJob(f *wear.Finding) letterJob {
	j := letterJob{
		Verdict: f.Verdict.String(), Words: f.Verdict.Words(), Shape: signs[f.Verdict].shape,
		Part: bounded(f.Part, longName), Title: bounded(f.Title, longNote),
		Why: p.grounds(f), Advice: bounded(sentence(f.Advice), longText), Caution: p.letterCaution(f),
	}
	switch f.Verdict {
	case wear.Stop:
		j.Clears, j.Manual = bounded(sentence(f.Clears), longText), sentence(wear.StopCaution)
	case wear.Order:
		j.When, j.Order = p.week(f.Date.P50), bounded(strings.ReplaceAll(f.Kind, "-", " "), longName)
	}
	if f.Declined != 0 {
		j.Declined = p.fullDay(f.Declined)
	}
	return j
}

func (p *duePage) letterDeclined(f *wear.Finding) letterDeclined {
	return letterDeclined{
		Part: bounded(f.Part, longName), Title: bounded(f.Title, longNote), On: p.fullDay(f.Declined), Caution: p.letterCaution(f),
	}
}

// letterCaution is the caution as a sentence, or a reference to an earlier job
// of the bike that has the same.
func (p *duePage) letterCaution(f *wear.Finding) string {
	whole, same := p.caution(f)
	if whole == "" {
		return same
	}
	return bounded("Caution – "+strings.TrimSuffix(whole, ".")+".", longText)
}

// otherVisits are the planned visits of bikes that the letter does not name, in
// order of day and name.
func (p *duePage) otherVisits(visits map[string]wear.Instant, named []letterBike) []letterVisit {
	var out []letterVisit
	byDay := func(a, b string) int { return cmp.Or(cmp.Compare(visits[a], visits[b]), strings.Compare(a, b)) }
	for _, bike := range slices.SortedFunc(maps.Keys(visits), byDay) {
		if !slices.ContainsFunc(named, func(b letterBike) bool { return b.name == bike }) {
			out = append(out, letterVisit{bounded(bike, longName), p.soonDay(visits[bike])})
		}
	}
	return out
}

// gist is the most urgent verdict, whom it concerns, and what it says.
func (l letter) gist() (verdict, who, what string) {
	for _, v := range []wear.Verdict{wear.Stop, wear.Due, wear.Order} {
		bikes, jobs := 0, 0
		for _, b := range l.Bikes {
			n := 0
			for _, j := range b.Jobs {
				if j.Verdict == v.String() {
					n++
				}
			}
			if n > 0 {
				bikes, jobs, who = bikes+1, jobs+n, b.Name
			}
		}
		if bikes > 1 {
			who = Count(bikes, "bike")
		}
		if jobs > 0 {
			return v.String(), who, saying(v, jobs)
		}
	}
	return "", "", ""
}

// saying is a verdict on a number of jobs in a few words.
func saying(v wear.Verdict, jobs int) string {
	switch v {
	case wear.Stop:
		return "do not ride"
	case wear.Due:
		return Count(jobs, "job") + " due"
	}
	return Count(jobs, "part") + " to order"
}
