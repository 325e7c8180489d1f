package share

import (
	"context"
	"fmt"
	"path"
	"reflect"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// secret is one text that must not be found.
type secret struct {
	kind, member string
	word         bool // an everyday word: only with a capital, and not at the beginning of a cell
	whole        bool // short: it counts only between the borders of words
	key          string
}

// secrets are what an audience may not see of a source: what stands in leaves of classes that tell who or
// where, and does not stand in such a leaf of the copy.
type secrets struct {
	ctx        context.Context // of the one call that they were gathered for
	steps      int             // of that call, so that the context is asked now and then
	audience   Audience
	long       map[uint64][]secret // by their first six letters
	short      map[string]secret   // of three to five letters
	near1      map[string]secret   // distinctive words with a letter left out, by what is left
	uuids      map[string]secret   // ids without their prefix
	figures    figures
	positions  []place         // of what the audience may not see
	shownAt    []place         // that the copy shows
	allowed    map[string]bool // figures of the copy that may stand
	shown      map[string]bool // keys of words that the copy shows by right
	handles    string          // keys of the handles that the copy shows
	numbers    map[string]bool // numbers of finds that the copy keeps
	contacts   []string        // of people who have agreed that the audience has them, in lower case
	agreedKeys []string        // the same, folded as names are
	number     string          // of the find whose texts are gathered
	spots      []place         // one position of each spot
	grids      []gridded       // positions in metres of every grid that has them
	near       float64         // metres within which a spelling tells a position
}

// stopped reports, asked at every step of long work, whether the work is to end: what was found is then
// ignored, and the caller says so with the error of the context.
func (s *secrets) stopped() bool {
	s.steps++
	return s.steps%256 == 0 && s.ctx.Err() != nil
}

// telling are the classes that tell who or where, or what the owner keeps to himself, with the kind of
// leak that a text of them is.
var telling = map[string]string{"place": "place", "person-name": "name", "handle": "name", "contact": "contact"}

// tellingLeaves are leaves of other classes that do.
var tellingLeaves = map[string]string{"finds.storagePlace": "storage", "finds.value": "value",
	"permissions.documentNumber": "document",
	"finds.notified.caseNumber":  "case", "finds.otherNumbers.number": "number", "finds.number": "number",
	"finds.position.verbatim":       "position",
	"finds.otherPositions.verbatim": "position", "finds.media.file": "picture-name", "finds.source.file": "file-name"}

// secretsOf gathers what an audience may not see. The copy may be nil.
func secretsOf(ctx context.Context, source *find.Report, copied *Copied, a Audience) *secrets {
	s := &secrets{ctx: ctx, audience: a, long: map[uint64][]secret{}, short: map[string]secret{},
		near1: map[string]secret{}, uuids: map[string]secret{}, allowed: map[string]bool{}, shown: map[string]bool{},
		numbers: map[string]bool{}, near: nearPublic}
	if a == Landowner {
		s.near = nearOwner
	}
	var report *find.Report
	if copied != nil {
		report = copied.Report
		if copied.register != nil {
			for _, text := range copied.register.Canaries() {
				s.put(keyOf(text), secret{kind: "register", member: "register"})
			}
		}
		for i := range report.People {
			s.agree(report.People[i].Contact)
		}
	}
	s.allow(report)
	s.texts(source)
	s.kept(source)
	if copied != nil {
		for _, name := range copied.Names {
			s.fileName("file", name)
		}
	}
	for i, f := range source.Finds {
		if s.stopped() {
			return s
		}
		member := fmt.Sprintf("/finds/%d", i)
		s.position(member+"/position", f.Position)
		for j := range f.OtherPositions {
			s.position(fmt.Sprintf("%s/otherPositions/%d", member, j), &f.OtherPositions[j])
		}
		s.id(member+"/id", f.ID)
	}
	s.unread(source)
	s.id("/id", source.ID)
	s.spots = spotsOf(s.positions)
	s.figures = figuresOf(s.positions, s.allowed, a)
	s.grids = griddedOf(s.spots)
	for _, p := range s.spots {
		for _, text := range cellCodes(p.point) {
			s.put(text, secret{kind: "grid-reference", member: p.member})
		}
	}
	return s
}

// allow notes what the copy shows by right.
func (s *secrets) allow(r *find.Report) {
	if r == nil {
		return
	}
	s.shownIDs(r)
	eachText(r, func(leaf, _, text string) {
		switch class := published().leaves[leaf]; {
		case telling[class] != "", class == "district", tellingLeaves[leaf] != "" && leaf != "finds.media.file":
			s.shown[keyOf(text)] = true
			if class == "handle" {
				s.handles += keyOf(text) + "\n"
			}
			if class == "person-name" || class == "place" || class == "district" {
				for _, part := range wordsIn(text) {
					s.shown[keyOf(part)] = true
				}
			}
		}
	})
	for _, f := range r.Finds {
		s.numbers[f.Number] = true
		if p := f.Position; p != nil && p.Latitude.Known() &&
			(!s.audience.coarse() || onGrid(p, f.Generalised["/position"])) {
			s.allowed[p.Latitude.String()], s.allowed[p.Longitude.String()] = true, true
			s.shownAt = appendPlace(s.shownAt, "", p)
		}
		if !s.audience.coarse() {
			for i := range f.OtherPositions {
				s.shownAt = appendPlace(s.shownAt, "", &f.OtherPositions[i])
			}
		}
	}
}

func (s *secrets) shownIDs(r *find.Report) {
	s.uuids[strings.TrimPrefix(r.ID, "urn:uuid:")] = secret{}
	for _, f := range r.Finds {
		s.uuids[strings.TrimPrefix(f.ID, "urn:uuid:")] = secret{}
	}
}

// eachText calls yield for every text of a report, with its leaf and its pointer.
func eachText(r *find.Report, yield func(leaf, pointer, text string)) {
	var walk func(v reflect.Value, list []*node, pointer string)
	walk = func(v reflect.Value, list []*node, pointer string) {
		for _, n := range list {
			field, at := v.Field(n.index), pointer+"/"+n.name
			if n.flat {
				at = pointer
			}
			if field.IsZero() {
				continue
			}
			if n.children == nil {
				if field.Kind() == reflect.String && field.Type() != valueType {
					yield(n.path, at, field.String())
				}
				continue
			}
			switch field.Kind() {
			case reflect.Pointer:
				walk(field.Elem(), n.children, at)
			case reflect.Slice:
				for i := range field.Len() {
					walk(field.Index(i), n.children, fmt.Sprintf("%s/%d", at, i))
				}
			default:
				walk(field, n.children, at)
			}
		}
	}
	walk(reflect.ValueOf(r).Elem(), nodes()[""], "")
	for i := range r.People {
		walk(reflect.ValueOf(&r.People[i]).Elem(), nodes()["people"], fmt.Sprintf("/people/%d", i))
	}
	for i := range r.Permissions {
		walk(reflect.ValueOf(&r.Permissions[i]).Elem(), nodes()["permissions"], fmt.Sprintf("/permissions/%d", i))
	}
	for i := range r.Outings {
		walk(reflect.ValueOf(&r.Outings[i]).Elem(), nodes()["outings"], fmt.Sprintf("/outings/%d", i))
	}
	for i, f := range r.Finds {
		walk(reflect.ValueOf(f).Elem(), nodes()["finds"], fmt.Sprintf("/finds/%d", i))
	}
}

var valueType = reflect.TypeFor[[]byte]()

// texts gathers the texts of a source that tell who or where.
func (s *secrets) texts(source *find.Report) {
	eachText(source, func(leaf, pointer, text string) {
		if s.stopped() {
			return
		}
		if leaf == "finds.number" {
			s.number = text
		}
		kind := telling[published().leaves[leaf]]
		if kind == "" {
			kind = tellingLeaves[leaf]
		}
		switch kind {
		case "":
		case "number":
			s.mixed(kind, pointer, text)
		case "picture-name", "file-name":
			base := path.Base(strings.ReplaceAll(text, `\`, "/"))
			stem := strings.TrimSuffix(base, path.Ext(base))
			if number := s.number; number == "" || !s.numbers[number] || !strings.HasPrefix(keyOf(number), keyOf(stem)) {
				s.mixed(kind, pointer, stem) // a picture that is called like the number on its bag tells no more
			}
		case "name":
			s.add(kind, pointer, text)
			s.surnames(pointer, text)
		case "place":
			s.add(kind, pointer, text)
			if leaf == "permissions.place.name" {
				s.distinctive(kind, pointer, text)
				s.otherOrders(kind, pointer, text)
			}
		default:
			s.add(kind, pointer, text)
		}
	})
}

// surnames adds the parts of a name: a surname tells as much as the name.
func (s *secrets) surnames(pointer, name string) {
	parts := strings.FieldsFunc(name, func(r rune) bool { return r == ' ' || r == '-' || r == '\u2010' })
	if len(parts) < 2 || s.shown[keyOf(name)] {
		return
	}
	for _, part := range parts {
		if len([]rune(part)) >= 4 {
			s.add("name", pointer, part)
			s.misspelt("name", pointer, part)
		}
		if rest, ok := strings.CutPrefix(part, "Mac"); ok && len(rest) >= 3 {
			s.add("name", pointer, "Mc"+rest)
		}
	}
}

// misspelt notes a word that tells a name or a place by the forms it has with one letter left out, so that one
// letter wrong, left out, put in or exchanged does not hide it.
func (s *secrets) misspelt(kind, member, word string) {
	key := keyOf(word)
	if len(key) < 6 || known(word) || s.shown[key] {
		return
	}
	x := secret{kind: kind, member: member, key: key}
	for _, form := range lettersLeftOut(key) {
		if _, taken := s.near1[form]; !taken {
			s.near1[form] = x
		}
	}
}

// lettersLeftOut are a word and its forms with one letter left out.
func lettersLeftOut(key string) []string {
	out := []string{key}
	for i := range key {
		out = append(out, key[:i]+key[i+1:])
	}
	return out
}

// letterFigures are figures that stand for letters.
var letterFigures = strings.NewReplacer("0", "o", "1", "l", "3", "e", "4", "a", "5", "s", "7", "t", "8", "b")

// slips finds words that are a name or a place but for one letter.
func (s *secrets) slips(text string, add func(kind, member string, at, to int)) {
	if len(s.near1) == 0 {
		return
	}
	for at := 0; at < len(text); {
		size := strings.IndexFunc(text[at:], notInWord)
		if size < 0 {
			size = len(text) - at
		}
		word := text[at : at+size]
		if size >= 5 && size <= 40 {
			key := keyOf(word)
			if strings.ContainsAny(key, "01234578") && strings.Trim(key, "0123456789") != "" {
				key = letterFigures.Replace(key)
			}
			s.slip(key, word, at, at+size, add)
		}
		at += size
		for at < len(text) {
			r, n := utf8.DecodeRuneInString(text[at:])
			if !notInWord(r) {
				break
			}
			at += n
		}
	}
}

func (s *secrets) slip(key, word string, at, to int, add func(kind, member string, at, to int)) {
	if own := keyOf(word); len(key) < 5 || s.shown[own] || strings.Contains(s.handles, own) {
		return
	}
	for _, form := range lettersLeftOut(key) {
		x, ok := s.near1[form]
		if !ok || len(form) < len(key) && len(form) < len(x.key)-1 {
			continue
		}
		if vocabulary.EditDistance(key, x.key) <= 1 && !known(word) {
			add(x.kind, x.member, at, to)
			return
		}
	}
}

// mixed adds a number or a file name, where it is long enough and mixed enough to be no word or figure of
// another meaning.
func (s *secrets) mixed(kind, member, text string) {
	key := keyOf(text)
	if len(key) >= 4 && strings.ContainsAny(key, "0123456789") && strings.ContainsFunc(key, unicode.IsLetter) {
		s.add(kind, member, text)
	}
}

func (s *secrets) position(member string, p *find.Position) {
	if p == nil || !p.Latitude.Known() || !p.Longitude.Known() {
		return
	}
	at := coordinate.Point{Latitude: p.Latitude.Float(), Longitude: p.Longitude.Float()}
	if !slices.ContainsFunc(s.shownAt, func(x place) bool { return x.point == at }) {
		s.positions = append(s.positions, place{at, member})
	}
}

func (s *secrets) id(member, id string) {
	uuid := strings.TrimPrefix(strings.ToLower(id), "urn:uuid:")
	if _, known := s.uuids[uuid]; !known && len(uuid) == 36 {
		s.uuids[uuid] = secret{kind: "id", member: member}
	}
}

// add adds a text, unless it is too short to mean anything or is shown by right.
func (s *secrets) add(kind, member, text string) {
	text = strings.TrimSpace(text)
	if two := twoLetters.Replace(text); two != text {
		s.add(kind, member, two) // as it is written without the marks: Mueller
	}
	key := keyOf(text)
	digits := !strings.ContainsFunc(key, unicode.IsLetter)
	single := !strings.ContainsAny(text, " \t-/")
	switch {
	case len(key) < 3, s.shown[key], digits && len(key) < 5:
		return
	case kind == "name" && strings.Contains(s.handles, key):
		return // a handle that is shown holds it: so its owner chose
	case (kind == "storage" || kind == "value") && single && len(key) < 6:
		return // "tin": in every second line of a log
	}
	s.put(key, secret{kind: kind, member: member, word: single && everyday()[key], whole: digits})
}

var twoLetters = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "Ä", "Ae", "Ö", "Oe", "Ü", "Ue", "å", "aa", "Å",
	"Aa")

func (s *secrets) put(key string, x secret) {
	// What a contact says that the audience may have is told by its owner's word.
	if x.kind != "register" && key != "" &&
		slices.ContainsFunc(s.agreedKeys, func(c string) bool { return strings.Contains(c, key) }) {
		return
	}
	x.key = key
	if len(key) < 6 {
		if old, known := s.short[key]; !known || old.word && !x.word {
			s.short[key] = x
		}
		return
	}
	head := headOf(key)
	list := s.long[head]
	for i := range list {
		if list[i].key == key {
			if list[i].word && !x.word {
				list[i] = x
			}
			return // one member tells enough
		}
	}
	s.long[head] = append(list, x)
}

// agree notes the contact of somebody who has agreed that the audience has it: its words are no secret then.
func (s *secrets) agree(contact string) {
	if contact == "" {
		return
	}
	s.contacts = append(s.contacts, strings.ToLower(contact))
	s.agreedKeys = append(s.agreedKeys, keyOf(contact))
	for word := range strings.FieldsFuncSeq(contact, notInWord) {
		s.shown[keyOf(word)] = true
	}
}

// headOf packs the first six bytes of a key.
func headOf(key string) (out uint64) {
	for i := range 6 {
		out = out<<8 | uint64(key[i])
	}
	return out
}

// everyday are the words that stand in any copy: names of members, codes and the words of their labels.
var everyday = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	for _, leaf := range leavesOf() {
		for name := range strings.SplitSeq(leaf, ".") {
			out[keyOf(name)] = true
		}
	}
	for _, list := range vocabulary.Lists() {
		for _, c := range vocabulary.Get(list).Concepts {
			out[keyOf(c.Code)] = true
		}
		eachLabel([]string{list}, func(text string) {
			addWords(out, text)
			out[keyOf(text)] = true
		})
	}
	return out
})

// unread gathers what stands in members that could not be read, such as a list of people with a fault in
// it: the reader keeps them as they are, a copy drops them, and their names are as private as if they had
// been read.
func (s *secrets) unread(source *find.Report) {
	s.raw("", source.Unknown)
	for i := range source.People {
		s.raw(fmt.Sprintf("/people/%d", i), source.People[i].Unknown)
	}
	for i := range source.Permissions {
		s.raw(fmt.Sprintf("/permissions/%d", i), source.Permissions[i].Unknown)
	}
	for i, f := range source.Finds {
		s.raw(fmt.Sprintf("/finds/%d", i), f.Unknown)
	}
}

func (s *secrets) raw(pointer string, raw []byte) {
	var v any
	if len(raw) > 0 && json.Unmarshal(raw, &v) == nil {
		s.walk(pointer, "", v)
	}
}

// walk looks for the members that hold names, places, contacts and positions, at any depth.
func (s *secrets) walk(pointer, name string, v any) {
	switch v := v.(type) {
	case map[string]any:
		lat, isLat := v["latitude"].(float64)
		lon, isLon := v["longitude"].(float64)
		if p := (coordinate.Point{Latitude: lat, Longitude: lon}); isLat && isLon && s.audience.coarse() && p.Valid() {
			s.positions = append(s.positions, place{p, pointer})
		}
		for _, key := range slices.Sorted(mapKeys(v)) {
			s.walk(pointer+"/"+key, key, v[key])
		}
	case []any:
		for i, item := range v {
			s.walk(fmt.Sprintf("%s/%d", pointer, i), name, item)
		}
	case string:
		people := strings.HasPrefix(pointer, "/people")
		switch name {
		case "storagePlace", "value", "contact":
			s.add(name, pointer, v)
		case "name", "handle":
			if people {
				s.add("name", pointer, v)
				s.surnames(pointer, v)
			} else if s.audience.coarse() && strings.Contains(pointer, "/place/") {
				s.add("place", pointer, v)
			}
		case "parish", "documentNumber":
			if s.audience.coarse() {
				s.add("place", pointer, v)
			}
		case "verbatim":
			if s.audience.coarse() && (strings.Contains(pointer, "/place/") || strings.Contains(pointer, "/position/")) {
				s.add("place", pointer, v)
			}
		}
	}
}

func mapKeys(m map[string]any) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}
