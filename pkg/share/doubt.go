package share

import (
	"html"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/profile"
)

// Words that go to somebody who sees places by cells may tell a place in more spellings than anybody can
// list. So it is the other way round: figures pass where they are a year, a measure with its unit or a small
// number, and what else looks like a place, an address or a code is withheld by its form alone.

// mostFigures is how many figures of no known meaning one text may have, and mostOfFind all texts of one
// find together: four of an easting tell ten metres of a square, and need four of a northing beside them.
const (
	mostFigures = 4
	mostOfFind  = 6
)

// longestText is the length in bytes up to which a text is looked through for forms.
const longestText = 20_000

// The forms in which figures pass.
var (
	passYears    = later(`(?i)\b(?:(?:c|ca|circa|ad|um|n|v|omkr|vers)\.? ?)?1\d{3}(?:s|er|ern|'s|-talet|-tallet)?(?: ?[-–/] ?(?:1\d{3}|20[0-4]\d|\d{2}\b))?(?:s|\?|~)?|\b20[0-4]\d\b|\b\d{1,4} ?(?:AD|BC|BCE|CE|v\. ?Chr|n\. ?Chr|v\.Chr\.|n\.Chr\.)`)
	passMeasures = later(`(?i)(?:\b\d{1,3}(?:[.,]\d{1,3})? ?[x×*] ?){0,2}\b\d{1,3}(?:[.,]\d{1,3})? ?(?:mm|cm|in\b|inch(?:es)?|"|″|g\b|gr\b|grams?|gramm|grammes?|gram\b|kg|oz|ct\b|carat|karat|%|st\b|nd\b|rd\b|th\b|pcs?\b|stk\b|stück\b)`)
)

// The forms that tell a place or lead to one.
var (
	webForm   = later(`(?i)://|\bwww\.|\b[\pL\d-]+\.(?:[\pL\d-]+\.)*\pL{2,}/\S|///`)
	threeForm = later(`(?:^|[^\pL.])\pL{3,}\.\pL{3,}\.\pL{3,}(?:$|[^\pL.])`)
	gridForm  = later(`(?i)\b[a-hj-z]{1,2} ?\d{2} ?\d{2}\b|\b[a-r]{2}\d{2}[a-x]{2}(?:\d{2})?\b`)
	farForm   = later(`(?:^|\D)\d{0,3}[.,·]\d{4,}|\b\d+[.,·]\d{3}\b.*\b\d+[.,·]\d{3}\b`)
	wayForm   = later(`(?i)\b(?:\d+(?:[.,]\d+)?|ten|twenty|thirty|forty|fifty|sixty|hundred|few|zehn|zwanzig|dreißig|vierzig|fünfzig|hundert|paar|vingt|cinquante|cent|twintig|vijftig|honderd) ?(?:m|met(?:re|er)s?|mètres?|meter|yards?|yds?|paces?|steps?|feet|ft|km|miles?|schritte?|stappen|pas|skridt|steg|kroków|minutes'?|mins?)\b\W{0,3}(?:(?:to the|in|im|nach|au|vers|mod|åt) )?(?:due )?(?:n|s|e|w|o|ne|nw|se|sw|no|so|nnw|nne|north|south|east|west|northeast|northwest|southeast|southwest|nördlich|südlich|östlich|westlich|nord|sud|süd|est|ouest|syd|øst|vest|öst|väst|from|of|off|past|behind|beyond|before|inside|left|right|von|vom|hinter|vor|de|du|des|van|fra|från|od|away)\b`)
	spelled   = later(`(?i)\b(?:(?:zero|nought|oh|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|sixteen|seventeen|eighteen|nineteen|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety|double|triple|null|eins|ein|zwei|zwo|drei|vier|fünf|fuenf|sechs|sieben|acht|neun|nul|een|twee|drie|vijf|zes|zeven|negen|zéro|deux|trois|quatre|cinq|sept|huit|neuf|tre|fire|fem|seks|syv|otte|ni|noll|ett|två|fyra|sju|åtta|nio|\pL*und(?:zwanzig|dreißig|dreissig|vierzig|fünfzig|fuenfzig|sechzig|siebzig|achtzig|neunzig)|alfa|alpha|bravo|charlie|delta|echo|foxtrot|golf|hotel|juliett|kilo|lima|mike|november|oscar|papa|quebec|romeo|sierra|tango|uniform|victor|whiskey|x-ray|yankee|zulu|point|dot|decimal|komma|comma|virgule|and|und)(?:[\s,.-]+|$)){3,}`)
	degrees   = later(`(?i)[°º˚]|\d\s*(?:degrees?|deg|grad|graden|grader|degrés?|gon)\b`)
	kept      = later(`\b\p{Lu}{2,}-\p{Lu}*\d[\p{Lu}\d]*\b`)
	nearForm  = later(`(?i:\b(?:near|beside|behind|opposite|next to|close to|outside|north of|south of|east of|west of|bei|nahe|près de|nabij|ved|nær|vid|nära|koło))\s+(?:(?i:the|der|dem|la|le|de|het)\s+)?\p{Lu}|\pL{2,}-(?i:upon|on|under|by|le|next|sur|sous|lès|am|an|bei|ob|aan|op)-(?:(?i:the|der)-)?\pL{3,}`)
	// Three words that an address of squares makes of a spot, whatever parts them; the name of such addresses beside
	// any words.
	wordsForm = later(`(?i)\bw3w\b|\b(?:3|three) words? (?:app|code|location|place|spot|for it)\b|\b(?:3|three) words:? (?:\pL{4,} ){2}\pL{4,}$|\bwhat ?(?:3|three) ?words?\b|\b(?:3|three) word address|\bdot\b.*\bdot\b|\pL{3,} \. \pL{3,} \. \pL{3,}|(?:^|[^\pL'’])\p{Ll}{4,}[_|*-]\p{Ll}{4,}[_|*-]\p{Ll}{4,}(?:$|[^\pL])`)
	plusForm  = later(`\b(?:[2-9CFGHJMPQRVWX]{4} )?[2-9CFGHJMPQRVWX]{4} [2-9CFGHJMPQRVWX]{2,3}\b`)
	axisForm  = later(`\b[NSEW] ?\d{3,5}\b|\b[nsew]\d{3,5}\b|\b\d{3,5} ?[NSEW]\b|\b\d{1,3}[.,]\d+ ?(?:(?i:min|minutes?|'|′) ?)?(?:[NSEWnsew]|(?i:north|south|east|west))\b`)
	// Marks in the land and on maps. Those that are parts of things too (gate, bridge) count behind a word of place.
	markForm  = later(`(?i)\bhalfway (?:between|to|up|down)\b|\b(?:pylon|wind ?turbine|level crossing|trig(?: ?point| ?pillar)?|car ?park|foot ?path|bridleway|cross ?roads|boundary stone|tithe|parcel|plot \d+|field (?:no|number|nr)|os map|explorer \d+|landranger|dmv|flurstück|flur \d+|gemarkung|windrad|strommast|parcelle|lieu-dit|perceel \d+|matrikel)\b|\b[ABM]\d{1,4}\b (?:road|crosses|junction|bridge|layby)|\b(?:near|by|beside|behind|opposite|next to|close to|outside|past|below|above|under|at|from|between|overlooking|along|off|towards?|halfway|up|down|on)\s+(?:(?:the|a|an|our|his|her|their|that|old|top|bottom)\s+){1,2}(?:\pL+\s+)?(?:church|chapel|pub|inn|manor|house|cottage|farm|barn|mill|bridge|ford|river|brook|stream|canal|lake|pond|well|wood|copse|hedge|gate|stile|fence|ditch|track|lane|road|railway|station|crossing|mast|oak|hill|quarry|school|village|boundary|yard)\b|\b(?:neben|bei|beim|hinter|unter|zwischen|gegenüber|nahe)\s+(?:(?:der|dem|den|die|das)\s+)?(?:\pL+\s+)?(?:kirche|kapelle|mühle|brücke|bach|fluss|teich|wald|hecke|tor|zaun|weg|straße|strasse|bahn|bahnhof|hof|eiche|hügel|graben|feldrand|waldrand)\b`)
	stepsForm = later(`(?i)\b(?:\d+|quarter|half|one|two|three|four|five|six|eight|ten|zwei|drei|vier|zehn|deux|trois|cent|dix|to|tre|fire|hundrede|två|tre|twee|drie|tien) (?:an? )?(?:chains?|rods?|miles?|furlongs?|hedges|fields|gates|hecken|felder|haies|champs|hegn|marker|häckar|heggen|akkers|pas|paces|steps|schritte?n?|skridt|steg|stappen|km)\b.{0,12}\b(?:from|of|past|behind|beyond|up|down|off|from|to|richtung|von|vom|hinter|nach|après|avant|depuis|derrière|du|de|fra|från|efter|over|voorbij|van|na)\b|\b(?:behind|opposite|beside|next to|over for|hinter|gegenüber|en face d[eu]|derrière|tegenover|mitt emot|bakom) (?:\pL+ ){0,4}(?:no\.?|nr\.?|number|du|nummer|num\.?) ?\d+\b|\b(?:bei|am|au|at|ved|vid|bij|borne) (?:km|kilometre|kilometer|kilomètre)\b|\bborne km\b|\bbord d[eu] (?:la )?[ADN]\d+|\b(?:glebe|sewage works|reservoir|weir|toll ?house|wegkreuz|calvaire|gravhøj\pL*|vandtårn|vattentorn|watertoren|château d'eau|wasserturm)\b|\b(?:richtung|vers|mod|mot|richting) (?:\pL+ )?(?:mühle|dorf|kirche|église|village|moulin|mølle|kirke|by|kyrka|molen|kerk)\b`)
	roadForm  = later(`\b\d{1,3}[a-z]? \p{Lu}\pL{2,} (?:Close|Avenue|Drive|Way|Terrace|Gardens|Row|Court|Crescent)\b|\b\p{Lu}\pL{2,} (?:Street|Lane|Road|Rd|Farm|Manor|Abbey|Bridge|Common|Lodge)\b`)
	// A day that is coarser for this audience. Months that are words of other meaning count with a capital only.
	dayForm = later(`\b\d{4}[-/.]\d{2}[-/.]\d{2}\b|\b(?:0[1-9]|[12]\d|3[01])(?:0[1-9]|1[0-2])(?:19|20)\d\d\b|\b(?:[01]?\d|2[0-3]):[0-5]\d\b|(?i:\b(?:week|kw|uge|vecka|semaine|tydzień|uke) \d{1,2}\b)|\b(?i:jan|feb|apr|jun|jul|aug|sept?|oct|okt|nov|dec|dez|janv|févr|avril|juin|juil|august)\pL* \d{1,2}(?:st|nd|rd|th)?\b|\b(?:March|May) \d{1,2}(?:st|nd|rd|th)?\b|\b\d{1,2}[./]\d{1,2}[./](?:\d{2}|\d{4})\b|\b\d{1,2}(?:st|nd|rd|th|\.)? ?(?:of )?(?:(?i:jan|feb|apr|jun|jul|aug|sept?|oct|okt|nov|dec|dez|janv|févr|avril|juin|juil|août)\pL*|Mar|March|March\pL*|May|Mai|Mei|Maj|März|Mars|Maart|Marts)\b|(?i)\b(?:easter (?:sunday|monday)|good friday|boxing day|mothering sunday|ostermontag|pfingstmontag|karfreitag)\b`)
	// Numbers under which public registers of sites, buildings and land keep a place.
	siteForm = later(`\b(?:HER|SMR|NMR|NHLE|DIME|DKM|FStNr|FSt|RAÄ|RAA|AZP|PAS|PAN|HES|RCE|ARCHIS|SRA)\b\W{0,2}(?:(?i:ref|no|nr|number|num|id|entry)\b\W{0,2})?\pL{0,4}[- ]?\d|(?i)\b(?:list entry|listed building|site code|site no|scheduled monument|cadastr\pL*|kadast\pL*|kataster\pL*|land registry|title(?: no)?\W{0,2}[a-z]{1,3}\d|sb\.? ?(?:nr\.?)? ?\d|fornl\pL+|gnr|bnr|askeladden|canmore|vondstmelding|onderzoeksmelding|stanowisko|fundstellen?n\pL*)\D{0,20}\d`)
	// A person by a title, or by what he is to the land.
	titleForm = later(`\b(?:Dr|Mr|Mrs|Ms|Herrn?|Frau|Mme|Mlle|Dhr|Mevr|Mw|(?i:hr|fru|docteur|doktor|docent|professeur|professor|maître|monsieur|madame|bauer|farmer|tenant|landowner|gårdejer|lodsejer|fermier|boer|lantbrukare|bonde|rolnik))\.?,? (?:Dr\.? )?\p{Lu}\p{Ll}{2,}|\bM\. \p{Lu}\p{Ll}{2,}`)
	romans    = later(`\b[IVXLC]{1,7}(?:[ .·,:;/-]{1,2}[IVXLC]{1,7}){2,}\b`)
	tripled   = later(`(?:^|[^\pL'’])(\p{Ll}{4,})[/·,;+&~>:\\] ?(\p{Ll}{4,})[/·,;+&~>:\\] ?(\p{Ll}{4,})(?:$|[^\pL])`)
	century   = later(`^[cC]\.?\d{1,2}(?:st|nd|rd|th)?$`)
	glued     = later(`(?i)(?:zero|one|two|three|four|five|six|seven|eight|nine){3,}`)
)

// doubtful says what in a text may tell a place, empty for nothing.
func doubtful(text string) (why string, figures int) {
	if len(text) > longestText {
		return "more words than can be looked through", 0
	}
	text = html.UnescapeString(text)
	if open, err := url.PathUnescape(text); err == nil {
		text = open
	}
	if spelled().MatchString(text) || glued().MatchString(text) {
		return "figures written as words", 0
	}
	text = figuresText(text)
	switch {
	case webForm().MatchString(text):
		return "an address of the web", 0
	case threeForm().MatchString(text):
		return "three words with points between them", 0
	case farForm().MatchString(text):
		return "a figure with many decimals", 0
	case wayForm().MatchString(text):
		return "a way from somewhere", 0
	case degrees().MatchString(text):
		return "an angle", 0
	case nearForm().MatchString(text):
		return "a place that it lay near", 0
	case kept().MatchString(text):
		return "a number under which somebody else keeps it", 0
	case wordsForm().MatchString(text):
		return "three words that may be an address", 0
	case plusCode(text):
		return "a word of letters and figures", 0
	case axisForm().MatchString(text):
		return "a figure with a side of the compass", 0
	case markForm().MatchString(text) || roadForm().MatchString(text) || stepsForm().MatchString(text):
		return "a mark in the land or on a map", 0
	case siteForm().MatchString(text):
		return "a number of a public register", 0
	case titleForm().MatchString(text):
		return "a person", 0
	case romans().MatchString(text):
		return "figures written as letters", 0
	case threeStrange(text):
		return "three words that may be an address", 0
	}
	text = passMeasures().ReplaceAllString(passYears().ReplaceAllString(text, " "), " ")
	for w := range strings.FieldsFuncSeq(text, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("-_:.+/=", r)
	}) {
		if codeLike(w) {
			return "a word of letters and figures", 0
		}
	}
	figures = countDigits(text)
	if gridForm().MatchString(text) {
		return "a letter or two with four figures", figures
	}
	if figures > mostFigures {
		return "more figures than a small number has", figures
	}
	return "", figures
}

// threeStrange reports whether a text has three words with marks between them, of which two are no words of logs:
// copper/brass/bronze is none.
func threeStrange(text string) bool {
	for _, m := range tripled().FindAllStringSubmatch(text, -1) {
		strange := 0
		for _, w := range m[1:] {
			if !known(w) {
				strange++
			}
		}
		if strange >= 2 {
			return true
		}
	}
	return false
}

// plusCode reports whether a text has a code of letters and figures in two or three parts.
func plusCode(text string) bool {
	for _, code := range plusForm().FindAllString(text, -1) {
		if strings.ContainsAny(code, "23456789") && strings.ContainsAny(code, "CFGHJMPQRVWX") {
			return true
		}
	}
	return false
}

// codeLike reports whether a word goes to and fro between letters and figures, as codes of places and of
// letters do.
func codeLike(word string) bool {
	word = strings.Trim(word, `.,;:()[]'"?!`)
	if len(word) < 5 || century().MatchString(word) {
		return false
	}
	turns, digits, letters, last := 0, 0, 0, 0
	for _, r := range word {
		kind := 0
		switch {
		case unicode.IsDigit(r):
			kind = 1
			digits++
		case unicode.IsLetter(r):
			kind = 2
			letters++
		}
		if kind != 0 && last != 0 && kind != last {
			turns++
		}
		if kind != 0 {
			last = kind
		}
	}
	return turns >= 2 && digits >= 1 || strings.Contains(word, "+") && digits > 0 && letters > 0 ||
		strings.HasSuffix(word, "=")
}

// mayTell reports whether a text that the table keeps may stand in a copy of which the places are cells. What may
// not is noted for the owner.
func (c *copier) mayTell(n *node, text string) bool {
	if !c.o.Audience.coarse() || c.o.Policy.passes(text) {
		return true
	}
	class := published().leaves[n.path]
	switch class {
	case "label", "number", "sensitivity", "consent":
		return true // in closed forms, or looked at when the copy is ordered
	case "dating", "other-dating", "day", "outing-day", "leave":
		if d, err := edtf.Parse(text); err == nil {
			from, to, open, open2 := d.Span()
			return (open || plainYear(from.Year)) && (open2 || plainYear(to.Year))
		}
	}
	why, figures := doubtful(text)
	if why == "" && c.o.Audience != Club && (dayForm().MatchString(text) || c.at != nil && tellsDay(text, c.at.date)) {
		why = "a day"
	}
	if strings.HasSuffix(n.path, ".verbatim") && figures <= mostFigures {
		figures = 0 // of a measure, mostly, which goes as well
	}
	if c.figures += figures; why == "" && figures > 0 && c.figures > mostOfFind {
		why = "more figures than a small number has, in several texts together"
	}
	if why != "" {
		c.out.Doubts = append(c.out.Doubts, Doubt{Find: c.label, Member: n.path, Why: why})
		c.doubted = append(c.doubted, "/"+strings.SplitN(n.path, ".", 3)[1])
	}
	return why == ""
}

// tellsDay reports whether a text has the day of finding: its number with an ordinal ending or as an ordinal word, or
// beside the month.
func tellsDay(text, date string) bool {
	if len(date) < 10 {
		return false
	}
	d, derr := strconv.Atoi(date[8:10])
	m, merr := strconv.Atoi(date[5:7])
	if derr != nil || merr != nil {
		return false
	}
	months, ordinals := tellingWords()["months"], tellingWords()["ordinals"]
	if len(months) != 12 || len(ordinals) != 31 || m < 1 || m > 12 || d < 1 || d > 31 {
		return false
	}
	month := func(w string) bool {
		n, err := strconv.Atoi(w)
		return err == nil && n == m ||
			slices.ContainsFunc(strings.Fields(months[m-1]), func(s string) bool { return strings.HasPrefix(w, keyOf(s)) })
	}
	p := phraseOf(text)
	for i, w := range p {
		figures := strings.TrimRight(w, "abcdefghijklmnopqrstuvwxyz")
		n, err := strconv.Atoi(figures)
		word := slices.ContainsFunc(strings.Fields(ordinals[d-1]), func(s string) bool { return keyOf(s) == w })
		if (err != nil || n != d) && !word {
			continue
		}
		ordinal := word || slices.Contains([]string{"st", "nd", "rd", "th"}, w[len(figures):])
		beside := i > 0 && month(p[i-1]) || i+1 < len(p) && month(p[i+1]) ||
			ordinal && i+2 < len(p) && p[i+1] == "of" && month(p[i+2])
		after := ""
		if i+1 < len(p) {
			after = p[i+1]
		}
		if beside || ordinal && i > 0 && slices.Contains(dayBefore, p[i-1]) &&
			(after == "" || !word && !strings.HasPrefix(after, "c")) {
			return true
		}
	}
	return false
}

// dayBefore are words that a day without its month stands behind; "the 12th century" is none.
var dayBefore = strings.Fields("the on sunday monday tuesday wednesday thursday friday saturday sun mon tue wed thu fri sat am den le")

func plainYear[T int | int64](year T) bool { return year > -10_000 && year < 2100 }

// A Doubt is a text that was withheld because it may tell a place. It is named and never quoted.
type Doubt struct {
	Find   string // its number or name in the source; empty: the text is of no find
	Member string
	Why    string
}

// passes reports whether the owner has passed a text for everybody.
func (p *Policy) passes(text string) bool {
	if p == nil {
		return false
	}
	for _, w := range p.Words {
		if keyOf(w) == keyOf(text) {
			return true
		}
	}
	return false
}

// whole are the actions of the table with which an audience gets what there is, as far as an ask can tell.
var whole = []string{keep, key, fresh, code, lexicon, consent, codes}

// Beyond returns the asks of a profile that want more than a copy for an audience holds, by name, with what the
// audience gets in its place. A profile chooses no audience: it is the finder's.
func Beyond(e *profile.Effective, a Audience) map[string]string {
	out := map[string]string{}
	for _, ask := range e.Asks {
		if ask.Strength != profile.Must && ask.Strength != profile.Should {
			continue
		}
		how := ""
		for _, w := range ask.Ask.Ways() {
			if how = beyond(w, a); how == "" {
				break
			}
		}
		if how != "" {
			out[ask.Name] = how
		}
	}
	return out
}

// Put is a profile as it is put to a log whose copy is for an audience: what it asks beyond what that gets is told, and
// not counted. A level asks of the log itself.
func Put(e *profile.Effective, a Audience) *profile.Effective {
	if profile.Level(e.ID) == e || a == Self {
		return e
	}
	return e.For(Beyond(e, a))
}

// beyond is what an audience gets in the place of what is wanted: nothing where it gets one of the members.
func beyond(w *profile.Wanted, a Audience) (how string) {
	for _, pointer := range w.Any {
		if how = given(pointer, a); how == "" || w.Within >= 1000 && how == cell {
			return ""
		}
	}
	return how
}

// given is what an audience gets in the place of a member of a find: nothing where it gets some of it as it is.
func given(pointer string, a Audience) string {
	path, worst := leafOf(pointer), ""
	for leaf := range published().leaves {
		if leaf != path && !strings.HasPrefix(leaf, path+".") {
			continue
		}
		act := published().action(leaf, a)
		if slices.Contains(whole, act) {
			return ""
		}
		if worst == "" || worst == withhold {
			worst = act
		}
	}
	if worst == "" {
		return withhold
	}
	return worst
}

// leafOf is the leaf of the table of a member of a find, or of the permission or the person that it names.
func leafOf(pointer string) string {
	path := strings.ReplaceAll(strings.Trim(pointer, "/"), "/", ".")
	first, rest, further := strings.Cut(path, ".")
	switch {
	case first == "permission" && further:
		return "permissions." + rest
	case first == "finder" && further:
		return "people." + rest
	}
	return "finds." + path
}

// Unwanted makes a copy leave out what profiles never want to be sent: for all finds by a stricter policy, so that
// the leak check looks for it too, and for some finds by Options.Drop. Nothing is ever shown more of.
func (o *Options) Unwanted(list []*profile.Effective) {
	var drops []*profile.Effective
	for _, e := range list {
		for _, ask := range e.Asks {
			if ask.Strength != profile.Never {
				continue
			}
			if ask.When != nil {
				if !slices.Contains(drops, e) {
					drops = append(drops, e)
				}
				continue
			}
			for _, pointer := range ask.Ask.Any {
				o.withhold(leafOf(pointer))
			}
		}
	}
	if drops == nil {
		return
	}
	o.Drop = func(source *profile.Subject, copied *find.Find) (gone []string) {
		for _, e := range drops {
			gone = append(gone, e.Drop(source, copied)...)
		}
		return gone
	}
}

// withhold makes the policy of the copy leave out a member, as far as a policy can.
func (o *Options) withhold(member string) {
	p := &Policy{leaves: map[string]map[Audience]string{}}
	if o.Policy != nil {
		p.Title, p.Words, p.Lands = o.Policy.Title, o.Policy.Words, o.Policy.Lands
		for leaf, actions := range o.Policy.leaves {
			for a, action := range actions {
				p.set(leaf, a, action)
			}
		}
	}
	if p.row(map[string]string{"member": member, string(o.Audience): withhold}) == nil {
		o.Policy = p
	}
}
