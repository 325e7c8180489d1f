package heading

import (
	"path"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// Content is what the cells of a column look like: how many of them could be what.
type Content struct {
	Cells                              int // that say something
	Days, Moments, Clocks, Years, Ages int
	// whole positions; one axis in degrees, in metres of a grid
	Places, Degrees, Metres int
	Pairs, Points           int // 7123 1844, of a grid without its letters; 09.45, which may be a time
	// Measures are numbers, or lengths or weights with or without a unit
	Numbers, Counts, Lengths, Masses, Measures                   int
	Pictures, Links, Materials, Classes, States, Titles, Answers int
	Words                                                        int // letters, and no figures
	Distinct                                                     int
	Rising                                                       bool // numbers, each the one before and one more
	Restarts                                                     bool // and from time to time 1 again, on every new day
	SouthWest                                                    bool
	NewYears                                                     int // years from 1970 on
	Large                                                        int // whole numbers from 41 to 99, as machines show
}

const mostSamples = 60

// Look tells what the cells of a column look like. Order is that of its dates, as far as it is known.
func Look(samples []string, order edtf.Order) (c Content) {
	seen := map[string]bool{}
	last, rising, numbers, ones := 0, 0, 0, 0
	for _, s := range samples {
		s = strings.TrimSpace(s)
		if s == "" || c.Cells >= mostSamples {
			continue
		}
		if _, absent := vocabulary.Absent(s); absent || strings.Trim(s, " ?-–—.\"'") == "" {
			continue
		}
		c.Cells++
		if !seen[s] {
			seen[s] = true
			c.Distinct++
		}
		c.look(s, order)
		if n, ok := tailNumber(s); ok {
			if numbers++; n == last+1 {
				rising++
			} else if n == 1 {
				ones++
			}
			last = n
		}
	}
	c.Rising = numbers >= 3 && numbers*10 >= c.Cells*8 && rising*10 >= (numbers-1)*7 &&
		(c.Distinct*10 >= c.Cells*9 || c.Cells >= 4 && c.Distinct == c.Cells-1) // the very slip that is to be told
	c.Restarts = ones > 0 && rising+ones == numbers && numbers >= 4 && rising > 2*ones-1 && numbers*10 >= c.Cells*8
	return c
}

// tailNumber returns the number at the end of a text, where no blank stands before it.
func tailNumber(s string) (int, bool) {
	if len(s) == 1 && s[0]|0x20 >= 'a' && s[0]|0x20 <= 'z' {
		return int(s[0]|0x20-'a') + 1, true // a, b, c
	}
	at := len(s)
	for at > 0 && s[at-1]-'0' < 10 {
		at--
	}
	if at == len(s) || len(s)-at > 7 || strings.ContainsAny(s, " /,:") {
		return 0, false
	}
	n, err := strconv.Atoi(s[at:])
	return n, err == nil
}

func (c *Content) look(s string, order edtf.Order) {
	digits, letters := 0, 0
	for _, r := range s {
		switch {
		case unicode.IsDigit(r):
			digits++
		case unicode.IsLetter(r):
			letters++
		}
	}
	if digits == 0 && letters > 0 {
		c.Words++
	}
	if number, is := plainNumber(s); is {
		c.lookNumber(s, number)
		return
	}
	switch strings.ToLower(s) {
	case "yes", "no", "y", "n", "x", "ja", "nein", "nee", "oui", "non", "nej", "nei", "tak", "nie", "true", "false":
		c.Answers++
	}
	if isPicture(s) {
		c.Pictures++
	}
	if strings.Contains(s, "://") {
		c.Links++
	}
	if HasTitle(s) {
		c.Titles++
	}
	if digits > 0 {
		c.lookFigures(s, digits, order)
	} else if m, ok := vocabulary.Get("material").Match(s); ok && m.Code != "" {
		c.Materials++
	}
	if m, ok := vocabulary.Get("object-class").Match(s); ok && m.Code != "" {
		c.Classes++
	}
	if m, ok := vocabulary.Get("condition-state").Match(s); ok && m.Code != "" {
		c.States++
	}
	if len(s) < 60 {
		if r, err := edtf.NormaliseDating(s, edtf.Options{}); err == nil && r.Absent == "" {
			c.Ages++
		}
	}
}

func (c *Content) lookNumber(s string, number float64) {
	c.Numbers++
	c.Measures++
	whole := !strings.ContainsAny(s, ".,")
	switch {
	case whole && number >= 1 && number < 1000:
		if c.Counts++; number > 40 && number < 100 {
			c.Large++
		}
	case whole && number >= 1000 && number < 2100:
		c.Years++
		if number >= 1970 {
			c.NewYears++
		}
	}
	if !whole && number >= -180 && number <= 180 && decimals(s) >= 3 {
		c.Degrees++
	}
	zoned := number >= 28e6 && number < 39e6 // an easting with its zone in front
	if zoned || number >= 10_000 && number < 10_000_000 || number >= 10 && number < 1000 && !whole && decimals(s) == 3 {
		c.Metres++ // 203.115 is 203115 with its thousands marked off, or as many kilometres
	}
	if clockPoint().MatchString(s) {
		c.Points++
	}
}

// lookFigures looks at a text with figures in it that is no bare number.
func (c *Content) lookFigures(s string, digits int, order edtf.Order) {
	if coordinate.FromLink(s) != "" {
		c.Places++
		return
	}
	if len(s) < 80 {
		// S-01 could name a square of ten kilometres, and 12/5 a degree; people write neither for a spot.
		if r, err := coordinate.Normalise(s, coordinate.Options{}); err == nil && r.Absent == "" && r.Square <= 100 &&
			r.Uncertainty < 2500 {
			c.Places++
			return
		}
	}
	if m := barePair().FindStringSubmatch(s); m != nil && len(m[1]) == len(m[2]) {
		c.Pairs++
		return
	} else if metrePair().MatchString(s) {
		c.Pairs, c.Metres = c.Pairs+1, c.Metres+1
		return
	} else if oneAxis().MatchString(s) && digits >= 5 {
		c.Metres++
		return
	}
	if spot, _ := coordinate.Leading(s); spot != "" {
		c.Places++
		return
	}
	if strings.ContainsAny(s, "°") {
		c.Degrees++
		return
	}
	if _, err := edtf.ParseTime(s); err == nil && strings.Contains(s, ":") && len(s) <= 8 {
		c.Clocks++
		return
	}
	if c.lookDay(s, order) {
		return
	}
	if r, err := quantity.NormaliseLength(s, quantity.Options{}); err == nil && r.Absent == "" {
		c.Lengths++
		c.Measures++
	} else if r, err := quantity.NormaliseMass(s, quantity.Options{}); err == nil && r.Absent == "" {
		c.Masses++
		c.Measures++
	} else if r, err := quantity.NormaliseLength(s, quantity.Options{Default: quantity.CM}); err == nil && r.Absent == "" {
		c.Measures++
	}
}

// lookDay counts a day or a moment, and reports whether the text is one.
func (c *Content) lookDay(s string, order edtf.Order) bool {
	if order == edtf.OrderUnknown {
		order = edtf.DayMonthYear
	}
	for _, o := range [...]edtf.Order{order, edtf.MonthDayYear} {
		if r, err := edtf.NormaliseFound(s, edtf.Options{Order: o, Pivot: 1950}); err == nil && r.Absent == "" {
			if c.Days++; r.Time != "" {
				c.Moments++
			}
			return true
		}
	}
	r, err := edtf.NormaliseFound(s+" 2001", edtf.Options{Order: order}) // Apr 9, without its year
	if err != nil || len(r.Date.String()) != len("2001-04-09") || !strings.ContainsFunc(s, unicode.IsLetter) {
		return false
	}
	c.Days++
	return true
}

// metres are an easting or northing, with its thousands parted or not.
const metres = `(?:[0-9]{1,3}(?:['’ \x{a0}\x{202f}][0-9]{3}){1,2}|[0-9]{5,8})(?:[.,][0-9]{1,3})?`

var (
	barePair   = text.Pattern(`^([0-9]{3,5})[ ,/]+([0-9]{3,5})$`)
	metrePair  = text.Pattern(`^(?:\pL[:=.]?\s*)?(` + metres + `)[\s,;/]+(?:\pL[:=.]?\s*)?(` + metres + `)$`)
	oneAxis    = text.Pattern(`^(?:\pL[:=.]?\s*)?[0-9]{1,3}(?:['’ \x{a0}\x{202f}][0-9]{3})+(?:[.,][0-9]{1,3})?$`)
	clockPoint = text.Pattern(`^(?:[01]?[0-9]|2[0-3])[.][0-5][0-9]$`)
)

// MetrePair takes apart two numbers of metres in one cell.
func MetrePair(s string) (one, two string, ok bool) {
	m := metrePair().FindStringSubmatch(strings.TrimSpace(s))
	if m == nil {
		return "", "", false
	}
	return m[1], m[2], true
}

func decimals(s string) int {
	at := strings.LastIndexAny(s, ".,")
	return len(s) - at - 1
}

func plainNumber(s string) (float64, bool) {
	if s[0] != '-' && s[0] != '+' && s[0] != '.' && s[0]-'0' > 9 {
		return 0, false
	}
	n, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	return n, err == nil
}

var pictureEndings = []string{".jpg", ".jpeg", ".png", ".heic", ".tif", ".tiff", ".gif", ".webp", ".bmp", ".dng"}

func isPicture(s string) bool {
	s = strings.ToLower(s)
	for _, ending := range pictureEndings {
		if strings.Contains(s, ending) {
			return true
		}
	}
	return slices.Contains(pictureEndings, path.Ext(s))
}

// HasTitle reports whether a text begins as a person is spoken of. Common practice, no source.
func HasTitle(s string) bool {
	word, rest, _ := strings.Cut(strings.ToLower(s), " ")
	if isArticle(word) {
		word, rest, _ = strings.Cut(rest, " ") // the Misses L.
	}
	_, ok := lexicon.In("title")[strings.TrimRight(word, ".")]
	return ok && rest != ""
}

// FinderIn returns the name behind words for who found something: Finder: Wren; hittad av Sländan. Without a colon
// there are at least two such words, or in a title one long one; and the name has a capital or a figure. Common
// practice, no source.
func FinderIn(text string, title bool) string {
	label, name, ok := strings.Cut(text, ":")
	words := strings.Fields(text)
	for n := min(4, len(words)-1); n > 0 && !ok; n-- {
		label, name = strings.Join(words[:n], " "), strings.Join(words[n:], " ")
		first, _ := utf8.DecodeRuneInString(name)
		ok = (n > 1 || title && len(label) > 4) && len(words) <= n+2 && Understand(label).Field == "finder" &&
			(unicode.IsUpper(first) || strings.ContainsAny(name, "0123456789-_"))
	}
	name = strings.TrimRight(strings.TrimSpace(name), ".")
	first, _ := utf8.DecodeRuneInString(name)
	if parts := strings.Fields(name); !ok || len(parts) == 0 || len(parts) > 4 || len(label) > 30 ||
		!unicode.IsLetter(first) ||
		strings.ContainsAny(name, "?!,;/&+=") || Understand(label).Field != "finder" || isArticle(parts[0]) ||
		slices.ContainsFunc(parts, func(w string) bool {
			return lexicon.Says("and", strings.ToLower(w)) || RowWord("land", w)
		}) {
		return ""
	}
	if _, absent := vocabulary.Absent(name); absent {
		return ""
	}
	return name
}

// EndsInLand reports whether a word is joined of others, the last of which is one for land: Mühlacker.
func EndsInLand(text string) bool {
	word := Fold(text)
	for land := range RowWords("land") {
		if len(land) >= 4 && len(word) > len(land)+2 && strings.HasSuffix(word, land) {
			return true
		}
	}
	return false
}

func isArticle(word string) bool { return lexicon.Says("article", word) || lexicon.Says("the", word) }

// most reports whether at least so many hundredths of the cells are of a sort.
func (c *Content) most(n, percent int) bool { return c.Cells > 0 && n*100 >= c.Cells*percent }

// Fits tells how well the cells agree with a field: 1 where they show it, -1 where they speak against
// it, 0 where they say nothing. One or two cells may be slips, and speak against nothing.
func (c *Content) Fits(field string) int {
	if c.Cells == 0 {
		return 0
	}
	fits := c.fits(field)
	if fits < 0 && c.Cells < 3 && !(place(field) && c.Titles == c.Cells) {
		return 0
	}
	return fits
}

func (c *Content) fits(field string) int {
	yes := func(ok bool) int {
		if ok {
			return 1
		}
		return 0
	}
	against := func(bad, good bool) int {
		if bad {
			return -1
		}
		return yes(good)
	}
	days := c.most(c.Days, 60)
	// 8-9 becomes a day in many a spreadsheet
	if field == "depth" || field == "count" || strings.HasPrefix(field, "dimensions") {
		days = days && c.Measures == 0
	}
	elsewhere := days || c.most(c.Places+c.Pairs, 50) || c.most(c.Pictures+c.Links, 50) || c.most(c.Clocks, 60)
	figures := c.Measures + c.Counts
	switch field {
	case "found.date", "found.verbatim", "recorded.at", "notified.1.on":
		return against(c.most(c.Places+c.Pictures+c.Titles+c.Degrees+c.Masses, 40) || c.most(c.Materials, 60) ||
			c.most(c.Numbers, 70) && c.NewYears < c.Cells/2 && !c.serials() || c.Days == 0 && c.Ages == 0 && c.most(c.Words,
			90) && c.Cells > 2,
			c.most(c.Days, 50))
	case "found.time":
		clocks := c.most(c.Clocks+c.Points, 60)
		return against(!clocks && (c.most(c.Numbers, 60) && !c.most(c.Degrees, 1) && c.Clocks == 0 || elsewhere), clocks)
	case "dating.verbatim", "dating.date":
		return against(c.most(c.Places+c.Pictures, 40) || c.most(c.Counts+c.Measures-c.Years, 60) && c.Ages == 0,
			c.most(c.Ages+c.Years-c.NewYears, 50))
	case "dating.from", "dating.to":
		return against(elsewhere, c.most(c.Years+c.Ages, 60))
	case "depth", "otherDepths.1", DepthFrom, DepthTo:
		return against(elsewhere || c.most(c.Masses, 40) || c.most(c.Materials, 50) || c.most(c.Words, 95) && c.Cells > 3 &&
			figures == 0 && c.Classes > c.Cells/2, c.most(c.Measures, 40))
	case "dimensions.length", "dimensions.width", "dimensions.height", "dimensions.thickness", "dimensions.diameter", Size:
		return against(elsewhere || c.most(c.Masses, 40) || c.most(c.Degrees, 60) && field != Size, c.most(c.Measures, 40))
	case "weight":
		return against(elsewhere || c.most(c.Lengths, 50) || c.most(c.Words, 90) && figures == 0,
			c.most(c.Measures, 40))
	case "count":
		return against(elsewhere || c.most(c.Materials, 50) || c.most(c.Masses+c.Lengths, 50) || c.most(c.Degrees+c.Metres,
			50), c.most(c.Counts, 40))
	case "position.latitude", "position.longitude":
		return against(c.most(c.Words, 60) || c.most(c.Numbers-c.Degrees, 60) && c.most(c.Counts+c.Metres+c.Years, 60) ||
			c.most(c.Days, 50), c.most(c.Degrees, 50))
	case Easting, Northing:
		return against(!c.most(c.Metres+c.Years+c.Degrees, 30), c.most(c.Metres+c.Degrees, 50))
	case "position.verbatim":
		return against(c.most(c.Days, 50) || c.most(c.Materials, 60) || c.most(c.Pictures, 50) || c.most(c.Titles, 30),
			c.most(c.Places+c.Pairs, 30))
	case "position.uncertainty":
		return against(!c.most(c.Measures, 40), true)
	}
	return c.fitsWords(field, elsewhere)
}

func (c *Content) fitsWords(field string, elsewhere bool) int {
	vote := func(bad, good bool) int {
		switch {
		case bad:
			return -1
		case good:
			return 1
		}
		return 0
	}
	switch field {
	case "media.1.file", "media.2.file":
		return vote(c.most(c.Days, 50) || c.most(c.Answers, 50) || c.most(c.Materials, 60), c.most(c.Pictures+c.Links, 30))
	case "materials.1", "materials.2":
		return vote(elsewhere || c.most(c.Measures, 60) || c.most(c.Titles, 30), c.most(c.Materials, 40))
	case "number":
		return vote(c.few() || c.most(c.Pairs, 60) || c.most(c.Degrees+c.Metres, 80) && !c.Rising ||
			c.most(c.Pictures, 50) || c.most(c.Places, 50) && !c.Rising || // M000123 could be a square of Ireland
			c.most(c.Words, 90) && c.Cells > 2 && !c.Rising, c.Rising || c.Restarts)
	case "id":
		return vote(c.most(c.Words, 90), false)
	case "name":
		return vote(elsewhere || c.Rising || c.most(c.Numbers, 60) || c.most(c.Titles, 50) || c.most(c.Measures, 70),
			c.most(c.Words, 50))
	case "signal.reading":
		return vote(elsewhere, c.most(c.Numbers, 60))
	case "finder":
		return vote(elsewhere || c.most(c.Measures, 50) || c.most(c.Materials, 60),
			c.most(c.Words, 50) && c.Distinct*2 <= c.Cells)
	case LandGiver:
		return vote(elsewhere || c.most(c.Measures, 50), c.most(c.Titles, 30))
	case "permission", "place.name", "place.parish", "place.region", "place.country":
		return vote(elsewhere || c.most(c.Titles, 30) || c.most(c.Materials, 60) || c.most(c.Numbers, 60) &&
			field != "permission", c.most(c.Words, 50))
	case "objectClass":
		return vote(elsewhere || c.most(c.Numbers, 60), c.most(c.Classes, 50))
	case "condition.state":
		return vote(elsewhere || c.States == 0 && c.Cells > 1 && c.most(c.Words, 90), c.most(c.States, 30))
	case "cleaning", "disposition":
		return vote(elsewhere, false)
	case TripHours:
		return vote(elsewhere && !c.most(c.Clocks, 60), c.most(c.Measures, 50))
	}
	return 0
}

// few reports whether the cells are small numbers that come again and again, as of things, not of bags.
func (c *Content) few() bool {
	return c.Cells >= 4 && c.most(c.Counts, 80) && c.Distinct*2 <= c.Cells && !c.Restarts
}

// serials reports whether the numbers may be days of a spreadsheet from 1970 on.
func (c *Content) serials() bool { return c.most(c.Metres+c.Days, 80) }

// Guess tells which field the cells alone show, with no heading to say so; empty where they show none
// beyond doubt.
func (c *Content) Guess() string {
	switch {
	case c.Cells < 2:
		return ""
	case c.most(c.Places, 70), c.most(min(c.Pairs, c.Metres), 70):
		return "position.verbatim"
	case c.most(c.Pictures, 70):
		return "media.1.file"
	case c.most(c.Days, 80):
		return "found.date"
	case c.Rising:
		return "number"
	case c.most(c.Materials, 75):
		return "materials.1"
	case c.most(c.Masses, 75):
		return "weight"
	}
	return ""
}

// GuessAlone tells which field the cells show where a sheet has no headings at all, and a slip is asked about.
func (c *Content) GuessAlone() string {
	if g := c.Guess(); g != "" {
		return g
	}
	switch {
	case c.Cells < 2:
		return ""
	case c.most(c.Lengths, 60):
		return "depth"
	case c.most(c.Degrees, 80):
		return "position.latitude"
	case c.most(c.Counts, 100) && c.Distinct == c.Cells:
		return "number"
	}
	return ""
}

// isOfAnother reports whether the first reading of a heading is a label of another language than that of the log, which
// has a reading of its own: Land is a country in German, and a field in an English log.
func isOfAnother(list []Meaning, heading, language string) bool {
	return language != "" && Fold(known().labels[list[0].Field][language]) != Fold(heading) &&
		slices.ContainsFunc(list, func(m Meaning) bool { return m.Language == language })
}

// Choose tells what a column is, by its heading and by what stands below it. Language is that of the
// other headings, if it is known. Known reports whether the heading is understood, if only as something
// that has no field.
func Choose(heading string, c Content, language string) (m Meaning, known bool) {
	list := All(heading)
	m, _, _ = begin(heading)
	if len(list) > 0 && (list[0].Keep != "" || list[0].Taken == TakenKey) {
		return list[0], true
	}
	if len(list) > 0 && list[0].exact && c.Fits(list[0].Field) >= 0 && !isOfAnother(list, heading, language) {
		return list[0], true
	}
	slices.SortStableFunc(list, func(a, b Meaning) int { return rank(a, language) - rank(b, language) })
	best, bestVote := -1, -1
	machine := slices.ContainsFunc(list, func(m Meaning) bool { return m.Field == TripModel })
	for i := range list {
		if best >= 0 && list[i].phrases > list[best].phrases && !list[i].show {
			continue // longer phrases say more than the words that they are made of
		}
		vote := c.Fits(list[i].Field)
		switch {
		case list[i].show && list[i].Basis == "signal-guess" && c.most(c.Large, 50) && c.Lengths == 0,
			machine && (list[i].Basis == "signal-guess" || list[i].Field == "signal.reading") && !c.most(c.Lengths, 40):
			continue // 74, 88: the number that it shows; or which machine it was, by its number
		case list[i].show && list[i].Field == "count" && language != "" && language != "en":
			continue // Nr, Lp. and No. count nothing outside English
		case list[i].show && (vote <= 0 || list[i].Field == "count" && bestVote >= 0 && !c.few()):
			continue
		case rank(list[i], language) == 2 && (vote <= 0 || place(list[i].Field) || list[i].Field == "name"):
			continue // a word of another language, in a sheet whose language is known
		case place(list[i].Field) && rank(list[i], language) == 1 && list[0].Field == "finder" &&
			rank(list[0], language) == 0:
			continue // By is who found it in English, and a village in two languages
		case rank(list[i], language) == 2 && best >= 0 && rank(list[best], language) < 2:
			continue // Tag is a label in English, and no day
		}
		if vote > bestVote {
			if best >= 0 && language != "" && rank(list[i], language) > rank(list[best], language) && vote == 0 {
				continue
			}
			best, bestVote = i, vote
		}
	}
	if best >= 0 {
		return list[best], true
	}
	// what the words say is not what stands there: where, above grid references
	if len(list) > 0 && place(list[0].Field) && c.most(c.Places, 50) {
		m.Field, m.Taken = "position.verbatim", TakenCells
		return m, true
	}
	if slices.ContainsFunc(list, func(m Meaning) bool { return rank(m, language) < 2 }) {
		if list[0].Field == "name" && c.Guess() == "number" {
			m.Field, m.Taken = "number", TakenCells
			return m, true
		}
		if c.most(c.Titles, 30) && place(list[0].Field) {
			m.Field, m.Taken = LandGiver, TakenCells
		}
		return m, true
	}
	return m, WordsKnown(heading) && saysMuch(heading)
}

// saysMuch reports whether a heading has a word of some length outside its brackets: T (cm), Af and van are known
// words, and yet nobody is told by them what stands below.
func saysMuch(heading string) bool {
	outer, _ := cutBrackets(heading)
	return slices.ContainsFunc(wordsOf(outer), func(word string) bool { return utf8.RuneCountInString(word) > 3 })
}

func place(field string) bool {
	return field == "permission" || strings.HasPrefix(field, "place.")
}

// rank puts the meanings in the language of the sheet first, and those that the cells must show last.
func rank(m Meaning, language string) int {
	if m.show {
		return 3
	}
	if language == "" {
		return 0
	}
	switch m.Language {
	case language:
		return 0
	case "":
		return 1
	}
	return 2
}
