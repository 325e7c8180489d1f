package share

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
)

// worded are the classes of leaves in which people write words about a find, unless they end as unworded does. Names
// of people and places are none: a field may be called after a grave.
var (
	worded = map[string]bool{"notes": true, "term-words": true, "term-note": true, "name": true, "type": true,
		"description": true, "question": true, "caption": true, "picture-file": true, "signal": true, "layer": true,
		"lot":     true,
		"opinion": true, "other-dating": true, "period": true, "notice": true, "whereabouts": true, "custody": true,
		"care-words": true, "depth-why": true, "withdrawn": true}
	unworded = []string{".code", ".certainty", ".basis", ".on", ".id", ".date", ".unit", ".said", ".caseNumber",
		".deadline", ".share", ".scheme", "dimensions.length.verbatim", "dimensions.width.verbatim",
		"dimensions.height.verbatim", "dimensions.thickness.verbatim",
		"dimensions.diameter.verbatim", "weight.verbatim", "count.verbatim"}
)

// rowTexts are the texts of a find in which its row may say what it is and what it was found with.
func rowTexts(f *find.Find) (texts []string) {
	textsOf(f, nodes()["finds"], "", func(leaf, _, text string) {
		if worded[published().leaves[leaf]] && !slices.ContainsFunc(unworded,
			func(end string) bool { return strings.HasSuffix(leaf, end) }) {
			texts = append(texts, text)
		}
	})
	if d := f.Disposition; d != nil {
		texts = append(texts, strings.ReplaceAll(d.Code, "-", " "))
	}
	for i := range f.Opinions {
		texts = append(texts, rawTexts(f.Opinions[i].Says)...)
	}
	for _, raw := range [][]byte{f.Unknown, f.Extensions} {
		texts = append(texts, rawTexts(raw)...)
	}
	for _, cell := range f.Columns {
		texts = append(texts, cell)
	}
	return slices.DeleteFunc(texts, func(t string) bool { return t == "" })
}

// rawTexts are the texts of a value of JSON that no member took, and the names of what is true there.
func rawTexts(raw []byte) (texts []string) {
	var value any
	if len(raw) == 0 || json.Unmarshal(raw, &value) != nil {
		return nil
	}
	var walk func(name string, value any)
	walk = func(name string, value any) {
		switch v := value.(type) {
		case string:
			texts = append(texts, strings.ReplaceAll(v, "-", " "))
		case bool:
			if v {
				texts = append(texts, parted(name))
			}
		case []any:
			for _, item := range v {
				walk(name, item)
			}
		case map[string]any:
			for name, item := range v {
				walk(name, item)
			}
		}
	}
	walk("", value)
	return texts
}

// A said find is a find with its texts as they are held against the lists.
type said struct {
	*find.Find
	texts []string // of the row
	thing phrase   // name and type
	all   []phrase // the same, word by word
	text  string   // the same as it was written
	asks  []ask
	wordy bool // it has more words than can be looked through, and none of the above
}

func saidOf(f *find.Find) *said {
	texts := rowTexts(f)
	s := &said{Find: f, texts: texts, text: strings.Join(texts, " . ")}
	if s.wordy = len(s.text) > longestText; s.wordy {
		s.text, s.texts = "", nil
		return s
	}
	s.thing, s.asks = phraseOf(f.Name+" "+f.Type), asksOf(f)
	for _, text := range texts {
		s.all = append(s.all, phraseOf(text))
	}
	return s
}

// speaks reports whether the texts of a find speak of a list.
func (s *said) speaks(list string) bool { return speaksAny(list, s.all...) }

// An ask is what a row says under a heading that no member took, or in a member that could not be read.
type ask struct {
	heading phrase
	cell    string
}

func asksOf(f *find.Find) (out []ask) {
	for heading, cell := range f.Columns {
		out = append(out, ask{phraseOf(parted(heading)), strings.TrimSpace(cell)})
	}
	raws := [][]byte{f.Unknown, f.Extensions}
	for i := range f.Opinions {
		raws = append(raws, f.Opinions[i].Says)
	}
	for _, raw := range raws {
		var members map[string]any
		if len(raw) == 0 || json.Unmarshal(raw, &members) != nil {
			continue
		}
		for name, v := range members {
			text, is := v.(string)
			if b, err := json.Marshal(v); !is && err == nil {
				text = string(b)
			}
			out = append(out, ask{phraseOf(parted(name)), strings.TrimSpace(text)})
		}
	}
	for pointer, reason := range f.Absent { // "?" under Embargo: who cannot tell counts as may be
		if slices.Contains([]string{"not-known", "not-noted", "illegible"}, reason) {
			out = append(out, ask{phraseOf(parted(strings.TrimPrefix(pointer, "/"))), "?"})
		}
	}
	return slices.DeleteFunc(out, func(a ask) bool { return a.cell == "" })
}

// parted parts the words of the name of a member: embargoUntil, keep_back.
func parted(name string) string {
	var b strings.Builder
	small := false
	for _, r := range name {
		if small && unicode.IsUpper(r) || r == '_' {
			b.WriteByte(' ')
		}
		if small = unicode.IsLower(r); r != '_' {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// says reports whether an answer under a heading of one of the lists holds a find back: whatever is not a clear no, or
// under a heading that asks whether something may be shown a clear yes, and no day that is past.
func (a ask) says(day string, lists ...string) bool {
	if slices.Contains([]string{"-", "–", "—", "/", "n/a", "na", "N/A"}, a.cell) {
		return false
	}
	words := phraseOf(a.cell)
	for _, list := range lists {
		if !a.heading.speaks(list) {
			continue
		}
		clear := words.all("no", "open")
		switch list {
		case "headVenue": // which club it was tells nothing; that it is not for the club does
			return len(words) > 0 && words.all("no")
		case "headUntil":
			past, is := pastBy(a.cell, day)
			return is && day != "" && !past
		case "headShown":
			clear = words.all("yes", "open")
		case "headEither":
			clear = words.all("open")
		}
		if past, is := pastBy(a.cell, day); is && day != "" {
			clear = past
		}
		return len(words) == 0 || !clear
	}
	return false
}

// pastBy reports whether a text is a day, and whether that day is past on another.
func pastBy(text, day string) (past, is bool) {
	d, err := edtf.Parse(text)
	if err != nil {
		return false, false
	}
	_, last, _, open := d.Span()
	today, err := edtf.ParseDay(day)
	return err == nil && !open && today.Compare(last) >= 0, true
}

// humanRemains reports whether a find is, or lay with, human remains, or cannot be told from one that did.
func humanRemains(s *said) bool {
	f := s.Find
	if f.HumanRemains != nil && *f.HumanRemains || f.ObjectClass.Is("human-remains", "coffin-part") {
		return true
	}
	if s.speaks("remains") || slices.ContainsFunc(s.asks, func(a ask) bool { return a.says("", "headRemains") }) {
		return true
	}
	for i := range f.SensitivityReasons {
		if f.SensitivityReasons[i].Is("burial") {
			return true
		}
	}
	return slices.ContainsFunc(f.Hazards, func(h find.Term) bool { return h.Is("human-remains") })
}

// askedToKeep reports whether the words of a find, or its columns, ask that it be kept back.
func askedToKeep(s *said, day string) bool {
	if slices.ContainsFunc(s.asks, func(a ask) bool {
		return a.says(day, "headEither", "headKept", "headShown", "headVenue", "headUntil")
	}) {
		return true
	}
	if s.speaks("silent") || slices.ContainsFunc(s.all, phrase.forbids) {
		return true
	}
	remarks := []string{s.Notes}
	for heading, cell := range s.Columns {
		if strings.HasSuffix(heading, "(comment)") { // as the reader of sheets keeps what stands beside a cell
			remarks = append(remarks, cell)
		}
	}
	return slices.ContainsFunc(remarks, func(text string) bool {
		return slices.ContainsFunc(clausesOf(text), func(c clause) bool {
			return wholeNotes()[strings.Join(phraseOf(c.text), " ")]
		})
	})
}

// keepsBack are the lists of words of which one with the other behind it asks that something be kept back, where
// nothing but keepWords and numbers stands between them: keep these back; niemandem zeigen.
var keepsBack = [][2]string{{"keepVerbs", "keepBacks"}, {"keepBacksFirst", "keepVerbs"}, {"tellVerbs", "anybodyElse"},
	{"anybodyElse", "tellVerbs"}, {"showFirst", "negations"}}

// bids reports whether a text asks in such words that something be kept back. It goes on with nothing but more of them
// or with a time, or else it is of a thing: a catch that holds the pin back.
func (p phrase) bids() bool {
	at := func(list string, i int) int {
		if i >= len(p) {
			return 0
		}
		return wordLists()[list].at(p, i)
	}
	pass := func(i int) int {
		for i < len(p) {
			if end := at("keepWords", i); end > 0 {
				i = end
			} else if p[i][0] >= '0' && p[i][0] <= '9' {
				i++
			} else {
				break
			}
		}
		return i
	}
	if p.speaks("keepAlone") && len(p) < 9 { // omit; leave out 4 and 5
		i := pass(0)
		for end := at("keepAlone", i); end > 0; end = at("keepAlone", i) {
			i = pass(end)
		}
		if i == len(p) {
			return true
		}
	}
	for i := range p {
		for _, pair := range keepsBack {
			end := at(pair[0], i)
			if end == 0 || pair[0] == "showFirst" && pass(0) != i {
				continue
			}
			second := at(pair[1], pass(end))
			if second == 0 {
				second = at(pair[1], end) // it may begin with one of keepWords
			}
			if second == 0 {
				continue
			}
			if next := pass(second); next >= len(p) || at("notYet", next) > 0 || at("after", next) > 0 || next > second {
				return true
			}
		}
	}
	return false
}

// forbids reports whether a text forbids to publish something, or puts it off: a word of publishing, in the form of
// a bidding, with a negation up to three words before it or two behind, with "erst" and the like up to six before
// it, or with "until" and the like up to three behind; or names a year to come behind one of these; or says that it may
// not be published, or only in part.
func (p phrase) forbids() bool {
	if p.bids() {
		return true
	}
	near := func(list string, from, to int) bool {
		for j := max(0, from); j < min(len(p), to); j++ {
			if wordLists()[list].at(p, j) > 0 {
				return true
			}
		}
		return false
	}
	for i := range p {
		if toCome(p[i]) && (near("notYet", i-4, i) || near("after", i-4, i) || near("negations", i-4, i)) {
			return true // until June 2028
		}
		end := wordLists()["publishing"].at(p, i)
		if end > 0 && (near("negations", i-3, i+3) || near("notYet", i-6, i) || near("after", end, end+3)) {
			return true
		}
		if wordLists()["published"].at(p, i) > 0 && near("may", i-4, i+3) &&
			(near("negations", i-5, i+6) || near("nothing", i-6, i+4) || near("exceptions", i-12, i+6)) {
			return true // nothing may be published but no 1
		}
	}
	return false
}

// toCome reports whether a word is a year that is yet to come.
func toCome(word string) bool {
	year, err := strconv.Atoi(word)
	return err == nil && len(word) == 4 && year > thisYear && year < thisYear+75
}

// embargoed reports whether an embargo holds on a day; where either cannot be read it does.
func embargoed(f *find.Find, day string) bool {
	if f.EmbargoUntil == "" {
		return false
	}
	until, err := edtf.Parse(f.EmbargoUntil)
	today, derr := edtf.ParseDay(day)
	if err != nil || derr != nil {
		return true
	}
	_, last, _, open := until.Span()
	return open || today.Compare(last) < 0
}

// treasureAge is how many years before today's finds a thing of precious metal stops to be one that the law
// of some country may ask for. The laws differ (schema/data/law.json): the shortest is taken.
const treasureAge = 200

// thisYear is compared with datings; a constant, so that a copy does not depend on the clock.
const thisYear = 2026

// mayBeTreasure reports whether a find may be treasure by some law: of precious metal and not certainly
// young, of metal and prehistoric, one of a group, or a case that is not closed. Whoever cannot tell has to
// count it as one.
func mayBeTreasure(s *said, group bool) bool {
	f := s.Find
	closed := 0
	for i := range f.Notified {
		switch n := &f.Notified[i]; {
		case n.Status.Is("closed", "returned"):
			closed++
		case n.CaseNumber != "":
			return true
		}
	}
	if closed > 0 && closed == len(f.Notified) {
		return false
	}
	if slices.ContainsFunc(s.asks, func(a ask) bool { return a.says("", "headTreasure") }) ||
		caseForm().MatchString(s.text) {
		return true
	}
	for i := range f.SensitivityReasons {
		if f.SensitivityReasons[i].Is("hoard", "legal-process") {
			return true
		}
	}
	if d := f.Dating; d != nil && d.Earliest.Known() && d.Earliest.Int() > thisYear-treasureAge {
		return false
	}
	if f.Disposition.Is("declared-treasure") || f.ObjectClass.Is("coin-group", "ingot") {
		return true
	}
	precious, metal, bronze := preciousWords(s), len(f.Materials) == 0, len(f.Materials) == 0
	for i := range f.Materials {
		m := &f.Materials[i]
		precious = precious || m.Code == "" || m.Is("gold", "silver", "silver-alloy", "electrum", "billon", "platinum",
			"metal-unknown")
		metal = metal || !m.Is("glass", "ceramic", "pipe-clay", "brick-tile", "stone", "flint", "coal", "jet", "bone",
			"antler-horn", "shell", "wood", "leather", "textile", "plastic", "vulcanite", "slag")
		bronze = bronze || m.Is("copper", "copper-alloy", "bronze")
	}
	return precious || metal && (group || severalCoins(s) || slices.ContainsFunc(s.all, phrase.ofSeveral) ||
		prehistoric(s)) || bronze && s.thing.speaks("metalTools")
}

// caseForm is the number of a case of treasure, as registers write it: T2026/114, 2026T341.
var caseForm = later(`(?i)\bT ?(?:19|20)\d\d ?/ ?\d+\b|\b(?:19|20)\d\d ?T ?\d+\b`)

// prehistoric reports whether a find may be older than writing: before AD 43, by its period, or by what it is.
func prehistoric(s *said) bool {
	age := s.thing
	if d := s.Dating; d != nil {
		if d.Earliest.Known() && d.Earliest.Int() < 43 {
			return true
		}
		text := d.Verbatim
		if d.Period != nil {
			text += " " + d.Period.Label + " " + d.Period.ID
		}
		age = append(slices.Clip(age), phraseOf(text)...)
	}
	return age.speaks("prehistoric") || age.speaks("periodShort") || s.speaks("prehistoric")
}

// preciousWords reports whether the words of a find speak of gold or silver, or of a coin that was struck of
// one of them. A coin of which neither metal nor kind is said cannot be told from one.
func preciousWords(s *said) bool {
	of := phrase{}
	for i := range s.Materials {
		of = append(of, phraseOf(s.Materials[i].Verbatim+" "+s.Materials[i].Label)...)
	}
	if s.speaks("precious") || speaksAny("precious", of) || speaksAny("preciousMarks", s.thing, of) ||
		preciousMark(s.text) {
		return true
	}
	base := slices.ContainsFunc(s.Materials, func(m find.Material) bool { return m.Code != "" })
	if !base && s.thing.speaks("preciousThings") || s.thing.speaks("goldKinds") && !s.thing.speaks("goldCopies") {
		return true
	}
	if s.ObjectClass != nil && !s.ObjectClass.Is("coin", "coin-group", "finger-ring", "pendant", "chain", "badge", "other",
		"unidentified") {
		return false
	}
	return !base && (s.thing.speaks("preciousCoins") || oldCoin(s) || jewel(s))
}

// The years from which a kind of coin is of copper: halfpence and farthings in England from 1672, pence from
// 1797 (from memory). The years of others are later than theirs, to be on the safe side.
const (
	copperHalfpence = 1672
	copperPence     = 1797
)

var yearInName = regexp.MustCompile(`\b(1[0-9]{3}|20[0-2][0-9])\b`)

// oldCoin reports whether a find of which no metal is said may be a coin of silver: a coin of no kind that
// was always of something else, and not certainly of the years when its kind was of copper.
func oldCoin(s *said) bool {
	text := s.Name + " " + s.Type
	aged, since := text, 0
	if d := s.Dating; d != nil {
		aged += " " + d.Verbatim
		if d.Period != nil {
			aged += " " + d.Period.Label
		}
		if d.Earliest.Known() {
			since = int(d.Earliest.Int())
		}
	}
	if years := yearInName.FindAllString(text, -1); since == 0 && len(years) > 0 {
		since, _ = strconv.Atoi(slices.Min(years))
	}
	switch reign := phraseOf(aged); {
	case s.thing.speaks("baseCoins"):
		return false
	case s.thing.speaks("copper1672"):
		return since < copperHalfpence && !reign.speaks("copperReigns")
	case s.thing.speaks("copper1797"):
		return since < copperPence && !reign.speaks("pennyReigns")
	}
	return (s.ObjectClass.Is("coin") || s.thing.speaks("coins")) && since <= thisYear-treasureAge
}

// jewel reports whether a find of which no metal is said is one of those that are often of gold or silver.
func jewel(s *said) bool {
	return s.ObjectClass.Is("finger-ring") || s.thing.speaks("jewels") && !s.thing.speaks("plainRings")
}

var timesCoins = regexp.MustCompile(`(?i)(^|[ (])(x ?[0-9]+|[0-9]+ ?x)($|[ ).,])`)

// severalCoins reports whether a find is, or may be, more than one coin.
func severalCoins(s *said) bool {
	if s.thing.speaks("severalCoins") {
		return true
	}
	if !s.ObjectClass.Is("coin", "coin-group") && !s.thing.speaks("coins") && !s.thing.speaks("copper1672") &&
		!s.thing.speaks("copper1797") && !s.thing.speaks("preciousCoins") {
		return false
	}
	return s.Kind == "lot" || s.Count.HasValue() && s.Count.Min.Known() && s.Count.Min.Int() > 1 ||
		timesCoins.MatchString(strings.ReplaceAll(s.Name+" "+s.Type, "×", "x"))
}

// ofSeveral reports whether a text says that a find lay with others: "stuck together", "one of 30",
// "with 11 others". The pieces of one thing are none.
func (p phrase) ofSeveral() bool {
	if p.speaks("together") {
		return true
	}
	for i := range p {
		n, err := strconv.Atoi(p[i])
		if (err != nil || n < 2 || n > 99999) && !p.is(i, "numbers") || p.is(i+1, "pieces") || p.is(i+2, "pieces") ||
			p.is(i-3, "pieces") {
			continue
		}
		if p.is(i+1, "others") || i+2 < len(p) && p[i+1] == "of" && p[i+2] == "them" {
			return true
		}
		if i >= 2 && (p[i-1] == "of" || p[i-1] == "von") && countWord(p[i-2]) {
			return true
		}
	}
	return false
}

// countWord reports whether a word is a figure, or the word for one.
func countWord(word string) bool {
	_, err := strconv.Atoi(word)
	return err == nil || word == keyOf("one") || word == "another" || word == "eine" || word == "einer" || word == "eins"
}

var (
	carats = regexp.MustCompile(`(?i)\b(8|9|10|12|14|15|18|20|21|22|24) ?-?(ct|k|kt|kar|crt)s?\b`)
	struck = regexp.MustCompile(`(?i)(stamp\w*|mark\w*|punz\w*|stempel\w*|gestempelt|says|reads|poin.on\w*)\W{1,3}` +
		`(a |mit |with )?\.?(333|375|585|750|800|830|835|900|916|925|958|999)\b`)
	symbol   = regexp.MustCompile(`\b(Au|AU|Ag|AG|AR|Ar|AV|ag|au)\b`)
	sentence = regexp.MustCompile(`[.?!:;\n]+`)
)

// noFineness are figures that follow the "au" of French: of a telephone, a day, a house, a distance, a century.
var noFineness = later(`^(?i:0\d|\d\d(?:[ .]\d\d){2}|` +
	`\d{1,4}(?:er|e|è|ème)?,? (?:janv|févr|mars|avril|mai|juin|juil|août|sept|oct|nov|déc|rue|bis|avenue|chemin|route|` +
	`place|siècle|mètres?|m\b|cm\b|pas\b)|\d{1,2}(?:er|e|è|ème)\b)`)

// preciousMark reports whether a text has a mark of gold or silver: carats, a stamped fineness, or the
// chemist's or the coin book's sign, which in lower case has to end the sentence or stand before a figure
// ("au" is an everyday word of French).
func preciousMark(text string) bool {
	if carats.MatchString(text) || struck.MatchString(text) {
		return true
	}
	for _, part := range sentence.Split(text, -1) {
		part = strings.TrimSpace(part)
		for _, at := range symbol.FindAllStringIndex(part, -1) {
			rest := strings.TrimLeft(part[at[1]:], " ")
			ends := rest == "" || rest[0] >= '0' && rest[0] <= '9' && !noFineness().MatchString(rest) || rest[0] == ','
			if ends || at[0] > 0 && part[at[0]] < 'a' {
				return true
			}
		}
	}
	return false
}
