// Package heading knows what the columns of a log are called, in six languages, and tells what a
// heading that somebody wrote means: the field, and what it says of unit, order of dates and
// reference system.
//
//	m := heading.Understand("Depth (in)") // m.Field is "depth", m.Hints.Unit is "in"
//
// Headings of sheets and names of properties in the map files of others are understood alike.
//
// This package is unstable: it may change between any two versions.
package heading

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/go-json-experiment/json"
	"golang.org/x/text/unicode/norm"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// table is schema/headings.json made ready for looking up.
type table struct {
	labels map[string]map[string]string // field, language, label
	byText map[string]string            // folded label or synonym to field
	spoken map[string]string            // the language of a text, empty for one of several
	texts  []string                     // folded, sorted, for suggestions
	// general are words that leave open which field is meant, with the heading to suggest; nil: none.
	general map[string]*string
	grammar *grammar // nil for people, permissions and outings
}

// entry is one field of the file and what its columns are called.
type entry struct {
	Field    string              `json:"field"`
	Label    map[string]string   `json:"label"`
	Synonyms map[string][]string `json:"synonyms"`
}

var tables = sync.OnceValue(func() map[string]*table {
	var file struct {
		Finds       []entry `json:"headings"`
		People      []entry `json:"people"`
		Permissions []entry `json:"permissions"`
		Outings     []entry `json:"outings"`
		General     []struct {
			Suggest string   `json:"suggest"`
			Words   []string `json:"words"`
		} `json:"general"`
		Grammar grammarFile `json:"grammar"`
	}
	_ = json.Unmarshal(schema.Headings(), &file) // the test of the embedded file would fail
	finds := tableOf(file.Finds)
	finds.grammar = newGrammar(file.Grammar)
	finds.general = map[string]*string{}
	for i := range file.General {
		for _, word := range file.General[i].Words {
			finds.general[Fold(word)] = &file.General[i].Suggest
		}
	}
	return map[string]*table{"finds": finds, "people": tableOf(file.People), "permissions": tableOf(file.Permissions),
		"outings": tableOf(file.Outings)}
})

// answerFile are the words by which people answer a question with yes or no.
type answerFile struct {
	Yes []string `json:"yes"`
	No  []string `json:"no"`
}

var answers = sync.OnceValue(func() map[string]bool {
	var file struct {
		Answers answerFile `json:"answers"`
	}
	_ = json.Unmarshal(schema.Headings(), &file) // the test of the embedded file would fail
	out := map[string]bool{}
	for _, word := range file.Answers.Yes {
		out[Fold(word)] = true
	}
	for _, word := range file.Answers.No {
		out[Fold(word)] = false
	}
	return out
})

// Answer reads the answer to a question: known is false for what is neither yes nor no, or in doubt ("yes?").
func Answer(text string) (yes, known bool) {
	switch {
	case strings.Contains(text, "?"):
		return false, false
	case strings.Trim(text, " ✓✔☑✅") == "" && text != "":
		return true, true
	}
	yes, known = answers()[Fold(text)]
	return yes, known
}

var known = sync.OnceValue(func() *table { return tables()["finds"] })

func tableOf(entries []entry) *table {
	t := &table{labels: map[string]map[string]string{}, byText: map[string]string{}, spoken: map[string]string{}}
	for _, h := range entries {
		t.labels[h.Field] = h.Label
	}
	// Labels first: what is shown must come back to its own field.
	for _, h := range entries {
		for language, text := range h.Label {
			t.add(text, h.Field, language)
		}
	}
	for _, h := range entries {
		for language, list := range h.Synonyms {
			for _, text := range list {
				t.add(text, h.Field, language)
			}
		}
	}
	for text := range t.byText {
		t.texts = append(t.texts, text)
	}
	slices.Sort(t.texts)
	return t
}

func (t *table) add(text, field, language string) {
	key := Fold(text)
	if of, taken := t.spoken[key]; taken && of != language {
		language = ""
	}
	t.spoken[key] = language
	if _, taken := t.byText[key]; !taken {
		t.byText[key] = field
	}
}

// Fold brings a heading to the form in which two are compared: without what stands in
// brackets, lower case, blanks and underscores one blank, no points or colons at the ends.
func Fold(s string) string {
	s = strings.ToLower(norm.NFKC.String(s))
	var b strings.Builder
	depth := 0
	for _, r := range s {
		switch {
		case r == '(' || r == '[' || r == '{':
			depth++
		case (r == ')' || r == ']' || r == '}') && depth > 0:
			depth--
		case depth > 0:
		case r == '_' || unicode.IsSpace(r):
			b.WriteByte(' ')
		default:
			b.WriteRune(r)
		}
	}
	return strings.Trim(strings.Join(strings.Fields(b.String()), " "), ".:;,!? ")
}

// How a heading was understood.
const (
	TakenMap   = "map"     // a column map says so; never given by Understand
	TakenKey   = "key"     // it is a flat name
	TakenLabel = "heading" // by its words
	TakenCells = "content" // by what stands below it; never given by Understand
	TakenAxis  = "axis"    // it names an axis of a reference system
	TakenStead = "stead"   // it stands in for a column that is missing; never given by Understand
	TakenNone  = "none"
)

// Meaning is what a heading was taken for.
type Meaning struct {
	Field string     // flat name, or position.easting and position.northing; empty: none
	Taken string     // how it was understood: one of the constants above
	Hints find.Hints // what it says of the cells below it
	Keep  string     // heading under which the text is kept, for "columns.X"
	// Language is that of its words: de; empty where it is not known, or they are of several.
	Language string
	// Basis is what the heading says of how the value came about: measured, estimated, signal-guess.
	Basis string

	exact   bool // it is what we show for the field
	phrases int  // of which it is made up; fewer are surer
	show    bool // only where the cells show it
}

// A field that is no member by itself is one of these: a text that makes a member together with others.
const (
	Easting     = "position.easting"
	Northing    = "position.northing"
	DepthFrom   = "depth.from"
	DepthTo     = "depth.to"
	DatingFrom  = "dating.from"
	DatingTo    = "dating.to"
	Size        = "dimensions"           // one text for all sides
	LandGiver   = "permission.grantedBy" // who owns or works the land
	Consent     = "finder.consent"       // whether the recorder may have the finder's name
	LandPaper   = "permission.documentNumber"
	LandBasis   = "permission.basis"
	LandFrom    = "permission.validFrom"
	LandTo      = "permission.validTo"
	TripModel   = "outing.detector.model"
	TripCoil    = "outing.detector.coil"
	TripSetting = "outing.detector.programme"
	TripHours   = "outing.hours"
	TripRubbish = "outing.rubbish"
)

// Understand tells what a heading of a sheet of finds means. An empty one means nothing.
func Understand(heading string) Meaning {
	m, text, key := begin(heading)
	if text == "" || m.Keep != "" {
		return m
	}
	if Fold(key) == "id" {
		key = "id" // people write ID; what stands below shows whether it is one of ours
	}
	if isFlat(key) {
		m.Field, m.Taken = key, TakenKey
		return m
	}
	for _, of := range All(heading) {
		if !of.show {
			of.exact, of.phrases = false, 0
			return of
		}
	}
	return m
}

// All returns the ways in which a heading can be understood, the likeliest first: languages have words
// in common, and what stands in the column, or its other headings, tell which is meant.
func All(heading string) (list []Meaning) {
	m, text, key := begin(heading)
	if text == "" {
		return nil
	}
	offer := func(m Meaning) {
		for i := range list {
			if have := &list[i]; have.Field == m.Field &&
				(have.Language == m.Language || have.Language == "" || m.Language == "") {
				have.Hints.Unit, have.Hints.Order = cmp.Or(have.Hints.Unit, m.Hints.Unit), cmp.Or(have.Hints.Order, m.Hints.Order)
				have.Basis = cmp.Or(have.Basis, m.Basis)
				return
			}
		}
		list = append(list, m)
	}
	if m.Keep != "" || isFlat(key) || Fold(key) == "id" {
		return []Meaning{Understand(heading)}
	}
	if field, key := known().find(text); field != "" {
		of := m
		if inDegrees(text) { // Breite (Grad) is no width
			field = cmp.Or(map[string]string{"dimensions.width": "position.latitude",
				"dimensions.length": "position.longitude"}[field], field)
		}
		of.Field, of.Taken, of.exact, of.phrases = field, TakenLabel, known().isLabel(text, field), 1
		of.Language = known().spoken[key]
		offer(of.inSystem(text))
	}
	readings, _ := known().grammar.read(text)
	slices.SortStableFunc(readings, func(a, b reading) int { return a.phrases - b.phrases })
	for _, r := range readings {
		of := m
		of.Field, of.Taken, of.Basis, of.phrases = r.field, TakenLabel, r.basis, r.phrases
		of.show = r.show
		if r.basis == "signal-guess" && r.unit == "" && of.Hints.Unit == quantity.M.String() && !strings.ContainsAny(text,
			"([") {
			of.Hints.Unit = "" // depth on the meter, which is the machine
		}
		if r.language > 0 {
			of.Language = languages()[r.language]
		}
		of.Hints.Unit, of.Hints.Order = cmp.Or(of.Hints.Unit, unitCode(r.unit)), cmp.Or(of.Hints.Order, r.order)
		offer(of.inSystem(text))
	}
	if code, axis, ok := coordinate.SystemOfHeading(text); ok {
		of := m
		of.Hints.System, of.Taken = code, TakenAxis
		of.Field = cmp.Or(map[string]string{coordinate.AxisLatitude: "position.latitude",
			coordinate.AxisLongitude: "position.longitude",
			coordinate.AxisEasting:   Easting, coordinate.AxisNorthing: Northing}[axis], "position.verbatim")
		offer(of)
	}
	return list
}

// WordsKnown reports whether every word of a heading is known, so that one that is no field is known to
// be something else: the depth of ploughing.
func WordsKnown(heading string) bool {
	_, known := known().grammar.read(heading)
	return known
}

// inSystem adds the reference system that a heading of a position names.
func (m Meaning) inSystem(text string) Meaning {
	if strings.HasPrefix(m.Field, "position.") {
		m.Hints.System, _, _ = coordinate.SystemOfHeading(text)
	}
	return m
}

// isLabel reports whether a heading is what we show for a field, in any language.
func (t *table) isLabel(text, field string) bool {
	folded := Fold(text)
	for _, label := range t.labels[field] {
		if Fold(label) == folded {
			return true
		}
	}
	return false
}

// unitCode returns the code of a unit of the grammar.
func unitCode(unit string) string {
	if unit == "gn" {
		return quantity.GR.String()
	}
	return unit
}

// isFlat reports whether a text is a flat name of a find.
func isFlat(key string) bool {
	_, err := find.PathTo[find.Find](key)
	return err == nil
}

// begin reads what a heading says beside its name: unit, order of dates, that text is kept under it.
// Key is the flat name that it may be.
func begin(heading string) (m Meaning, text, key string) {
	m.Taken = TakenNone
	text = strings.TrimSpace(heading)
	if text == "" {
		return m, "", ""
	}
	if unit, ok := quantity.UnitOfHeading(text); ok {
		m.Hints.Unit = unit.String()
	}
	if order, ok := edtf.OrderOfHeading(text); ok {
		m.Hints.Order = order.String()
	}
	if rest, ok := strings.CutPrefix(text, "columns."); ok {
		m.Keep, m.Taken = rest, TakenKey
	}
	key = text
	if i := strings.IndexByte(key, '['); i > 0 {
		key = strings.TrimSpace(key[:i])
	}
	return m, text, key
}

// Says reports whether a heading has a word or phrase of a class of words: guess, measured, est.
func Says(class, heading string) bool {
	g := known().grammar
	m := slices.Index(g.names, class)
	words := wordsOf(heading)
	for i := range words {
		for n := min(g.longest, len(words)-i); n > 0; n-- {
			phrase := strings.Join(words[i:i+n], " ")
			for _, of := range g.words {
				if slices.Contains(of[phrase], uint8(m)) {
					return true
				}
			}
		}
	}
	return false
}

// UnderstandIn tells what a heading of a sheet of people, permissions or outings means; part is that
// word. The field is a flat name of such a record, or name.first and name.last, which make a name
// together.
func UnderstandIn(part, heading string) Meaning {
	if part == "finds" {
		return Understand(heading)
	}
	m, text, key := begin(heading)
	if text == "" || m.Keep != "" {
		return m
	}
	if isKey(part, key) {
		m.Field, m.Taken = key, TakenKey
		return m
	}
	if t := tables()[part]; t != nil {
		if field, _ := t.find(text); field != "" {
			m.Field, m.Taken = field, TakenLabel
		}
	}
	return m
}

// inDegrees reports whether the brackets of a heading say degrees.
func inDegrees(text string) bool {
	_, bracket, ok := strings.Cut(strings.ToLower(text), "(")
	if !ok {
		_, bracket, ok = strings.Cut(strings.ToLower(text), "[")
	}
	bracket = strings.Trim(bracket, " )]")
	word, _, _ := strings.Cut(bracket, " ")
	_, degrees := lexicon.In("degree")[word]
	return ok && (degrees || strings.HasPrefix(bracket, "°") || strings.HasPrefix(bracket, "deg"))
}

// isKey reports whether a text is a flat name of the records of a part.
func isKey(part, key string) bool {
	var err error
	switch part {
	case "people":
		_, err = find.PathTo[find.Person](key)
	case "permissions":
		_, err = find.PathTo[find.Permission](key)
	case "outings":
		_, err = find.PathTo[find.Outing](key)
	default:
		return false
	}
	return err == nil
}

// find looks a heading up: whole, without a unit at its end, and with a number at its end for the
// second and later of a list.
func (t *table) find(heading string) (field, key string) {
	folded := Fold(heading)
	if field = t.byText[folded]; field != "" {
		return field, folded
	}
	words := strings.Fields(folded)
	for cut := len(words) - 1; cut > 0 && cut >= len(words)-2; cut-- {
		tail := strings.Join(words[cut:], " ")
		key = strings.Join(words[:cut], " ")
		field = t.byText[key]
		if field == "" {
			continue
		}
		if _, ok := quantity.UnitOfHeading("x (" + strings.TrimPrefix(tail, "in ") + ")"); ok {
			return field, key
		}
		if n, err := strconv.Atoi(tail); err == nil && n >= 1 && n <= 20 && strings.Contains(field+".", ".1.") {
			return strings.TrimSuffix(strings.Replace(field+".", ".1.", "."+tail+".", 1), "."), key
		}
	}
	return "", ""
}

// Unread returns the language that most headings of a log are in, of those that are not read, and how many; words from
// memory. Empty where fewer than two are, or where two languages have as many.
func Unread(headings []string) (language string, most int) {
	for name, words := range unread() {
		n := 0
		for _, h := range headings {
			if slices.ContainsFunc(wordsOf(h), func(w string) bool { return slices.Contains(words, w) }) {
				n++
			}
		}
		if n == most {
			language = ""
		} else if n > most && n >= 2 {
			language, most = name, n
		}
	}
	return language, most
}

var unread = sync.OnceValue(func() map[string][]string {
	var file struct {
		Unread map[string][]string `json:"unread"`
	}
	_ = json.Unmarshal(schema.Headings(), &file) // the test of the embedded file would fail
	return file.Unread
})

// Nearest returns a known heading for a suggestion: the one that a general word such as Size leaves
// open, else one at a distance of at most two letters; empty if there is none. Short words are not
// compared, for too many others are near them.
func Nearest(heading string) string {
	t := known()
	folded := Fold(heading)
	if general := t.general[folded]; general != nil {
		return *general
	}
	best, distance := "", 3
	length := utf8.RuneCountInString(folded)
	if length < 5 {
		return ""
	}
	for _, text := range t.texts {
		if n := utf8.RuneCountInString(text); n < 5 || n-length > 2 || length-n > 2 {
			continue
		}
		if text == folded { // it is known, and what stands below is something else
			return ""
		}
		if d := vocabulary.EditDistance(folded, text); d < distance && d*3 < length {
			best, distance = text, d
		}
	}
	return best
}

// IsField reports whether reading would take a heading for a field, or for the name under which text
// is kept.
func IsField(heading string) bool {
	m := Understand(heading)
	return m.Field != "" || m.Keep != ""
}

// OfLand returns what of the permission of a find a column beside it says by its heading: how permission was given, and
// from when until when. One word alone says too little. Empty: none of these.
func OfLand(heading string, c *Content) string {
	m := UnderstandIn("permissions", heading)
	if m.Field == "grantedBy" && c.most(c.Days, 50) { // permission from, above days and no names
		m.Field = "validFrom"
	}
	switch field := "permission." + m.Field; {
	case !strings.Contains(strings.TrimSpace(heading), " "):
	case field == LandBasis && !c.most(c.Days+c.Numbers, 30), (field == LandFrom || field == LandTo) && c.most(c.Days, 50):
		return field
	}
	return ""
}

// Label returns the heading that is shown for a field in a language (en, de, nl, da, fr, sv),
// empty if there is none.
func Label(field, language string) string { return known().labels[field][language] }

// LabelIn returns the heading that is shown for a field of people, permissions or outings in a language.
func LabelIn(part, field, language string) string {
	if t := tables()[part]; t != nil {
		return t.labels[field][language]
	}
	return ""
}

// Fields returns the flat names of all fields that have a label, sorted.
func Fields() []string { return slices.Sorted(maps.Keys(known().labels)) }

// IsPart reports whether a field is no member by itself, but makes one together with others.
func IsPart(field string) bool {
	switch field {
	case Easting, Northing, DepthFrom, DepthTo, DatingFrom, DatingTo, Size, LandGiver, LandPaper, LandBasis, LandFrom,
		LandTo, Consent, TripModel, TripCoil, TripSetting, TripHours, TripRubbish:
		return true
	}
	return false
}
