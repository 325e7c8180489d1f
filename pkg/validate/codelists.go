package validate

import (
	"io/fs"
	"strings"
	"sync"

	"github.com/findslip/findslip/schema"
)

// codeList is what the rules ask of one published code list.
type codeList struct {
	title  string
	codes  []string // in the order of the list
	known  map[string]bool
	radius map[string]methodRadius // of a position method
	rank   map[string]int          // of a way to know a depth; 1 is best
}

// methodRadius is how well a method finds a position, in metres at 95 times in 100. Nought: the
// list names none.
type methodRadius struct {
	Metres float64 `json:"metres"`
	Least  float64 `json:"least"`
}

// theLists returns the published code lists by name, read once. What a test rules out, a list that
// cannot be read, is missing.
var theLists = sync.OnceValue(func() map[string]*codeList {
	lists := map[string]*codeList{}
	names, _ := fs.Glob(schema.Vocabulary, "vocabulary/*.json")
	for _, name := range names {
		var file struct {
			List     string `json:"list"`
			Title    string `json:"title"`
			Concepts []struct {
				Code   string       `json:"code"`
				Rank   int          `json:"rank"`
				Radius methodRadius `json:"radius"`
			} `json:"concepts"`
		}
		if err := readJSON(schema.Vocabulary, name, &file); err != nil {
			continue
		}
		l := &codeList{title: strings.ToLower(file.Title), known: map[string]bool{}, radius: map[string]methodRadius{},
			rank: map[string]int{}}
		for _, c := range file.Concepts {
			l.codes = append(l.codes, c.Code)
			l.known[c.Code] = true
			if c.Radius != (methodRadius{}) {
				l.radius[c.Code] = c.Radius
			}
			if c.Rank > 0 {
				l.rank[c.Code] = c.Rank
			}
		}
		lists[file.List] = l
	}
	return lists
})

// theList returns one list; an empty one where there is none of that name.
func theList(name string) *codeList {
	if l := theLists()[name]; l != nil {
		return l
	}
	return &codeList{}
}
