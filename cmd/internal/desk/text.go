package desk

import "strings"

// plainText is text as the book keeps it: valid UTF-8, without the spaces
// around it. File names and shells may hand over anything.
func plainText(s string) string {
	return strings.TrimSpace(strings.ToValidUTF8(s, "\uFFFD"))
}
