package wear

// Mention is one finding as a message told it.
type Mention struct {
	Bike    ID      `cbor:"1,keyasint"`
	Part    ID      `cbor:"2,keyasint"`
	Job     string  `cbor:"3,keyasint"`
	Verdict Verdict `cbor:"4,keyasint"`
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
func (s Sending) String() string { return sendingNames[s] }

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
}

// RemindRules say how often a person is written to.
type RemindRules struct {
	Every Instant // ms between two messages to one person; a new stop goes out at once
	Again Instant // ms after which a finding that still stands is told again
}

// Remind decides which findings a person is to be told of now: none where he is
// not to be written to. Findings are those of all his bikes; a visit of today or
// later silences all of its bike but a stop; earlier are the messages to him.
//
//   - Without consent that holds, or without an address, nothing is ever told.
//   - What is fine, and what was offered and declined, is not told.
//   - A finding is new where no earlier message told it, or told it with a
//     milder verdict, or rules.Again ago. Only new ones are told.
//   - Within rules.Every of the last message only a new stop is told, and then
//     everything new with it. A message that waits counts as told.
func Remind(p Person, findings []Finding, visits []Visit, earlier []Message, r RemindRules, now Instant) []Finding {
	return nil
}
