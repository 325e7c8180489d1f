package profile

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// Effective is a profile together with those that it is based on: the later wins by name.
type Effective struct {
	Profile
	File   string            // plain name of the file
	Sum    string            // SHA-256 of it
	Chain  []string          // id and version of each profile, the first being the profile itself
	Beyond map[string]string // asks that want more than the audience gets, and what it gets; they are not put
	waived map[string][]*Waiver
	seen   func(find.Person) find.Person // a person as the copy shows them; nil: as they are
	whole  []*Ask                        // of which finds nothing is to be sent
	years  map[string]Period             // by the word, folded
}

// layTogether makes what results of a profile and its bases, which stand in this order.
func layTogether(chain []*file) *Effective {
	e := &Effective{Profile: chain[0].Profile, File: chain[0].name, Sum: Sum(chain[0].raw),
		waived: map[string][]*Waiver{}}
	e.Asks, e.Terms, e.Periods, e.Rules, e.Settings, e.Waivers = nil, nil, nil, nil, nil, nil
	e.Headings = map[string]string{}
	e.BasedOn = nil
	for _, f := range slices.Backward(chain) {
		for _, a := range f.Asks {
			if a.From == "" {
				a.From = f.Label()
			}
			e.Asks = put(e.Asks, a, func(b *Ask) bool { return a.Name == b.Name })
		}
		for _, t := range f.Terms {
			e.Terms = put(e.Terms, t, func(b Terms) bool { return t.Member == b.Member })
		}
		for _, p := range f.Periods {
			e.Periods = put(e.Periods, p, func(b Period) bool { return fold(p.Word) == fold(b.Word) })
		}
		for _, r := range f.Rules {
			e.Rules = put(e.Rules, r, func(b Rule) bool { return r.Rule == b.Rule })
		}
		for _, s := range f.Settings {
			e.Settings = put(e.Settings, s, func(b Setting) bool { return s.Setting == b.Setting })
		}
		e.Waivers = append(e.Waivers, f.Waivers...)
		maps.Copy(e.Headings, f.Headings)
		if e.Jurisdiction == "" {
			e.Jurisdiction = f.Jurisdiction
		}
		if e.Covers == nil {
			e.Covers = f.Covers
		}
	}
	for _, t := range e.Terms {
		if t.Allowed != nil {
			a := allowed(t, e.Label(), append([]string{"en"}, e.Languages...))
			e.Asks = put(e.Asks, a, func(b *Ask) bool { return a.Name == b.Name })
		}
	}
	e.whole, e.years = nil, map[string]Period{}
	for _, a := range e.Asks {
		if a.prepare(); a.leavesOut() {
			e.whole = append(e.whole, a)
		}
	}
	for _, p := range e.Periods {
		e.years[fold(p.Word)] = p
	}
	for _, f := range chain {
		e.Chain = append(e.Chain, f.Label())
	}
	if len(e.Headings) == 0 {
		e.Headings = nil
	}
	for i := range e.Waivers {
		w := &e.Waivers[i]
		e.waived[w.Ask] = append(e.waived[w.Ask], w)
	}
	return e
}

// allowed is the wish for the codes that a body works with, where there is a code.
func allowed(t Terms, from string, languages []string) *Ask {
	given := true
	when := &Condition{Member: t.Member, Given: &given}
	when.compile()
	title, how := Text{}, Text{}
	for _, language := range languages {
		title[language] = MemberName(t.Member, language)
		how[language] = codeNames(t.Member, t.Allowed[:min(len(t.Allowed), 12)], language)
	}
	return &Ask{Name: "list" + strings.ReplaceAll(strings.ToLower(t.Member), "/", "-"), Strength: Should, When: when,
		Ask: Wanted{Any: []string{t.Member}, OneOf: t.Allowed}, From: from,
		Title: title, How: how, ready: ready{allowed: true}}
}

// Preferred is the word of the body for a code of a list, empty where it has none.
func (e *Effective) Preferred(list, code string) string {
	for _, t := range e.Terms {
		if word := t.Preferred[code]; word != "" && lists()[t.Member] == list {
			return word
		}
	}
	return ""
}

// put adds an item to a list, in the place of the one that is the same.
func put[T any](list []T, item T, same func(T) bool) []T {
	if at := slices.IndexFunc(list, same); at >= 0 {
		list[at] = item
		return list
	}
	return append(list, item)
}

// JSON writes a profile as a file: of an effective one what results, which needs no other, with the origin of each ask.
func (p *Profile) JSON() ([]byte, error) {
	text, err := json.Marshal(p, json.Deterministic(true), jsontext.WithIndent("  "))
	if err != nil {
		return nil, fmt.Errorf("writing the profile %s: %w", p.ID, err)
	}
	return append(text, '\n'), nil
}

// For returns the profile as it is put to a log for an audience: with the asks that want more than it gets left out of
// what is counted, and people as it sees them.
func (e *Effective) For(beyond map[string]string, seen func(find.Person) find.Person) *Effective {
	out := *e
	out.Beyond, out.seen = beyond, seen
	return &out
}

// Remarks says what a finder is to know of the profile on a day: that it is no longer, or not yet, meant to be used.
func (e *Effective) Remarks(today string) (list notice.List) {
	if v := e.Valid; v != nil && today != "" && (v.To != "" && today > v.To || today < v.From) {
		list.Add(notice.Notice{Kind: &kinds.ProfileDate, Location: notice.Location{File: e.File},
			Message: "the profile is meant to be used " + e.span("en")})
	}
	return list
}

// Refused is what is never to be sent, as the body calls it in a language.
func (e *Effective) Refused(language string) (out []string) {
	for _, a := range e.Asks {
		if a.Strength == Never {
			out = append(out, strings.TrimRight(e.Called(a, language), "."))
		}
	}
	return out
}

// Never reports whether a member is never to be sent.
func (e *Effective) Never(pointer string) bool {
	return slices.ContainsFunc(e.Asks, func(a *Ask) bool {
		return a.Strength == Never && a.When == nil && slices.Contains(a.Ask.Any, pointer)
	})
}

// Named returns an ask by its name, nil if there is none.
func (e *Effective) Named(name string) *Ask {
	for _, a := range e.Asks {
		if a.Name == name {
			return a
		}
	}
	return nil
}

// levels are the shipped profiles, from the least to the most. That nothing is wrong with them is asked by a test, not
// at each start.
var levels = sync.OnceValue(func() (out []*Effective) {
	files := map[string]*file{}
	for _, row := range levelRows() {
		var chain []*file
		for next := (&Base{Profile: row.Level}); next != nil; {
			f := files[next.Profile]
			if f == nil {
				f = &file{name: next.Profile}
				f.raw, _ = schema.Profile(f.name)
				if err := f.take(f.raw); err != nil {
					panic("the profiles of this program are damaged: " + err.Error())
				}
				files[f.name] = f
			}
			chain, next = append(chain, f), f.BasedOn
		}
		out = append(out, layTogether(chain))
	}
	return out
})

type levelRow struct {
	Level   string `json:"level"`
	Default bool   `json:"default"`
}

func levelRows() []levelRow {
	rows, _ := schema.Rows[levelRow]("profiles") // a test reads them
	return rows
}

// Levels returns the profiles that are shipped as levels, from the least to the most. The list is fresh, the
// profiles are shared and must not be changed.
func Levels() []*Effective { return slices.Clone(levels()) }

// LevelNames returns the ids of the levels, from the least to the most.
func LevelNames() (out []string) {
	for _, row := range levelRows() {
		out = append(out, row.Level)
	}
	return out
}

// DefaultLevel returns the id of the level that is asked where nothing else is.
func DefaultLevel() string {
	for _, row := range levelRows() {
		if row.Default {
			return row.Level
		}
	}
	return ""
}

// Level returns a shipped level by its id, nil if there is none.
func Level(id string) *Effective {
	for _, e := range levels() {
		if e.ID == id {
			return e
		}
	}
	return nil
}

// reader holds what profiles read words as: by code list, the words folded, to codes.
type reader map[string]map[string]string

// Words gives terms the codes that profiles read their words as, and says so. Where two profiles differ the later wins.
func Words(in *find.Stream, list []*Effective) *find.Stream {
	words, beside := reader{}, []member(nil)
	for _, e := range list {
		for _, t := range e.Terms {
			m, ok := memberAt(t.Member)
			said := t.read()
			if !ok || len(said) == 0 {
				continue
			}
			if words[m.list] == nil {
				words[m.list] = map[string]string{}
			}
			for _, word := range slices.Sorted(maps.Keys(said)) {
				words[m.list][fold(word)] = said[word]
			}
			if m.of == "permission" {
				beside = append(beside, m)
			}
		}
	}
	if len(words) == 0 {
		return in
	}
	for _, m := range beside {
		for i := range in.Report.Permissions {
			pointer := fmt.Sprintf("/permissions/%d%s", i, m.pointer[len("/permission"):])
			find.Values(m.Way, &in.Report.Permissions[i], func(v any) bool {
				words.read(m.list, find.TermOf(v), pointer, &in.Notices)
				return true
			})
		}
	}
	return in.Map(func(e *find.Entry, _ bool) bool {
		e.Find.Terms(func(pointer, list string, t *find.Term) { words.read(list, t, pointer, &e.Notices) })
		return true
	})
}

// read gives a term the code that a profile has for its words, where it has none or the one that they have elsewhere.
func (r reader) read(list string, t *find.Term, pointer string, notices *notice.List) {
	if t == nil || t.Verbatim == "" || r[list] == nil {
		return
	}
	code := r[list][fold(t.Verbatim)]
	if code == "" || code == t.Code {
		return
	}
	known, isKnown := vocabulary.Get(list).Match(t.Verbatim)
	if t.Code != "" && (!isKnown || known.Code != t.Code) {
		return // somebody has looked, and chose it
	}
	message := fmt.Sprintf("read as %s, as the profile has it", code)
	if t.Code != "" {
		message += "; elsewhere it is " + t.Code
	}
	t.Code = code
	n := notice.New(&kinds.ProfileWord, pointer, message)
	n.Written = t.Verbatim
	notices.Add(n)
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
