package wear

import (
	"regexp"
	"sync"
)

// onUse is a pattern that is compiled when it is first used: a start of the
// program uses few of them, and all together took a quarter of it.
func onUse(expr string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expr) })
}
