package profile

import (
	"fmt"
	"maps"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// wordRead is the notice that a word was read as the profile has it.
var wordRead = &kinds.ProfileWord

// Words gives terms the codes that profiles read their words as, where the lists know no better, and says so. Where
// two profiles differ the later wins.
func Words(in *find.Stream, list []*Effective) *find.Stream {
	words := map[string]map[string]string{} // by code list, the words folded
	for _, e := range list {
		for _, t := range e.Terms {
			m, ok := memberAt(t.Member)
			if !ok || len(t.Words) == 0 {
				continue
			}
			if words[m.list] == nil {
				words[m.list] = map[string]string{}
			}
			for _, word := range sortedKeys(t.Words) {
				words[m.list][fold(word)] = t.Words[word]
			}
		}
	}
	if len(words) == 0 {
		return in
	}
	return in.Map(func(e *find.Entry, _ bool) bool {
		e.Find.Terms(func(pointer, list string, t *find.Term) {
			if t.Code != "" || t.Verbatim == "" || words[list] == nil {
				return
			}
			code := words[list][fold(t.Verbatim)]
			if code == "" {
				return
			}
			if _, known := vocabulary.Get(list).Match(t.Verbatim); known {
				return
			}
			t.Code = code
			n := notice.New(wordRead, pointer, fmt.Sprintf("read as %s, as the profile has it", code))
			n.Written = t.Verbatim
			e.Notices.Add(n)
		})
		return true
	})
}

// Headings are what profiles read headings of columns as, where reading knows no better: text to flat name. Where two
// profiles differ the later wins.
func Headings(list []*Effective) map[string]string {
	out := map[string]string{}
	for _, e := range list {
		maps.Copy(out, e.Headings)
	}
	return out
}
