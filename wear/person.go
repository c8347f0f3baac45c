package wear

import (
	"strings"
)

// Person is somebody who owns bikes and may be written to.
type Person struct {
	ID       ID       `cbor:"1,keyasint"`
	Name     string   `cbor:"2,keyasint"`
	Email    string   `cbor:"3,keyasint,omitempty"`
	Imperial bool     `cbor:"4,keyasint,omitempty"` // how distances are told
	Consent  Consent  `cbor:"5,keyasint"`
	Note     string   `cbor:"6,keyasint,omitempty"`
	Added    Instant  `cbor:"7,keyasint,omitempty"`
	Former   []string `cbor:"8,keyasint,omitempty"` // names and addresses they had before: all is to be forgotten with them
	Reached  Instant  `cbor:"9,keyasint,omitempty"` // since when the address is what it is; 0 = from the first
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

// The longest address that mail can carry, and the longest part of it before
// the @, in bytes (RFC 5321, 4.5.3.1.3 and 4.5.3.1.1).
const (
	maxEmail = 254
	maxLocal = 64
)

// plainEmail is a dot-atom (RFC 5322, 3.2.3), an @ and the name of a host (RFC
// 5321, 4.1.2): no quotes, comments, names or numbers of hosts. It is ASCII
// alone, since not every server takes other letters; such a domain is written
// in its xn-- form.
var plainEmail = onUse(`^[\w!#$%&'*+/=?^\x60{|}~-]+(\.[\w!#$%&'*+/=?^\x60{|}~-]+)*` +
	`@` + hostLabel + `(\.` + hostLabel + `)*$`)

const hostLabel = `[0-9A-Za-z]([0-9A-Za-z-]{0,61}[0-9A-Za-z])?`

// PlainEmail returns an address as mail carries it, without a name and without
// space around it; false where it is none, or none that is plain. What passes
// can stand in a header as it is.
func PlainEmail(text string) (string, bool) {
	text = strings.TrimSpace(text)
	encodedWord := strings.Contains(text, "=?") // a reader might decode it into anything (RFC 2047)
	if len(text) > maxEmail || strings.IndexByte(text, '@') > maxLocal || encodedWord || !plainEmail().MatchString(text) {
		return "", false
	}
	return text, true
}

// Visit is a day on which a bike comes to the workshop.
type Visit struct {
	ID   uint64  `cbor:"1,keyasint"`
	Bike ID      `cbor:"2,keyasint"`
	At   Instant `cbor:"3,keyasint"` // the end of that day
	Note string  `cbor:"4,keyasint,omitempty"`
	Void bool    `cbor:"5,keyasint,omitempty"`
}
