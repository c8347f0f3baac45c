package wear

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseTags(t *testing.T) {
	for text, want := range map[string][]string{
		"":                    nil,
		"-":                   nil,
		" ; | ":               nil,
		"xl blue;Kids|blue,A": {"A", "blue", "Kids", "xl"},
		"Blue blue BLUE":      {"Blue"},
		"Größe-L":             {"Größe-L"},
	} {
		tags, err := ParseTags(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, tags, text)
	}
	for _, text := range []string{strings.Repeat("x", 61), "a\x01b", "a\u202eb", strings.Repeat("a", 1) + " " + twentyTags()} {
		_, err := ParseTags(text)
		require.Error(t, err, text)
	}
}

func twentyTags() string {
	var words []string
	for i := range 20 {
		words = append(words, "t"+strings.Repeat("i", i))
	}
	return strings.Join(words, " ")
}

// TestTagsReadBack: tags written with spaces between them are the same tags.
func TestTagsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tags, err := ParseTags(rapid.String().Draw(t, "text"))
		if err != nil {
			return
		}
		again, err := ParseTags(strings.Join(tags, " "))
		require.NoError(t, err)
		assert.Equal(t, tags, again)
		assert.True(t, Bike{Tags: tags}.Tagged(tags...))
		assert.False(t, Bike{Tags: tags}.Tagged(" no tag"))
	})
}

func TestParseDepot(t *testing.T) {
	for text, want := range map[string]string{"": "", "-": "", " North hut ": "North hut"} {
		depot, err := ParseDepot(text)
		require.NoError(t, err)
		assert.Equal(t, want, depot)
	}
	_, err := ParseDepot("a\nb")
	require.Error(t, err)
	north, none := Bike{Depot: "North"}, Bike{}
	assert.True(t, north.At("") && north.At("NORTH ") && none.At("") && none.At("-"))
	assert.False(t, north.At("-") || none.At("north") || north.At("Nor"))
}
