package text

import (
	"regexp"
	"sync"
)

// Pattern returns a regular expression that is compiled when it is first asked for.
func Pattern(expression string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expression) })
}
