package wear

import "fmt"

// Mention is one finding as a message told it.
type Mention struct {
	Bike    ID      `cbor:"1,keyasint"`
	Part    ID      `cbor:"2,keyasint"`
	Job     string  `cbor:"3,keyasint"`
	Verdict Verdict `cbor:"4,keyasint"`
	Since   Instant `cbor:"5,keyasint,omitempty"` // the finding's: moves on once its job was done; 0 = not noted
}

// Mentions are the findings as a message that tells them notes them.
func Mentions(findings []Finding) []Mention {
	list := make([]Mention, len(findings))
	for i := range findings {
		f := &findings[i]
		list[i] = Mention{Bike: f.BikeID, Part: f.PartID, Job: f.Job, Verdict: f.Verdict, Since: f.Since}
	}
	return list
}

// Sending is how far a message to a person has come.
type Sending uint8

// The states of a message.
const (
	Waiting   Sending = iota // stored, not tried yet, or to be tried again
	Trying                   // a try has begun: if it never ends, nobody knows whether the server took it
	Accepted                 // the server took it
	Rejected                 // the server refused it for good, or too often
	Withdrawn                // taken back before it was sent: consent ended, the person was forgotten
)

var sendingNames = [...]string{"waiting", "trying", "sent", "rejected", "withdrawn"}

// String names the state as JSON does.
func (s Sending) String() string {
	if int(s) < len(sendingNames) {
		return sendingNames[s]
	}
	return fmt.Sprintf("sending %d", uint8(s))
}

// Message is a reminder in the outbox.
type Message struct {
	ID        uint64    `cbor:"1,keyasint"`
	Person    ID        `cbor:"2,keyasint"`
	At        Instant   `cbor:"3,keyasint"` // when it was stored
	MessageID string    `cbor:"4,keyasint"` // without angle brackets; the same at every try
	Tells     []Mention `cbor:"5,keyasint"`
	State     Sending   `cbor:"6,keyasint,omitempty"`
	Tries     int       `cbor:"7,keyasint,omitempty"`
	Next      Instant   `cbor:"8,keyasint,omitempty"`  // not to be tried before; 0 = at once
	Ended     Instant   `cbor:"9,keyasint,omitempty"`  // when it was sent, rejected or withdrawn
	Why       string    `cbor:"10,keyasint,omitempty"` // what the server said last
	Twice     bool      `cbor:"11,keyasint,omitempty"` // a try broke off behind the server's yes, perhaps: it may have come twice
	// What is sent; gone once the message is sent, rejected or withdrawn.
	To       string `cbor:"12,keyasint,omitempty"` // address
	Subject  string `cbor:"13,keyasint,omitempty"`
	Text     string `cbor:"14,keyasint,omitempty"`
	HTML     string `cbor:"15,keyasint,omitempty"`
	Calendar string `cbor:"16,keyasint,omitempty"`
	PutOff   int    `cbor:"17,keyasint,omitempty"` // how many tries ended with another to follow; one that broke off is none of them
}
