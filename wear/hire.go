package wear

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// The most that a depot, a tag or the tags of a bike may be.
const (
	maxDepot = 60 // bytes, of one word or name
	maxTags  = 20
)

// ParseDepot reads the name of a depot; "-" is none.
func ParseDepot(text string) (string, error) {
	text = strings.TrimSpace(text)
	if text == "-" {
		return "", nil
	}
	return text, tagLike("depot", text)
}

// ParseTags reads tags apart by spaces, commas, semicolons or bars: sorted, each
// once, whatever its case. A "-" is none.
func ParseTags(text string) ([]string, error) {
	words := strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(",;|", r) })
	slices.SortFunc(words, func(a, b string) int { return strings.Compare(strings.ToLower(a), strings.ToLower(b)) })
	words = slices.CompactFunc(words, strings.EqualFold)
	tags := words[:0]
	for _, w := range words {
		if w == "-" {
			continue
		}
		if err := tagLike("tag", w); err != nil {
			return nil, err
		}
		tags = append(tags, w)
	}
	if len(tags) > maxTags {
		return nil, fmt.Errorf("%d tags: more than %d", len(tags), maxTags)
	}
	if len(tags) == 0 {
		return nil, nil
	}
	return tags, nil
}

func tagLike(noun, text string) error {
	switch {
	case len(text) > maxDepot:
		return fmt.Errorf("%s %q…: longer than %d bytes", noun, strings.ToValidUTF8(text[:20], ""), maxDepot)
	case strings.ContainsFunc(text, func(r rune) bool { return unicode.IsControl(r) || unicode.Is(unicode.Cf, r) }):
		return fmt.Errorf("%s %q: holds characters that cannot be seen", noun, text)
	}
	return nil
}

// At reports whether the bike is of the depot, whatever the case; every bike is
// where none is named, and "-" is those without one.
func (b Bike) At(depot string) bool {
	if depot == "-" {
		return b.Depot == ""
	}
	return depot == "" || strings.EqualFold(b.Depot, strings.TrimSpace(depot))
}

// Tagged reports whether the bike has all of the tags, whatever the case.
func (b Bike) Tagged(tags ...string) bool {
	for _, tag := range tags {
		if !slices.ContainsFunc(b.Tags, func(has string) bool { return strings.EqualFold(has, tag) }) {
			return false
		}
	}
	return true
}

// Toothed reports whether parts of a kind are told by their teeth: rings, idlers
// and pulleys.
func Toothed(kind string) bool {
	return slices.Contains([]string{"ring", "idler", "drive-idler", "derailleur-pulleys"}, kind)
}
