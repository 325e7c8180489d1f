package release

import (
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
)

// A list is a list of codes as it is published.
type list struct {
	List        string    `json:"list"`
	Title       string    `json:"title"`
	Description string    `json:"description"`
	Open        bool      `json:"open"`
	Since       string    `json:"since"`
	Source      string    `json:"source"`
	Concepts    []concept `json:"concepts"`
}

type concept struct {
	Code       string              `json:"code"`
	PrefLabel  map[string]string   `json:"prefLabel"`
	AltLabel   map[string][]string `json:"altLabel"`
	Hidden     map[string][]string `json:"hiddenLabel"`
	ScopeNote  string              `json:"scopeNote"`
	CloseMatch []string            `json:"closeMatch"`
	Group      string              `json:"group"`
	Caution    string              `json:"caution"`

	figures map[string]any // the other members: ranks, widths, densities
}

// UnmarshalJSON reads a concept and keeps what it has no field for.
func (c *concept) UnmarshalJSON(text []byte) error {
	type fields concept
	if err := json.Unmarshal(text, (*fields)(c)); err != nil {
		return err
	}
	if err := json.Unmarshal(text, &c.figures); err != nil {
		return err
	}
	for _, known := range []string{"code", "prefLabel", "altLabel", "hiddenLabel", "scopeNote", "closeMatch", "group", "caution"} {
		delete(c.figures, known)
	}
	return nil
}

func (l *list) get(code string) *concept {
	for i := range l.Concepts {
		if l.Concepts[i].Code == code {
			return &l.Concepts[i]
		}
	}
	return nil
}

// words returns the code that each word stands for, in the form language: word.
func (l *list) words() map[string]string {
	out := map[string]string{}
	for _, c := range l.Concepts {
		for lang, text := range c.PrefLabel {
			out[lang+": "+text] = c.Code
		}
		for _, labels := range []map[string][]string{c.AltLabel, c.Hidden} {
			for lang, texts := range labels {
				for _, text := range texts {
					out[lang+": "+text] = c.Code
				}
			}
		}
	}
	return out
}

// compareLists says what changed from the code lists of one version to those of the next.
func compareLists(old, now map[string]*list) Changes {
	var found Changes
	for _, name := range slices.Sorted(maps.Keys(old)) {
		if now[name] == nil {
			found.add(Breaking, "list "+name, "the list is gone")
			continue
		}
		compareList(&found, old[name], now[name])
	}
	for _, name := range slices.Sorted(maps.Keys(now)) {
		if old[name] == nil {
			found.add(Compatible, "list "+name, "a new list")
		}
	}
	found.sort()
	return found
}

func compareList(found *Changes, old, now *list) {
	where := "list " + old.List
	switch {
	case old.Open && !now.Open:
		found.add(Breaking, where, "open to closed")
	case !old.Open && now.Open:
		found.add(Breaking, where, "closed to open: older programs refuse new codes")
	}
	if old.Title != now.Title || old.Description != now.Description || old.Source != now.Source || old.Since != now.Since {
		found.add(Documentation, where, "other words about the list")
	}
	for _, c := range old.Concepts {
		if n := now.get(c.Code); n != nil {
			compareConcept(found, where+" "+c.Code, c, *n)
		} else if to := renamed(c, old, now); to != "" {
			found.add(Breaking, where+" "+c.Code, "the code was renamed to %s", to)
		} else {
			found.add(Breaking, where+" "+c.Code, "the code is gone")
		}
	}
	for _, c := range now.Concepts {
		if old.get(c.Code) != nil {
			continue
		}
		if old.Open {
			found.add(Compatible, where+" "+c.Code, "a new code")
		} else {
			found.add(Breaking, where+" "+c.Code, "a new code in a closed list, which older programs refuse")
		}
	}
	was, is := old.words(), now.words()
	for _, word := range slices.Sorted(maps.Keys(was)) {
		switch code := is[word]; {
		case code == was[word]:
		case code == "":
			found.add(Compatible, where+" "+was[word], "no longer read from the words %q", word)
		case now.get(was[word]) != nil:
			found.add(Breaking, where+" "+was[word], "the words %q stand for %s now", word, code)
		}
	}
	for _, word := range slices.Sorted(maps.Keys(is)) {
		if was[word] == "" && old.get(is[word]) != nil {
			found.add(Compatible, where+" "+is[word], "read from the words %q too", word)
		}
	}
}

// renamed returns the new code that has the label of one that is gone, if there is one.
func renamed(c concept, old, now *list) string {
	for _, n := range now.Concepts {
		if old.get(n.Code) == nil && n.PrefLabel["en"] != "" && strings.EqualFold(n.PrefLabel["en"], c.PrefLabel["en"]) {
			return n.Code
		}
	}
	return ""
}

func compareConcept(found *Changes, where string, was, is concept) {
	for _, lang := range slices.Sorted(maps.Keys(was.PrefLabel)) {
		if was.PrefLabel[lang] != is.PrefLabel[lang] {
			found.add(Documentation, where, "another label in %s", lang)
		}
	}
	if was.ScopeNote != is.ScopeNote {
		found.add(Documentation, where, "another scope note")
	}
	if !slices.Equal(was.CloseMatch, is.CloseMatch) {
		found.add(Documentation, where, "other outside ids")
	}
	if was.Group != is.Group {
		found.add(Compatible, where, "stands in the group %q now, was %q", is.Group, was.Group)
	}
	switch {
	case was.Caution != "" && is.Caution == "":
		found.add(Breaking, where, "the caution is gone")
	case was.Caution != is.Caution:
		found.add(Compatible, where, "another caution")
	}
	names := map[string]bool{}
	for name := range was.figures {
		names[name] = true
	}
	for name := range is.figures {
		names[name] = true
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		if !reflect.DeepEqual(was.figures[name], is.figures[name]) {
			found.add(Compatible, where, "another %s", name)
		}
	}
}

func readList(text []byte) (*list, error) {
	l := new(list)
	if err := json.Unmarshal(text, l); err != nil {
		return nil, err
	}
	if l.List == "" {
		return nil, fmt.Errorf("the list has no name")
	}
	return l, nil
}
