package share

import (
	"context"
	"fmt"
	"path"
	"strings"
	"sync"
	"unicode"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// secret is one text that must not be found.
type secret struct {
	kind, member string
	exact        string // letters and digits in their case, where only these tell; else empty
}

// secrets are what an audience may not see of a source.
type secrets struct {
	ctx       context.Context // of the one call that they were gathered for
	steps     int             // of that call, so that the context is asked now and then
	audience  Audience
	known     map[string]secret // by key: words without anything between them
	begins    map[string]bool   // every beginning of a key
	uuids     map[string]secret // ids without their prefix
	figures   figures
	positions []place         // of what the audience may not see
	own       []place         // of a landowner's own land
	allowed   map[string]bool // figures of the copy that may stand
	shown     map[string]bool // keys of words that the copy shows by right
	numbers   string          // numbers of finds that the copy keeps, one a line
	spots     []place         // one position of each spot
	near      float64         // metres within which a spelling tells a position
}

// stopped tells, asked at every step of long work, whether the work is to end: what was found is then
// of no account, and the caller says so with the error of the context.
func (s *secrets) stopped() bool {
	s.steps++
	return s.steps%256 == 0 && s.ctx.Err() != nil
}

// secretsOf gathers what an audience may not see.
func secretsOf(ctx context.Context, source, copied *find.Report, a Audience) *secrets {
	s := &secrets{ctx: ctx, audience: a, known: map[string]secret{}, begins: map[string]bool{}, uuids: map[string]secret{}, allowed: map[string]bool{}, shown: map[string]bool{}, near: nearPublic}
	if a == Landowner {
		s.near = nearOwner
	}
	hidesPlaces := a == Public || a == Expert
	kept := map[string]bool{}
	for _, p := range copied.Permissions {
		kept[p.ID] = true
	}
	s.allow(source, copied, kept, hidesPlaces)
	for i := range source.People {
		s.person(fmt.Sprintf("/people/%d", i), &source.People[i], hidesPlaces)
	}
	placeless := map[string]bool{} // permissions and finds of the copy of which the place was taken away, by a policy
	for i := range copied.Permissions {
		placeless[copied.Permissions[i].ID] = copied.Permissions[i].Place == nil
	}
	shown := map[string][]*find.Find{} // two finds of a log may have one id by mistake: then they come in the order of the source
	for _, f := range copied.Finds {
		shown[f.ID] = append(shown[f.ID], f)
	}
	for i := range source.Permissions {
		p := &source.Permissions[i]
		if hidesPlaces || a == Landowner && !kept[p.ID] || placeless[p.ID] {
			member := fmt.Sprintf("/permissions/%d", i)
			s.place(member+"/place", p.Place)
			s.add("document", member+"/documentNumber", p.DocumentNumber)
		}
	}
	for i, f := range source.Finds {
		if s.stopped() {
			return s
		}
		member := fmt.Sprintf("/finds/%d", i)
		foreign := a == Landowner && !kept[f.Permission]
		s.find(member, f, hidesPlaces || foreign)
		if list := shown[f.ID]; len(list) > 0 && !hidesPlaces && !foreign {
			s.coarser(member, f, list[0])
			if len(list) > 1 {
				shown[f.ID] = list[1:]
			}
		}
	}
	s.unread(source)
	if a == Public {
		s.id("/id", source.ID)
	}
	s.spots = spotsOf(s.positions)
	s.figures = figuresOf(s.positions, s.allowed, a)
	return s
}

// allow notes what the copy shows by right.
func (s *secrets) allow(source, copied *find.Report, kept map[string]bool, hidesPlaces bool) {
	var numbers []string
	for _, f := range copied.Finds {
		numbers = append(numbers, f.Number)
		if p := f.Position; p != nil && (!hidesPlaces || onGrid(p, f.Generalised["/position"])) {
			s.allowed[p.Latitude.String()], s.allowed[p.Longitude.String()] = true, true
		}
		if p := f.Place; p != nil {
			s.shown[keyOf(p.Region)], s.shown[keyOf(p.Country)] = true, true
		}
	}
	s.numbers = strings.Join(numbers, "\n")
	for _, p := range copied.People {
		s.shown[keyOf(p.Name)], s.shown[keyOf(p.Contact)], s.shown[keyOf(p.Handle)] = true, true, true
	}
	if s.audience != Landowner {
		return
	}
	// Two fields may lie in one parish: what is told of the owner's own land may stand.
	own := func(p *find.Place) {
		if p != nil {
			s.shown[keyOf(p.Name)], s.shown[keyOf(p.Parish)], s.shown[keyOf(p.Verbatim)] = true, true, true
		}
	}
	for i := range source.Permissions {
		if kept[source.Permissions[i].ID] {
			own(source.Permissions[i].Place)
		}
	}
	for i, f := range source.Finds {
		if kept[f.Permission] {
			own(f.Place)
			s.own = appendPlace(s.own, fmt.Sprintf("/finds/%d/position", i), f.Position)
		}
	}
}

func (s *secrets) person(member string, p *find.Person, hidesPlaces bool) {
	s.add("contact", member+"/contact", p.Contact)
	if hidesPlaces {
		s.add("name", member+"/handle", p.Handle)
	}
	s.add("name", member+"/name", p.Name)
	if s.shown[keyOf(p.Name)] {
		return
	}
	// A surname tells as much as the name, but for one that is a word of every log, such as Bell.
	parts := strings.Fields(p.Name)
	if len(parts) < 2 {
		return
	}
	for _, part := range parts {
		if first := []rune(part); len(first) >= 4 && unicode.IsUpper(first[0]) && !everyday()[keyOf(part)] {
			s.put(keyOf(part), secret{"name", member + "/name", letters(part)})
		}
	}
}

func (s *secrets) find(member string, f *find.Find, hidden bool) {
	s.add("storage", member+"/storagePlace", f.StoragePlace)
	s.add("value", member+"/value", f.Value)
	if s.audience == Public {
		s.id(member+"/id", f.ID)
	}
	for i := range f.Media {
		name := path.Base(strings.ReplaceAll(f.Media[i].File, `\`, "/"))
		s.addName("picture-name", fmt.Sprintf("%s/media/%d/file", member, i), strings.TrimSuffix(name, path.Ext(name)))
	}
	if !hidden {
		return
	}
	if s.audience != Expert {
		s.addName("number", member+"/number", f.Number)
	}
	for i := range f.OtherNumbers {
		s.addName("number", fmt.Sprintf("%s/otherNumbers/%d/number", member, i), f.OtherNumbers[i].Number)
	}
	for i := range f.Notified {
		s.addName("case", fmt.Sprintf("%s/notified/%d/caseNumber", member, i), f.Notified[i].CaseNumber)
	}
	s.place(member+"/place", f.Place)
	s.position(member+"/position", f.Position)
	for i := range f.OtherPositions {
		s.position(fmt.Sprintf("%s/otherPositions/%d", member, i), &f.OtherPositions[i])
	}
}

// coarser adds what a policy took away of the place of a find that else may be seen.
func (s *secrets) coarser(member string, f, copied *find.Find) {
	if p := f.Position; p != nil && (copied.Position == nil || copied.Position.Latitude != p.Latitude || copied.Position.Longitude != p.Longitude) {
		s.position(member+"/position", p)
	}
	if p := f.Place; p != nil && (copied.Place == nil || copied.Place.Name != p.Name) {
		s.place(member+"/place", p)
	}
}

// addName adds a number or name that somebody gave, where it is long enough and mixed enough to be
// no word or figure of another meaning.
func (s *secrets) addName(kind, member, text string) {
	key := keyOf(text)
	if len(key) >= 4 && strings.ContainsAny(key, "0123456789") && strings.ContainsFunc(key, unicode.IsLetter) {
		s.add(kind, member, text)
	}
}

func (s *secrets) place(member string, p *find.Place) {
	if p == nil {
		return
	}
	s.add("place", member+"/name", p.Name)
	s.add("place", member+"/parish", p.Parish)
	s.add("place", member+"/verbatim", p.Verbatim)
}

func (s *secrets) position(member string, p *find.Position) {
	if p == nil {
		return
	}
	s.add("position", member+"/verbatim", p.Verbatim)
	s.positions = appendPlace(s.positions, member, p)
}

func (s *secrets) id(member, id string) {
	uuid := strings.TrimPrefix(strings.ToLower(id), "urn:uuid:")
	if _, known := s.uuids[uuid]; !known && len(uuid) == 36 {
		s.uuids[uuid] = secret{kind: "id", member: member}
	}
}

// add adds a text, unless it is too short to mean anything or is shown by right. A text that is an
// everyday word of the format counts only as it was typed, with its capitals.
func (s *secrets) add(kind, member, text string) {
	text = strings.TrimSpace(text)
	folded, words := wordsOf(text)
	digits := !strings.ContainsFunc(folded, unicode.IsLetter)
	switch {
	case len([]rune(folded)) < 3, s.shown[folded], digits && len(folded) < 5:
		return
	case (kind == "storage" || kind == "value") && len(words) == 1 && len(folded) < 6:
		return // "tin": in every second line of a log
	}
	x := secret{kind: kind, member: member}
	if everyday()[folded] {
		if text == strings.ToLower(text) {
			return
		}
		x.exact = letters(text)
	}
	s.put(folded, x)
}

func (s *secrets) put(key string, x secret) {
	if old, known := s.known[key]; known && (old.exact == "" || x.exact != "") {
		return // one member tells enough
	}
	s.known[key] = x
	for i := range len(key) {
		s.begins[key[:i+1]] = true
	}
}

// letters are the letters and digits of a text as they were typed.
func letters(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, text)
}

// everyday are the words that stand in any copy: names of members, codes and the words of their
// labels.
var everyday = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	add := func(text string) {
		out[keyOf(text)] = true
		for _, w := range strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) }) {
			out[keyOf(w)] = true
		}
	}
	names := func(fields []find.Field) {
		for _, f := range fields {
			add(f.Name)
		}
	}
	names(find.FieldsOf[find.Find]())
	names(find.FieldsOf[find.Person]())
	names(find.FieldsOf[find.Permission]())
	names(find.FieldsOf[find.Outing]())
	names(find.FieldsOf[find.Report]())
	for _, list := range vocabulary.Lists() {
		for _, c := range vocabulary.Get(list).Concepts {
			add(c.Code)
			for _, text := range c.PrefLabel {
				add(text)
			}
			for _, texts := range c.AltLabel {
				for _, text := range texts {
					add(text)
				}
			}
		}
	}
	return out
})

// words finds the texts of the source, whatever stands between their words.
func (s *secrets) words(text string, add func(kind, member string, at, to int)) {
	folded, words := wordsOf(text)
	for i, first := range words {
		if s.stopped() {
			return
		}
		for j := i; j < len(words); j++ {
			key := folded[first.from:words[j].upto]
			if !s.begins[key] {
				break
			}
			if x, ok := s.known[key]; ok && (x.exact == "" || letters(text[first.at:words[j].to]) == x.exact) {
				add(x.kind, x.member, first.at, words[j].to)
			}
		}
	}
}
