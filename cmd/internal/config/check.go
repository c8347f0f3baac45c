package config

import (
	"net"
	"net/url"
	"strings"
	"unicode"

	"pawl/wear"
)

// check finds the first value that cannot work. It quotes none: a user may have
// put his password in the wrong place.
func (c *Config) check() *wrongValue {
	for _, check := range []func() *wrongValue{c.checkText, c.checkAddresses, c.checkStop, c.checkServer} {
		if wrong := check(); wrong != nil {
			return wrong
		}
	}
	return nil
}

// checkText keeps what could end a header or a command out of all values.
func (c *Config) checkText() *wrongValue {
	address := strings.ReplaceAll(strings.ReplaceAll(c.Shop.Address, "\r\n", "\n"), "\n", "")
	for _, f := range []struct{ word, value string }{
		{"shop.name", c.Shop.Name}, {"shop.address", address}, {"shop.phone", c.Shop.Phone},
		{"mail.host", c.Mail.Host}, {"mail.user", c.Mail.User}, {"templates", c.Templates},
		{"mail.password_file", c.Mail.PasswordFile}, {"mail.ca_file", c.Mail.CAFile},
	} {
		if strings.ContainsFunc(f.value, unicode.IsControl) {
			return &wrongValue{f.word, "holds a control character or a line break", ""}
		}
	}
	return nil
}

func (c *Config) checkAddresses() *wrongValue {
	for _, f := range []struct {
		word string
		of   *string
	}{{"shop.from", &c.Shop.From}, {"shop.reply_to", &c.Shop.ReplyTo}, {"shop.stop_mail", &c.Shop.StopMail}} {
		if *f.of == "" {
			continue
		}
		plain, ok := wear.PlainEmail(*f.of)
		if !ok {
			return &wrongValue{f.word, "not an e-mail address", "an address alone, like service@shop.example; the name is shop.name"}
		}
		*f.of = plain
	}
	return nil
}

// checkStop wants a page by https, as one click does (RFC 8058, 3.1).
func (c *Config) checkStop() *wrongValue {
	if c.Shop.StopURL == "" {
		return nil
	}
	u, err := url.Parse(c.Shop.StopURL)
	if err != nil || u.Scheme != "https" || u.Host == "" || u.User != nil {
		return &wrongValue{"shop.stop_url", "not the address of a page by https", "like https://shop.example/stop"}
	}
	return nil
}

func (c *Config) checkServer() *wrongValue {
	m := c.Mail
	_, known := usualPorts[m.TLS]
	switch {
	case m.Host == "" && m != Mail{}:
		return &wrongValue{"mail.host", "missing, though other settings of [mail] are there", `like host = "smtp.shop.example"`}
	case m.Host == "":
		return nil
	case strings.ContainsAny(m.Host, "/ @") || strings.Contains(m.Host, ":") && net.ParseIP(m.Host) == nil:
		return &wrongValue{"mail.host", "not the name or the address of a machine", "the name alone; the port is mail.port"}
	case !known:
		return &wrongValue{"mail.tls", "none of starttls, implicit and none", ""}
	case m.Port < 1 || m.Port > 65535:
		return &wrongValue{"mail.port", "not a port from 1 to 65535", ""}
	case m.TLS == NoTLS && !loopback(m.Host):
		return &wrongValue{"mail.tls", "none is for a server on this machine only", `write tls = "starttls" or tls = "implicit"`}
	case m.TLS == NoTLS && m.User != "":
		return &wrongValue{"mail.user", "a password is not sent without TLS", `write tls = "starttls" or tls = "implicit", or take user out`}
	case m.User == "" && m.PasswordFile != "":
		return &wrongValue{"mail.password_file", "whose password is it: mail.user is missing", ""}
	}
	return nil
}

// loopback reports whether a host is this machine whatever the network says.
func loopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}
