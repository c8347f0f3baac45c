package report

import (
	"time"

	"pawl/wear"
)

// sampleDay is the day of the sample messages: 14 May 2026, 18:00 UTC.
var sampleDay = wear.At(time.Date(2026, 5, 14, 18, 0, 0, 0, time.UTC))

// sampleReminders are messages of all sorts that templates are tried on: one
// with everything, and for each verdict one with no more than it needs.
func sampleReminders() []Reminder {
	out := []Reminder{fullSample()}
	for _, v := range []wear.Verdict{wear.Stop, wear.Due, wear.Order} {
		out = append(out, Reminder{
			Shop: Shop{From: "shop@example.org"}, Person: wear.Person{Name: "Ida"}, Today: sampleDay,
			Findings: []wear.Finding{{Bike: "Plover", BikeID: 1, Part: "chain-1", Kind: "chain", Job: "change", Title: "change the chain", Verdict: v}},
		})
	}
	return out
}

// fullSample is a message in which every field of a letter has something to say.
func fullSample() Reminder {
	in := sampleDay + 20*wear.Day
	finding := func(bike wear.ID, name string, v wear.Verdict) wear.Finding {
		return wear.Finding{
			BikeID: bike, Bike: name, Part: "chain-1", Kind: "chain", Job: "change", Title: "change the chain", Verdict: v,
			Used: 12, Limit: 10, Unit: "days", Share: 1.2, Basis: wear.ByCount, Date: wear.Dates{P50: &in},
			Advice: "change the chain", Clears: "a new chain", Caution: "chain length is set where the chain is longest",
			Reasons: []wear.Reason{{Basis: wear.ByCount, Text: "12 of 10 days"}}, Declined: sampleDay - 30*wear.Day,
		}
	}
	return Reminder{
		Shop: Shop{
			Name: "Mill Lane Cycles", Address: "1 Mill Lane, Exampleton", Phone: "000 0000", From: "shop@example.org",
			ReplyTo: "desk@example.org", StopMail: "stop@example.org", StopURL: "https://shop.example.org/stop",
		},
		Person: wear.Person{Name: "Ida"}, Today: sampleDay,
		Findings: []wear.Finding{
			finding(1, "Plover", wear.Stop), finding(1, "Plover", wear.Due),
			finding(2, "Heron", wear.Order), finding(2, "Heron", wear.Fine),
		},
		Visits: map[string]wear.Instant{"Heron": in, "Wren": in},
	}
}
