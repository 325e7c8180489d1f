package share

import (
	"cmp"
	"context"
	"fmt"
	"path"
	"reflect"
	"slices"
	"strings"
	"sync"
	"unicode"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// secret is one text that must not be found. Of a log of a hundred thousand finds there are as many, so that only a
// hash of the text is kept.
type secret struct {
	find   int32  // whose it is; -1: of the report
	member uint32 // in secrets.members
	kind   uint8  // in secrets.kinds
	word   bool   // an everyday word: only with a capital, and not at the beginning of a cell
	whole  bool   // short: it counts only between the borders of words
	code   bool   // of a cell: a longer code begins with it
	parted uint8  // where a second word has to begin in it; 0: anywhere
}

// longest is how many letters of a text are compared.
const longest = 63

// secrets are what an audience may not see of a source: what stands in leaves of classes that tell who or
// where, and does not stand in such a leaf of the copy.
type secrets struct {
	ctx        context.Context // of the one call that they were gathered for
	steps      int             // of that call, so that the context is asked now and then
	audience   Audience
	keys       map[uint64]secret  // by the hash of their letters
	lengths    [1 << 16]uint64    // lengths of the keys that begin with three letters, one bit each
	slipped    map[uint64]slipped // distinctive words, and these with a letter left out
	uuids      map[uint64]secret  // ids without their prefix
	figures    map[uint64]secret  // figures of positions as they may stand in a text
	points     []place            // positions that the audience may not see, by latitude
	shownAt    []place            // that the copy shows, by latitude
	grids      []gridded          // points in metres of every grid that has them
	shownGrids []gridded          // shownAt, where places is true
	places     bool               // the copy shows spots as they are, each to be told from one that it keeps back
	placed     bool               // the find whose texts are gathered has a position that was read
	shown      map[uint64]bool    // keys of words, numbers and figures that the copy shows by right
	handles    string             // keys of the handles that the copy shows
	contacts   []string           // of people who have agreed that the audience has them, in lower case
	agreedKeys []string           // the same, folded as names are
	number     string             // of the find whose texts are gathered
	at         int32              // that find; -1: none
	near       float64            // metres within which a spelling tells a position
	members    []string
	kinds      []string
	known      map[string]uint32 // members and kinds by their text
	formed     map[string]bool   // names of which the forms are gathered
	people     map[string]called // names that are short, or everyday words
	quiet      quiet
}

// slipped is a word that one letter may be wrong in.
type slipped struct {
	secret
	key string
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

// hash is that of a text (FNV-1a, 64 bits), of a sort.
func hash(sort byte, text string) uint64 {
	h := uint64(fnvStart)
	h = (h ^ uint64(sort)) * fnvPrime
	for i := range len(text) {
		h = (h ^ uint64(text[i])) * fnvPrime
	}
	return h
}

const (
	fnvStart = 14695981039346656037
	fnvPrime = 1099511628211
)

// secretsOf gathers what an audience may not see. The copy may be nil.
func secretsOf(ctx context.Context, source Source, copied *Copied, a Audience) (*secrets, error) {
	s := &secrets{ctx: ctx, audience: a, keys: map[uint64]secret{}, slipped: map[uint64]slipped{},
		uuids: map[uint64]secret{}, figures: map[uint64]secret{}, shown: map[uint64]bool{}, near: nearPublic, at: -1,
		known: map[string]uint32{}, formed: map[string]bool{}, people: map[string]called{}}
	if a == Landowner {
		s.near = nearOwner
	}
	if copied != nil {
		if copied.register != nil {
			for _, text := range copied.register.Canaries() {
				s.put(keyOf(text), s.of("register", "register"))
			}
		}
		for i := range copied.Report.People {
			s.agree(copied.Report.People[i].Contact)
		}
		if err := s.allow(copied); err != nil {
			return nil, err
		}
	}
	s.places = len(s.shownAt) > 0 && !a.coarse() && a != Landowner
	s.id("/id", source.Head.ID)
	eachText(source.Head, s.text)
	s.keptAround(source.Head)
	s.unreadAround(source.Head)
	if copied != nil {
		for _, name := range copied.Names {
			s.fileName("file", name)
		}
	}
	sheets := map[string]bool{}
	err := source.each(ctx, func(i int, f *find.Find) error {
		s.at, s.placed = int32(i), f.Position != nil && f.Position.Latitude.Known() && f.Position.Longitude.Known()
		s.id("/id", f.ID)
		textsOf(f, nodes()["finds"], "", s.text)
		s.keptOf(f, sheets)
		s.raw("", f.Unknown)
		s.position("/position", f.Position)
		for j := range f.OtherPositions {
			s.position(fmt.Sprintf("/otherPositions/%d", j), &f.OtherPositions[j])
		}
		return nil
	})
	s.at = -1
	byLatitude(s.points)
	if s.grids = griddedOf(s.points); s.places && len(s.points) > 0 {
		s.shownGrids = griddedOf(s.shownAt)
	}
	return s, err
}

func byLatitude(list []place) {
	slices.SortFunc(list, func(a, b place) int { return cmp.Compare(a.point.Latitude, b.point.Latitude) })
}

// of makes a secret of the find whose texts are gathered.
func (s *secrets) of(kind, member string) secret {
	return secret{find: s.at, member: s.intern(&s.members, member), kind: uint8(s.intern(&s.kinds, kind))}
}

// intern keeps a text once.
func (s *secrets) intern(list *[]string, text string) uint32 {
	key := text
	if list == &s.kinds {
		key = "\x00" + text
	}
	n, ok := s.known[key]
	if !ok {
		n = uint32(len(*list))
		s.known[key] = n
		*list = append(*list, text)
	}
	return n
}

// tell calls add with the kind and the member of a secret.
func (s *secrets) tell(x secret, at, to int, add func(kind, member string, at, to int)) {
	add(s.kinds[x.kind], s.memberOf(x), at, to)
}

func (s *secrets) memberOf(x secret) string {
	if x.find < 0 {
		return s.members[x.member]
	}
	return fmt.Sprintf("/finds/%d%s", x.find, s.members[x.member])
}

// allow notes what the copy shows by right.
func (s *secrets) allow(c *Copied) error {
	s.showID(c.Report.ID)
	each := func(leaf, _, text string) {
		class := published().leaves[leaf]
		if telling[class] == "" && class != "district" && (tellingLeaves[leaf] == "" || leaf == "finds.media.file") {
			return
		}
		s.show(keyOf(text))
		if class == "handle" {
			s.handles += keyOf(text) + "\n"
		}
		if class == "person-name" || class == "place" || class == "district" {
			for _, part := range wordsIn(text) {
				s.show(keyOf(part))
			}
		}
	}
	eachText(c.Report, each)
	err := c.Each(s.ctx, func(f *find.Find) error {
		if c.labels != nil || !s.audience.coarse() { // a file that was found may have the owner's ids
			s.showID(f.ID)
		}
		s.shown[hash('n', f.Number)] = true
		if len(f.Media) > 0 {
			for word := range strings.FieldsFuncSeq(f.Name, notInWord) {
				s.shown[hash('p', f.Number+"\n"+keyOf(word))] = true
			}
		}
		textsOf(f, nodes()["finds"], "", each)
		if p := f.Position; p != nil && p.Latitude.Known() &&
			(!s.audience.coarse() || onGrid(p, f.Generalised["/position"])) {
			for _, text := range []string{p.Latitude.String(), p.Longitude.String()} {
				s.shown[hash('f', text)] = true
			}
			s.showSpot(p)
		}
		if !s.audience.coarse() {
			for i := range f.OtherPositions {
				s.showSpot(&f.OtherPositions[i])
			}
		}
		return nil
	})
	if !s.audience.coarse() { // a corner of land that the copy shows is no spot
		for i := range c.Report.Permissions {
			_, corners := outlinesOf(c.Report.Permissions[i].Area)
			for _, corner := range corners {
				s.shownAt = append(s.shownAt, place{corner, secret{}})
			}
		}
	}
	byLatitude(s.shownAt)
	return err
}

func (s *secrets) show(key string)       { s.shown[hash('w', key)] = true }
func (s *secrets) shows(key string) bool { return s.shown[hash('w', key)] }

// allowed reports whether a figure of the copy may stand.
func (s *secrets) allowed(figure string) bool { return s.shown[hash('f', figure)] }

func (s *secrets) showSpot(p *find.Position) {
	if !p.Latitude.Known() || !p.Longitude.Known() {
		return
	}
	key := hash('s', p.Latitude.String()+" "+p.Longitude.String())
	if !s.shown[key] {
		s.shown[key] = true
		s.shownAt = append(s.shownAt, place{coordinate.Point{Latitude: p.Latitude.Float(),
			Longitude: p.Longitude.Float()}, secret{}})
		for _, code := range cellCodes(s.shownAt[len(s.shownAt)-1].point) {
			s.show(code)
		}
	}
}

func (s *secrets) showID(id string) {
	s.uuids[hash('u', strings.TrimPrefix(strings.ToLower(id), "urn:uuid:"))] = secret{find: -2}
}

// eachText calls yield for every text of a report and the records around its finds, with its leaf and its pointer.
func eachText(r *find.Report, yield func(leaf, pointer, text string)) {
	textsOf(r, nodes()[""], "", yield)
	for i := range r.People {
		textsOf(&r.People[i], nodes()["people"], fmt.Sprintf("/people/%d", i), yield)
	}
	for i := range r.Permissions {
		textsOf(&r.Permissions[i], nodes()["permissions"], fmt.Sprintf("/permissions/%d", i), yield)
	}
	for i := range r.Outings {
		textsOf(&r.Outings[i], nodes()["outings"], fmt.Sprintf("/outings/%d", i), yield)
	}
}

// textsOf calls yield for every text of one record.
func textsOf[T find.Record](record *T, list []*node, pointer string, yield func(leaf, pointer, text string)) {
	walkTexts(reflect.ValueOf(record).Elem(), list, pointer, yield)
}

func walkTexts(v reflect.Value, list []*node, pointer string, yield func(leaf, pointer, text string)) {
	for _, n := range list {
		field := v.Field(n.index)
		if field.IsZero() {
			continue
		}
		at := pointer
		if !n.flat {
			at += "/" + n.name
		}
		if n.children == nil {
			if field.Kind() == reflect.String && field.Type() != valueType {
				yield(n.path, at, field.String())
			}
			continue
		}
		switch field.Kind() {
		case reflect.Pointer:
			walkTexts(field.Elem(), n.children, at, yield)
		case reflect.Slice:
			for i := range field.Len() {
				walkTexts(field.Index(i), n.children, fmt.Sprintf("%s/%d", at, i), yield)
			}
		default:
			walkTexts(field, n.children, at, yield)
		}
	}
}

var valueType = reflect.TypeFor[[]byte]()

// text gathers a text of the source, where it tells who or where.
func (s *secrets) text(leaf, pointer, text string) {
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
		n := s.number
		if n == "" || !s.shown[hash('n', n)] || !strings.HasPrefix(keyOf(n), keyOf(stem)) && !s.ownName(n, stem) {
			s.mixed(kind, pointer, stem) // a picture that is called like the number on its bag tells no more
		}
	case "name":
		s.add(kind, pointer, text)
		s.surnames(pointer, text)
	case "position":
		if s.places && s.placed {
			break // its figures are compared with those that are shown; its letters may begin theirs
		}
		s.add(kind, pointer, text)
		s.distinctive(kind, pointer, text) // what could not be read as figures is the name of something
	case "place":
		s.add(kind, pointer, text)
		if strings.HasSuffix(leaf, ".place.name") || strings.HasSuffix(leaf, ".place.parish") {
			s.distinctive(kind, pointer, text)
			s.forms(kind, pointer, text)
		}
	default:
		s.add(kind, pointer, text)
	}
}

// ownName reports whether a picture is called by the number and by words of the name of its find, which the copy shows:
// 11 ring.jpg.
func (s *secrets) ownName(number, stem string) bool {
	for word := range strings.FieldsFuncSeq(stem, notInWord) {
		if key := keyOf(word); strings.TrimLeft(key, "0") != strings.TrimLeft(keyOf(number), "0") &&
			!s.shown[hash('p', number+"\n"+key)] {
			return false
		}
	}
	return true
}

// misspelt notes a word that tells a name or a place by the forms it has with one letter left out, so that one
// letter wrong, left out, put in or exchanged does not hide it.
func (s *secrets) misspelt(kind, member, word string) {
	if !known(word) {
		s.slipOf(kind, member, keyOf(word))
	}
}

// slipOf is misspelt for a key, also that of two words that stand together.
func (s *secrets) slipOf(kind, member, key string) {
	if len(key) < 6 || s.shows(key) {
		return
	}
	x := slipped{s.of(kind, member), key}
	for _, form := range lettersLeftOut(key) {
		if h := hash('l', form); s.slipped[h].key == "" {
			s.slipped[h] = x
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
	if p == nil || !p.Latitude.Known() || !p.Longitude.Known() ||
		s.shown[hash('s', p.Latitude.String()+" "+p.Longitude.String())] {
		return
	}
	s.spot(coordinate.Point{Latitude: p.Latitude.Float(), Longitude: p.Longitude.Float()}, member)
}

func (s *secrets) id(member, id string) {
	uuid := strings.TrimPrefix(strings.ToLower(id), "urn:uuid:")
	key := hash('u', uuid)
	if _, known := s.uuids[key]; !known && len(uuid) == 36 {
		s.uuids[key] = s.of("id", member)
	}
}

// add adds a text, unless it is too short to mean anything or is shown by right.
func (s *secrets) add(kind, member, words string) {
	words = strings.TrimSpace(words)
	if two := text.Typed(words); two != words {
		s.add(kind, member, two) // as it is written without the marks: Mueller
	}
	key := keyOf(words)
	digits := !strings.ContainsFunc(key, unicode.IsLetter)
	single := !strings.ContainsAny(words, " \t-/")
	switch {
	case len(key) < 3, s.shows(key), digits && len(key) < 5:
		return
	case kind == "name" && strings.Contains(s.handles, key):
		return // a handle that is shown holds it: so its owner chose
	case (kind == "storage" || kind == "value") && single && len(key) < 6:
		return // "tin": in every second line of a log
	}
	x := s.of(kind, member)
	x.word, x.whole = single && everyday()[key], digits
	s.put(key, x)
}

// put keeps a secret; one member of a text tells enough.
func (s *secrets) put(key string, x secret) {
	// What a contact says that the audience may have is told by its owner's word.
	if s.kinds[x.kind] != "register" && key != "" &&
		slices.ContainsFunc(s.agreedKeys, func(c string) bool { return strings.Contains(c, key) }) {
		return
	}
	if len(key) < 3 {
		return
	}
	key = key[:min(len(key), longest)]
	h := hash('k', key)
	if old, known := s.keys[h]; !known || old.word && !x.word {
		s.keys[h] = x
	}
	s.lengths[headOf(key)] |= 1 << len(key)
}

// agree notes the contact of somebody who has agreed that the audience has it: its words are no secret then.
func (s *secrets) agree(contact string) {
	if contact == "" {
		return
	}
	s.contacts = append(s.contacts, strings.ToLower(contact))
	s.agreedKeys = append(s.agreedKeys, keyOf(contact))
	for word := range strings.FieldsFuncSeq(contact, notInWord) {
		s.show(keyOf(word))
	}
}

// headOf tells the first three letters of a key.
func headOf[T string | []byte](key T) uint16 {
	return uint16(key[0])<<11 ^ uint16(key[1])<<5 ^ uint16(key[2])
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

// unreadAround gathers what stands in members that could not be read, such as a list of people with a fault in
// it: the reader keeps them as they are, a copy drops them, and their names are as private as if they had
// been read.
func (s *secrets) unreadAround(head *find.Report) {
	s.raw("", head.Unknown)
	for i := range head.People {
		s.raw(fmt.Sprintf("/people/%d", i), head.People[i].Unknown)
	}
	for i := range head.Permissions {
		s.raw(fmt.Sprintf("/permissions/%d", i), head.Permissions[i].Unknown)
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
			s.spot(p, pointer)
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
