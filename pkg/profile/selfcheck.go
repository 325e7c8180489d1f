package profile

import (
	"cmp"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/country"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// faults says what is wrong with a profile and its bases beyond their build.
func (e *Effective) faults(chain []*file, known Known) (list notice.List) {
	conditions := 0
	for _, f := range chain {
		c := &checker{file: f, effective: e}
		c.texts()
		c.asks()
		c.terms()
		c.covers()
		c.waivers()
		c.changes(known)
		c.once("/terms", names(f.Terms, func(t Terms) string { return t.Member }))
		c.once("/periods", names(f.Periods, func(p Period) string { return fold(p.Word) }))
		c.once("/rules", names(f.Rules, func(r Rule) string { return r.Rule }))
		c.once("/settings", names(f.Settings, func(s Setting) string { return s.Setting }))
		c.once("/headings", names(slices.Collect(maps.Keys(f.Headings)), fold))
		c.languages()
		c.dangers(known.Danger)
		if f.Jurisdiction != "" && !country.Known(f.Jurisdiction) {
			c.say(&kinds.ProfileUnknown, "/jurisdiction",
				"%s is no country and no part of one that is known|Write it as GB-ENG or DK.", f.Jurisdiction)
		}
		list.Add(c.list...)
		conditions += c.conditions
	}
	c := &checker{file: chain[0], effective: e}
	if n := len(e.Asks); n > mostAsks || conditions > mostConditions {
		c.say(&kinds.ProfileShape, "/asks",
			"with those that it is based on it has %d asks and %d parts of conditions; %d and %d are allowed|Ask for less, or "+
				"make two profiles of it.", n, conditions, mostAsks, mostConditions)
	}
	if !wrong(list) && !wrong(c.list) {
		c.contradictions()
		c.untold()
	}
	list.Add(c.list...)
	return list
}

// What a profile with those that it is based on may hold, so that no find costs more than so much to be put to it.
const (
	mostAsks       = 200
	mostConditions = 2000 // with the parts of each
)

// Limits are those bounds, for who lists them.
func Limits() [][2]string {
	return [][2]string{{"profile-asks", strconv.Itoa(mostAsks)}, {"profile-conditions", strconv.Itoa(mostConditions)},
		{"profile-nesting", strconv.Itoa(mostDeep)}, {"profile-chain", strconv.Itoa(mostChain)},
		{"profile-bytes", strconv.Itoa(mostBytes)}}
}

// Known tells of rules and of settings, which this package does not know. Functions that are nil are not asked.
type Known struct {
	// Danger reports whether words speak of ammunition or human remains, and, if what they are about is that, whether they
	// tell people to handle it, or neither forbid that nor send to the police.
	Danger  func(language, words string) (speaks bool, wrong string) // wrong: the sentence that is
	Rule    func(code string) (known, changeable bool)
	Setting func(name, value string) (known, changeable bool)
}

// changes looks at the rules and figures that are changed.
func (c *checker) changes(known Known) {
	for i, r := range c.file.Rules {
		if known.Rule == nil {
			break
		}
		at := fmt.Sprintf("/rules/%d/rule", i)
		if there, free := known.Rule(r.Rule); !there {
			c.say(&kinds.ProfileUnknown, at, "there is no rule %q|findslip rules lists them.", r.Rule)
		} else if !free {
			c.say(&kinds.ProfileShape, at,
				"%q is no opinion: it is of safety, law or sharing, or a fault|Take it out: no profile can change it.", r.Rule)
		}
	}
	for i, s := range c.file.Settings {
		if known.Setting == nil {
			break
		}
		at := fmt.Sprintf("/settings/%d/setting", i)
		if there, free := known.Setting(s.Setting, string(s.Value)); !there {
			c.say(&kinds.ProfileUnknown, at, "there is no setting %q|findslip rules lists them.", s.Setting)
		} else if !free {
			c.say(&kinds.ProfileShape, at,
				"%q is a figure of safety, law or sharing, or takes no %s|Take it out, or write another value.", s.Setting, s.Value)
		}
	}
}

type checker struct {
	file      *file
	effective *Effective
	list      notice.List

	conditions int // parts of conditions that were seen
}

// say reports what is wrong, and behind | what is done about it.
func (c *checker) say(k *notice.Kind, pointer, format string, args ...any) {
	message, help, _ := strings.Cut(fmt.Sprintf(format, args...), "|")
	n := c.file.say(k, pointer, message)
	n.Help = help
	c.list.Add(n)
}

// once says which name a part of the profile has twice.
func (c *checker) once(at string, names []string) {
	slices.Sort(names)
	for i, name := range names {
		if i > 0 && name == names[i-1] {
			c.say(&kinds.ProfileImpossible, at, "%q stands there twice|Take one of the two out.", name)
		}
	}
}

// asks looks at each ask by itself.
func (c *checker) asks() {
	seen := map[string]bool{}
	for i, a := range c.file.Asks {
		at := fmt.Sprintf("/asks/%d", i)
		if seen[a.Name] {
			c.say(&kinds.ProfileImpossible, at+"/name",
				"two asks are called %q|Give one of them another name: of two with one name only the later would be asked.", a.Name)
		}
		seen[a.Name] = true
		if b := c.effective.Named(a.Name); b != nil && b.allowed && !slices.Equal(a.Ask.OneOf, b.Ask.OneOf) {
			c.say(&kinds.ProfileImpossible, at+"/name", "%q is what the ask is called that is made of a list of terms", a.Name)
		}
		c.condition(at+"/when", a.When, mostDeep)
		c.wanted(at+"/ask", a)
	}
}

// wanted looks at what an ask wants of its members.
func (c *checker) wanted(at string, a *Ask) {
	columns, fine := 0, false
	for i, w := range a.Ask.Ways() {
		here := at
		if i > 0 {
			here = fmt.Sprintf("%s/or/%d", at, i-1)
		}
		if i > 0 && w.Or != nil {
			c.say(&kinds.ProfileImpossible, here+"/or",
				"what does as well has nothing further that does as well; write all of it into one list")
		}
		n, ok := c.way(here, w)
		if !ok {
			return
		}
		columns += n
		fine = fine || exact(w)
	}
	if a.Strength == Never {
		c.never(at, a)
		return
	}
	if slices.Contains(a.Ask.Members(), "") {
		c.say(&kinds.ProfileImpossible, at+"/any", "only what is never to be sent is a whole find|Name its members.")
	}
	if columns == 0 && a.Strength != May {
		c.say(&kinds.ProfileNoColumn, at+"/any",
			"no column of a template holds %s|Ask for another member, or with strength may; findslip profile --members names "+
				"the columns.", strings.Join(a.Ask.Members(), " or "))
	}
	if fine && a.Strength != May && len(a.Why) == 0 {
		c.say(&kinds.ProfileWhy, at, "ask %q wants an exact place", a.Name)
	}
}

// way looks at one of what will do, and counts the members that a column holds.
func (c *checker) way(at string, w *Wanted) (columns int, ok bool) {
	if len(w.Any) == 1 && w.Any[0] == "" {
		return 1, true // the whole find
	}
	for i, pointer := range w.Any {
		m, ok := memberAt(pointer)
		if !ok {
			c.unknownMember(fmt.Sprintf("%s/any/%d", at, i), pointer)
			return 0, false
		}
		if Column(pointer) != "" || besideName(pointer, "en") != "" {
			columns++
		}
		c.codes(at+"/oneOf", &m, w.OneOf)
		place := strings.HasPrefix(pointer, "/position")
		for _, fault := range []struct {
			there    bool
			at, what string
		}{
			{w.Within > 0 && !place, "/within", "%s is no position, and only a position is known to so many metres"},
			{w.Figures > 0 && !place, "/figures", "%s is no position, and only a position has so many figures"},
			{w.Figures%2 == 1, "/figures",
				"no grid reference at %s has so many figures: half are for the easting, half for the northing"},
			{w.Precision != "" && !isDate(&m), "/precision", "%s is no date, and only a date is known to the day"},
			{w.Days > 0 && (!isDate(&m) || isFinding(pointer)), "/days",
				"%s is no date of what was done after the finding, and only such a one comes so many days later"},
			{w.Pixels > 0 && pointer != "/media", "/pixels", "%s is no picture, and only pictures have pixels"},
			{w.OneOf != nil && isDate(&m), "/oneOf", "%s is a date, and none of a list|Leave oneOf out."},
			{(w.AtLeast != nil || w.AtMost != nil) && !m.Many && !m.isNumber(), "",
				"%s is no number and no list, and never at least or at most one|Leave the bounds out."},
		} {
			if fault.there {
				c.say(&kinds.ProfileImpossible, at+fault.at, fault.what, pointer)
			}
		}
	}
	return columns, true
}

// never looks at what is never to be sent.
func (c *checker) never(at string, a *Ask) {
	w := &a.Ask
	if bare := (Wanted{Any: w.Any}); !reflect.DeepEqual(*w, bare) {
		c.say(&kinds.ProfileImpossible, at, "what is never to be sent is taken out whole; nothing more can be wanted of it")
	}
	if slices.Equal(w.Any, []string{""}) {
		if a.When == nil {
			c.say(&kinds.ProfileImpossible, at+"/any", "of all finds nothing is ever to be sent|Say in when of which.")
		}
		return
	}
	if a.Share > 0 {
		c.say(&kinds.ProfileImpossible, strings.TrimSuffix(at, "/ask")+"/share",
			"what is never to be sent is so for every find, and not for a share of them")
	}
	if a.When != nil && slices.ContainsFunc(w.Any, func(p string) bool {
		return strings.Count(p, "/") > 1 && isBeside(strings.Split(p, "/")[1])
	}) {
		c.say(&kinds.ProfileImpossible, at+"/any",
			"of a permission or a person nothing is left out for the sake of some finds: ask it without when, and it is left "+
				"out for all")
	}
	if slices.ContainsFunc(w.Any, kept) {
		c.say(&kinds.ProfileShape, at+"/any",
			"its id, its kind, and what says who may see it, stay in every copy|Leave them out of what is never to be sent.")
	}
}

// kept reports whether a member stays in every copy, whoever asks.
func kept(pointer string) bool {
	if pointer == "" {
		return true // beside others; alone it is the whole find
	}
	first, rest, _ := strings.Cut(pointer[1:], "/")
	if isBeside(first) && rest != "" {
		first, _, _ = strings.Cut(rest, "/")
	}
	return slices.Contains([]string{"id", "kind", "absent", "generalised", "sensitivity", "hazards", "humanRemains",
		"consents"}, first)
}

// isFinding reports whether a member is the day of finding.
func isFinding(pointer string) bool { return pointer == "/found" || pointer == "/found/date" }

// isDate reports whether a member is a date.
func isDate(m *member) bool {
	last := m.pointer[strings.LastIndexByte(m.pointer, '/')+1:]
	return m.pointer == "/found" || m.Text && slices.Contains([]string{"date", "on",
		"validFrom", "validTo", "changed", "at", "deadline", "embargoUntil"}, last)
}

// exact reports whether a position is wanted that is known to less than a kilometre.
func exact(w *Wanted) bool { return w.Within > 0 && w.Within < 1000 || w.Figures > 4 }

func (c *checker) unknownMember(at, pointer string) {
	c.say(&kinds.ProfileUnknown, at, "no find has a member %s%s", pointer, nearText(pointer, allMembers()))
}

// nearText says which of some names is near one that there is not.
func nearText(word string, among []string) string {
	if near := nearest(word, among); near != "" {
		return "; " + near + " is near it"
	}
	return ""
}

// names are those of the items of a list.
func names[T any](list []T, of func(T) string) (out []string) {
	for _, item := range list {
		out = append(out, of(item))
	}
	return out
}

// nearest returns the text with the fewest letters changed, if they are few.
func nearest(word string, among []string) (near string) {
	best := 1 + len(word)/3
	for _, other := range among {
		if d := vocabulary.EditDistance(word, other); d < best {
			best, near = d, other
		}
	}
	return near
}

// codes says which codes the list of a member does not have.
func (c *checker) codes(at string, m *member, codes []string) {
	if m.list == "" {
		if len(codes) > 0 && !m.Text {
			c.say(&kinds.ProfileImpossible, at, "%s has no list of codes", m.pointer)
		}
		return
	}
	scheme := vocabulary.Get(m.list)
	if scheme == nil {
		return
	}
	for i, code := range codes {
		if len(c.list) > 50 {
			return // enough is said
		}
		if _, ok := scheme.Concept(code); ok || vocabulary.IsLocal(code) || isGroup(scheme, code) {
			continue
		}
		near := nearText(code, names(scheme.Concepts, func(x *vocabulary.Concept) string { return x.Code }))
		if found, ok := scheme.Match(code); ok && near == "" {
			near = "; " + found.Code + " is what it is called here"
		}
		c.say(&kinds.ProfileUnknown, fmt.Sprintf("%s/%d", at, i),
			"the list %s has no code %q%s|Take a code of the list: findslip explain %s.", m.list, code, near, m.list)
	}
}

func isGroup(s *vocabulary.Scheme, name string) bool {
	for _, concept := range s.Concepts {
		if concept.Group != "" && groupName(concept.Group) == name {
			return true
		}
	}
	return false
}

// condition looks at one condition and those within it.
func (c *checker) condition(at string, when *Condition, deep int) {
	if when == nil {
		return
	}
	if c.conditions++; deep == 0 {
		c.say(&kinds.ProfileImpossible, at, "conditions are nested more than %d deep", mostDeep)
		return
	}
	count := func(there ...bool) int {
		return len(slices.DeleteFunc(there, func(is bool) bool { return !is }))
	}
	forms := count(when.All != nil, when.Any != nil, when.Not != nil, when.Member != "", when.Land != nil)
	tests := count(when.Given != nil, when.Is != nil, when.Older != nil, when.AtLeast != nil || when.AtMost != nil,
		when.From != "" || when.To != "")
	if forms != 1 || (when.Member != "") != (tests == 1) || tests > 1 {
		c.say(&kinds.ProfileShape, at,
			"a condition is one of: all, any, not, land, or a member with one of given, is, older, atLeast and atMost, from "+
				"and to")
		return
	}
	for i, part := range when.All {
		c.condition(fmt.Sprintf("%s/all/%d", at, i), part, deep-1)
	}
	for i, part := range when.Any {
		c.condition(fmt.Sprintf("%s/any/%d", at, i), part, deep-1)
	}
	c.condition(at+"/not", when.Not, deep-1)
	if when.Member != "" {
		c.test(at, when)
	}
}

// test looks at what a condition wants of its member.
func (c *checker) test(at string, when *Condition) {
	m, ok := memberAt(when.Member)
	if !ok {
		c.unknownMember(at+"/member", when.Member)
		return
	}
	switch {
	case when.Given != nil && *when.Given && (when.Member == "/dating/latest" || when.Member == "/dating/earliest"):
		c.say(&kinds.ProfileUntold, at, "an age in words, such as Roman or medieval, says no year: nothing is asked where "+
			"one stands|Put Dating given in its place: then it is asked for.")
	case when.Older != nil && when.Member != "/dating/latest" && when.Member != "/dating/earliest":
		c.say(&kinds.ProfileImpossible, at, "%s is no year of making; /dating/latest is one", when.Member)
	case when.Is != nil:
		c.codes(at+"/is", &m, when.Is)
	case when.AtLeast != nil || when.AtMost != nil:
		if !m.isNumber() {
			c.say(&kinds.ProfileImpossible, at, "%s is no number, and never at least or at most one", when.Member)
		}
	case when.From != "" || when.To != "":
		if !m.Text {
			c.say(&kinds.ProfileImpossible, at, "%s is no date", when.Member)
		}
		c.days(at, when.From, when.To)
	}
}

// days says which of two days there is not, or that they are the wrong way round.
func (c *checker) days(at, from, to string) {
	for name, day := range map[string]string{"from": from, "to": to} {
		if _, err := time.Parse(time.DateOnly, day); day != "" && err != nil {
			c.say(&kinds.ProfileImpossible, at+"/"+name, "there is no day %s|Write it as 2026-04-12.", day)
			return
		}
	}
	if from != "" && to != "" && from > to {
		c.say(&kinds.ProfileImpossible, at, "the last day, %s, is before the first, %s|Exchange the two.", to, from)
	}
}

func (c *checker) terms() {
	for i, t := range c.file.Terms {
		at := fmt.Sprintf("/terms/%d", i)
		m, ok := memberAt(t.Member)
		switch {
		case !ok:
			c.unknownMember(at+"/member", t.Member)
			continue
		case m.list == "":
			c.say(&kinds.ProfileImpossible, at+"/member", "%s has no list of codes", t.Member)
			continue
		}
		c.codes(at+"/allowed", &m, t.Allowed)
		said, codes := t.read(), map[string]string{}
		for _, word := range slices.Sorted(maps.Keys(said)) {
			for _, code := range []string{said[word], t.Words[word]} {
				if other := cmp.Or(codes[fold(word)], code); code != "" && other != code {
					c.say(&kinds.ProfileImpossible, at, "%q is to be read as %s and as %s|Take one of them out.", word, other, code)
				} else if code != "" {
					codes[fold(word)] = code
				}
			}
			here, code := at+"/words/"+notice.Escape(word), said[word]
			if t.Words[word] == "" {
				here = at + "/preferred/" + code
			}
			c.codes(here, &m, []string{code})
			if known, ok := vocabulary.Get(m.list).Match(word); ok && known.Code == code {
				if t.Preferred[code] == word {
					continue
				}
				c.say(&kinds.ProfileIdle, here, "%q is read as %s already", word, known.Code)
			} else if ok {
				c.say(&kinds.ProfileConflict, here,
					"%q is %s elsewhere and %s for you: a log that is read without this profile has the other|Take another word, if "+
						"there is one that your people use.", word, known.Code, code)
			} else if t.Allowed != nil && !slices.Contains(t.Allowed, code) {
				c.say(&kinds.ProfileIdle, here, "%q is read as %s, which is none of the codes that are allowed here", word, code)
			}
		}
	}
	for i, p := range c.file.Periods {
		if p.From > p.To {
			c.say(&kinds.ProfileImpossible, fmt.Sprintf("/periods/%d", i),
				"the last year of %q, %d, is before the first, %d|Exchange the two.", p.Word, p.To, p.From)
		}
	}
	for _, text := range slices.Sorted(maps.Keys(c.file.Headings)) {
		if name := c.file.Headings[text]; !isField(name) {
			c.say(&kinds.ProfileUnknown, "/headings/"+notice.Escape(text), "no field of a find is named %q", name)
		} else if known := heading.Understand(text).Field; known == name {
			c.say(&kinds.ProfileIdle, "/headings/"+notice.Escape(text), "the heading %q is read as %s already", text, known)
		} else if known != "" {
			c.say(&kinds.ProfileConflict, "/headings/"+notice.Escape(text),
				"the heading %q is read as %s, and stays so|Give your column another heading.", text, known)
		}
	}
}

func isField(name string) bool {
	_, err := find.PathTo[find.Find](name)
	return err == nil || heading.IsPart(name)
}

func (c *checker) covers() {
	if v := c.file.Valid; v != nil {
		c.days("/valid", v.From, v.To)
	}
	covers := c.file.Covers
	if covers == nil {
		return
	}
	if v := c.file.Valid; v != nil && v.To != "" && covers.From > v.To {
		c.say(&kinds.ProfileConflict, "/covers/from",
			"it covers finds from %s on, and is used until %s only|Change one of the two.", covers.From, v.To)
	}
	c.days("/covers", covers.From, covers.To)
	c.condition("/covers/when", covers.When, mostDeep)
	if covers.Area == nil {
		return
	}
	area, err := coordinate.NewArea(covers.Area.Coordinates)
	if err != nil {
		c.say(&kinds.ProfileImpossible, "/covers/area", "the outline encloses nothing that can be used: %v", err)
	} else if land, ok := country.Area(c.file.Jurisdiction); ok && !area.Meets(land) {
		c.say(&kinds.ProfileConflict, "/covers/area", "no point of the outline lies in %s, which is the jurisdiction|"+
			"Look at the order of the numbers, longitude first, and at the jurisdiction.", c.file.Jurisdiction)
	}
}

func (c *checker) waivers() {
	for i := range c.file.Waivers {
		w := &c.file.Waivers[i]
		at := fmt.Sprintf("/waivers/%d", i)
		if c.effective.Named(w.Ask) == nil {
			c.say(&kinds.ProfileImpossible, at+"/ask",
				"there is no ask %q to be waived%s|Write the name of an ask as it stands in its line.", w.Ask,
				nearText(w.Ask, names(c.effective.Asks, func(a *Ask) string { return a.Name })))
		}
		c.condition(at+"/when", w.When, mostDeep)
		for _, pointer := range w.When.members(nil) {
			if pointer == "/finder/name" || pointer == "/finder/contact" {
				c.say(&kinds.ProfileUntold, at+"/when",
					"a finder who has not agreed that you have the %s is not known by it, and the waiver waits|Name the finder by "+
						"handle: %s.", MemberName(pointer, "en"), MemberName("/finder/handle", "en"))
			}
		}
		c.days(at, w.On, w.Until)
		if v := c.file.Valid; v != nil && (v.To != "" && w.On > v.To || w.Until != "" && w.Until < v.From) {
			c.say(&kinds.ProfileConflict, at, "the waiver holds on no day on which the profile does|Change one of the two.")
		}
	}
}

func (c *checker) askAt(name string) string {
	for i, a := range c.file.Asks {
		if a.Name == name {
			return fmt.Sprintf("/asks/%d", i)
		}
	}
	return "/basedOn"
}

// untold says of which finds it cannot be told whether something is asked that must be given: where there is no answer
// to what a condition looks at, and no ask says that one is needed.
func (c *checker) untold() {
	for _, a := range c.effective.Asks {
		if a.Strength != Must || a.When == nil {
			continue
		}
		names := slices.DeleteFunc(a.When.because(&Subject{Find: new(find.Find), year: 2000}, Untold, nil),
			func(pointer string) bool {
				return slices.ContainsFunc(c.effective.Asks, func(b *Ask) bool {
					return b.Strength == Must && b.When == nil && b.Ask.Given && slices.Equal(b.Ask.Members(), []string{pointer})
				})
			})
		if len(names) > 0 && c.askAt(a.Name) != "/basedOn" {
			for i, pointer := range names {
				names[i] = MemberName(pointer, "en")
			}
			c.say(&kinds.ProfileUntold, c.askAt(a.Name)+"/when",
				"where %s is blank, or not known, it cannot be told whether %q is asked: such a find is not good",
				strings.Join(names, " or "), a.Name)
		}
	}
}
