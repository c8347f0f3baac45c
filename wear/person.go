package wear

import (
	"net/mail"
	"strings"
)

// Person is somebody who owns bikes and may be written to.
type Person struct {
	ID       ID      `cbor:"1,keyasint"`
	Name     string  `cbor:"2,keyasint"`
	Email    string  `cbor:"3,keyasint,omitempty"`
	Imperial bool    `cbor:"4,keyasint,omitempty"` // how distances are told
	Consent  Consent `cbor:"5,keyasint"`
	Note     string  `cbor:"6,keyasint,omitempty"`
	Added    Instant `cbor:"7,keyasint,omitempty"`
}

// Consent is a person's word that messages may be sent.
type Consent struct {
	Given Instant `cbor:"1,keyasint,omitempty"` // 0 = never
	How   string  `cbor:"2,keyasint,omitempty"` // "form of 3 May", "at the counter"
	Ended Instant `cbor:"3,keyasint,omitempty"` // taken back from here on; 0 = it holds
}

// Holds reports whether the person may be written to at an instant.
func (c Consent) Holds(at Instant) bool {
	return c.Given != 0 && c.How != "" && c.Given <= at && (c.Ended == 0 || at < c.Ended)
}

// maxEmail is the longest address that mail can carry (RFC 5321, 4.5.3.1.3).
const maxEmail = 254

// PlainEmail returns an address as mail carries it, without a name; false where
// it is none.
func PlainEmail(text string) (string, bool) {
	a, err := mail.ParseAddress(strings.TrimSpace(text))
	if err != nil || a.Name != "" || len(a.Address) > maxEmail || strings.ContainsAny(a.Address, " \t\r\n\"<>,;:") {
		return "", false
	}
	return a.Address, true
}

// Visit is a day on which a bike comes to the workshop.
type Visit struct {
	ID   uint64  `cbor:"1,keyasint"`
	Bike ID      `cbor:"2,keyasint"`
	At   Instant `cbor:"3,keyasint"` // the end of that day
	Note string  `cbor:"4,keyasint,omitempty"`
	Void bool    `cbor:"5,keyasint,omitempty"`
}
