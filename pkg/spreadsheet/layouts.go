package spreadsheet

import (
	"cmp"
	"encoding/json"
	"maps"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
)

// makeLayouts says where each field stands, for each find of a row.
func (t *tablePlan) makeLayouts(o Options) {
	hints := find.Hints{Order: t.order.String()}
	if o.Supplied && t.proven == (edtf.Evidence{}) && t.order == o.Order {
		hints.Order = "" // the normaliser has it, and marks what is read by it
	}
	if m := o.Map; m != nil {
		hints.Unit, hints.Pivot, hints.System = m.Unit, m.Pivot, m.System
		hints.Order = cmp.Or(m.DateOrder, hints.Order)
	}
	if code := t.systemOfPosition(); code != "" {
		hints.System = code
	} else if hints.System == "" {
		hints.System = cmp.Or(t.systemByRange(), o.cover)
	}
	century := t.century()
	t.layout, t.numbered = nil, t.numbersThings()
	for group := 1; group <= t.groups; group++ {
		l := &find.Layout{Sheet: t.plan.sheet.Name, Hints: hints}
		for _, c := range t.columns {
			if c.group == 0 || c.group == group {
				of := c.Hints
				if century > 0 && of.Pivot == 0 && hints.Pivot == 0 && c.Field == "found.date" {
					of.Pivot = century
				}
				at := c.column
				if t.plan.listed {
					at = 0 // of no column of the file
				}
				l.Columns = append(l.Columns, find.LayoutColumn{Column: at, Heading: c.heading, Pointers: t.pointersOf(c),
					Hints: of, Unseen: slices.Contains(t.plan.layout.HiddenColumns, c.column)})
			}
		}
		t.layout = append(t.layout, l)
	}
}

// century tells what two-digit years mean in a table whose other days have four, all of one generation:
// the first year of the hundred that has them. 0 where nothing shows it.
func (t *tablePlan) century() int {
	first, last, n := 0, 0, 0
	for _, c := range t.columns {
		if c.Field != "found.date" {
			continue
		}
		for _, s := range c.samples {
			if y := yearOf(s); y >= 1950 {
				if n++; first == 0 || y < first {
					first = y
				}
				last = max(last, y)
			}
		}
	}
	switch {
	case t.plan.own:
		return 0
	case n < 2 || last-first > 40:
		return firstOfHobby
	}
	return last - 70
}

// firstOfHobby is the first year in which people who keep such logs searched: days of finding of two figures
// are of the hundred years from then on. Common practice, no source.
const firstOfHobby = 1970

var utmZone = text.Pattern(`(?i)\butm[\s,-]*(?:zone\s*)?([0-9]{2})`)

var asNumber = strings.NewReplacer(" ", "", "'", "", "’", "", ",", ".")

// pointersOf returns the pointers that a column feeds.
func (t *tablePlan) pointersOf(c *column) []string {
	switch c.Field {
	case "id":
		if t.field("number") == nil {
			return []string{"/id", "/number"}
		}
	case "":
		return []string{"/columns/" + notice.Escape(c.keep())}
	case heading.DepthFrom, heading.DepthTo:
		return []string{"/depth"}
	case heading.DatingFrom, heading.DatingTo:
		return []string{"/dating/verbatim", "/dating/date", "/dating"}
	case "dating.verbatim":
		if t.field(heading.DatingFrom) != nil || t.field(heading.DatingTo) != nil {
			return []string{"/dating/period"}
		}
	case heading.Size:
		return []string{"/dimensions/length", "/dimensions/width", "/dimensions/height", "/dimensions"}
	case "otherDepths.1":
		if t.field("depth") == nil && t.field(heading.DepthTo) == nil {
			return []string{"/depth", "/otherDepths/0"}
		}
	case heading.LandGiver, heading.LandPaper, heading.LandBasis, heading.LandFrom, heading.LandTo, heading.Consent,
		heading.TripModel, heading.TripCoil, heading.TripSetting, heading.TripHours, heading.TripRubbish:
		return []string{"/columns/" + notice.Escape(c.heading)}
	}
	return intake.PointersOf(c.Field)
}

// isKnown reports whether a word, in lower case, is one of those of the lexicon that have a letter beyond a to z: by
// them the encoding of a text is told.
func isKnown(word string) bool { return knownWords()[word] }

var knownWords = sync.OnceValue(func() map[string]bool {
	known := map[string]bool{}
	add := func(form string) {
		for word := range strings.FieldsFuncSeq(form, func(r rune) bool { return !unicode.IsLetter(r) }) {
			if strings.IndexFunc(word, func(r rune) bool { return r > unicode.MaxASCII }) >= 0 {
				known[strings.ToLower(word)] = true
			}
		}
	}
	for _, l := range lexicon.Languages() {
		for _, entries := range l.Words {
			for _, e := range entries {
				for _, form := range e.Forms {
					add(form)
				}
			}
		}
		var headings map[string][]string
		if json.Unmarshal(l.Headings, &headings) == nil {
			for _, forms := range headings {
				for _, form := range forms {
					add(form)
				}
			}
		}
	}
	return known
})

var partOfSheet = sync.OnceValue(func() map[string]string {
	out := map[string]string{}
	for part, names := range lexicon.Forms("sheet") {
		for _, name := range names {
			out[find.FoldName(name)] = part
		}
	}
	return out
})

// sheetRole tells what a sheet holds by its name, and of a sheet of people which part they play.
func sheetRole(name string) (part, role string) {
	switch part := partOfSheet()[find.FoldName(name)]; part {
	case "finder", "landowner", "occupier":
		return "people", part
	default:
		return part, ""
	}
}

// headless takes the columns of a sheet without headings for what stands in them: days, references of a grid,
// running numbers, lengths and weights with their units, materials; of the columns of words, the one with the
// most different ones has the names. Without a name and two more of these nothing is taken: it may be any list.
func (t *tablePlan) headless(claimed map[claim]*column) {
	taken := map[string]*column{}
	var name *column
	for i, c := range t.columns {
		field := c.content.GuessAlone()
		switch {
		case field == "position.latitude" && taken[field] != nil && t.columns[i-1] == taken[field]:
			field = "position.longitude"
		case field == "number" && i > 1:
			field = ""
		}
		if field != "" && taken[field] == nil {
			taken[field] = c
		} else if field == "" && c.content.Cells >= 2 && c.content.Words*10 >= c.content.Cells*5 &&
			(name == nil || c.content.Distinct > name.content.Distinct) {
			name = c
		}
	}
	if (taken["position.latitude"] == nil) != (taken["position.longitude"] == nil) {
		delete(taken, "position.latitude")
	}
	if name == nil || len(taken) < 2 {
		return
	}
	taken["name"] = name
	for field, c := range taken {
		if claimed[claim{field, 0}] == nil && c.Field == "" {
			c.Field, c.Taken = field, heading.TakenCells
			claimed[claim{field, 0}] = c
		}
	}
}

// sideNames are the meanings of the word class side, each with its member.
var sideNames = [...]struct {
	name   string
	member func(*find.Dimensions) **find.Quantity
}{
	{"length", func(d *find.Dimensions) **find.Quantity { return &d.Length }},
	{"width", func(d *find.Dimensions) **find.Quantity { return &d.Width }},
	{"height", func(d *find.Dimensions) **find.Quantity { return &d.Height }},
	{"thickness", func(d *find.Dimensions) **find.Quantity { return &d.Thickness }},
	{"diameter", func(d *find.Dimensions) **find.Quantity { return &d.Diameter }},
}

// sideOf returns the place of a word in sideNames, or -1.
func sideOf(word string) int {
	word = strings.TrimRight(word, ".:=")
	if len(word) > 1 && strings.Trim(word, "\u00d8\u00f8\u2300\u2205") == "" { // the signs of a diameter
		return len(sideNames) - 1
	}
	for i := range sideNames {
		if lexicon.Means("side", sideNames[i].name, word) {
			return i
		}
	}
	return -1
}

// sidesOf fills the sides that a size names itself, before its figures or behind them: dia 24 mm, 24 mm wide,
// L 40mm W 12mm Th 3mm. It returns false, and fills nothing, where a piece of the text is neither.
func sidesOf(text string, d *find.Dimensions) bool {
	var texts [len(sideNames)]string
	side, measure, sides, before := -1, "", 0, false
	take := func() bool {
		if side < 0 || measure == "" || texts[side] != "" {
			return false
		}
		texts[side] = measure
		side, measure = -1, ""
		return true
	}
	for _, word := range sizeWords(text) {
		next := sideOf(word)
		switch {
		case next < 0 && (word == "x" || word == "×" || word == "*" || word == "," || word == ";"):
			continue
		case next < 0:
			if measure = strings.TrimSpace(measure + " " + word); !before && side >= 0 {
				return false
			}
			continue
		case sides == 0:
			before = measure == ""
		case before && !take():
			return false
		}
		sides++
		side = next
		if !before && !take() {
			return false
		}
	}
	if sides == 0 || before && !take() || measure != "" {
		return false
	}
	for i, s := range texts {
		if s == "" {
			continue
		}
		if _, err := quantity.NormaliseLength(s, quantity.Options{Default: quantity.MM}); err != nil {
			return false
		}
		*sideNames[i].member(d) = &find.Quantity{Verbatim: s}
	}
	return true
}

// sizeWords cuts a size at its blanks, and between a letter and the figure behind it: L40mm.
func sizeWords(text string) []string {
	var out []string
	for _, word := range strings.Fields(strings.NewReplacer(", ", " , ", ";", " ; ").Replace(text)) {
		at := strings.IndexFunc(word, unicode.IsDigit)
		if at > 0 && sideOf(word[:at]) >= 0 {
			out = append(out, word[:at])
			word = word[at:]
		}
		out = append(out, word)
	}
	return out
}

var (
	numberBehind = text.Pattern(`^(.*\pL)[\s._#-]*([1-9][0-9]?)(\s*[(\[].*)?$`)
	numberBefore = sync.OnceValue(func() *regexp.Regexp {
		endings := slices.Collect(maps.Keys(lexicon.In("ordinal-ending")))
		return regexp.MustCompile(`^([1-9][0-9]?)(?:(?:` + strings.Join(endings, "|") + `)\b|\.|:)?\s*(\pL.*)$`)
	})
)

// grouped finds several finds in a row: find 1, depth 1, find 2, depth 2. It returns the headings without
// those numbers, and gives each column its group.
func (t *tablePlan) grouped() []string {
	bases := make([]string, len(t.columns))
	numbers := make([]int, len(t.columns))
	names := map[int]bool{}
	isName := func(i int, base string) bool {
		m, _ := heading.Choose(base, t.columns[i].content, t.language)
		return m.Field == "name"
	}
	for i, c := range t.columns {
		bases[i] = c.heading
		if m := numberBehind().FindStringSubmatch(c.heading); m != nil {
			bases[i], numbers[i] = m[1]+m[3], atoi(m[2])
		} else if m := numberBefore().FindStringSubmatch(c.heading); m != nil {
			bases[i], numbers[i] = m[2], atoi(m[1])
		}
		if numbers[i] > 0 && isName(i, bases[i]) {
			names[numbers[i]] = true
		}
	}
	if len(names) < 2 {
		if t.abreast(isName) {
			return bases
		}
		return t.repeated(isName)
	}
	for i, c := range t.columns {
		if names[numbers[i]] {
			c.group = numbers[i]
			t.groups = max(t.groups, c.group)
		} else {
			bases[i] = c.heading
		}
	}
	return bases
}

// third takes a third row of headings, in which headings with their units, and units alone, stand below two others.
func (h *headRows) third(row grid.Row) {
	cells, both := slices.Clone(h.cells), false
	if row.Number != h.rows[1]+1 || !allWords(row) {
		return
	}
	for _, c := range row.Cells {
		text := strings.TrimSpace(c.Text)
		unit := isUnitWord(text)
		if text == "" {
			continue
		}
		if !unit && !(heading.IsField(text) && strings.HasSuffix(text, ")")) {
			return
		}
		both = both || !unit
		at, found := slices.BinarySearchFunc(cells, c.Column, func(c grid.Cell, n int) int { return c.Column - n })
		if !found {
			cells = slices.Insert(cells, at, c)
			continue
		}
		cells[at].Kind = grid.Text
		cells[at].Text, _ = join(strings.TrimSpace(cells[at].Text), text)
	}
	if both {
		h.at, h.rows, h.cells = h.at+1, append(h.rows, row.Number), cells
	}
}

// abreast finds tables side by side, an empty column between them: each has a column of names, whose heading comes
// again or stands beside one of numbers. Each has its own columns, whatever their order, and nothing is of the whole
// row.
func (t *tablePlan) abreast(isName func(int, string) bool) bool {
	type block struct {
		name   string
		number bool
	}
	var blocks []block
	groups := make([]int, len(t.columns))
	for i, c := range t.columns {
		if i == 0 || c.column > t.columns[i-1].column+1 {
			blocks = append(blocks, block{})
		}
		b := &blocks[len(blocks)-1]
		m, _ := heading.Choose(c.heading, c.content, t.language)
		b.number = b.number || m.Field == "number"
		if b.name == "" && isName(i, c.heading) {
			b.name = c.folded
		}
		groups[i] = len(blocks)
	}
	table, first, of := make([]int, len(blocks)), -1, 0
	for i, b := range blocks {
		if b.name != "" && (first < 0 || b.name == blocks[first].name || b.number && blocks[first].number) {
			if of++; first < 0 {
				first = i
			}
		}
		table[i] = max(of, 1)
	}
	if of < 2 {
		return false
	}
	for i, c := range t.columns {
		c.group = table[groups[i]-1]
	}
	t.groups = of
	return true
}

// alike finds two tables side by side, an empty column between them and as many columns on each side, of which one has
// headings in words that nobody knows: what stands below them is of the same sorts in the same order.
func (t *tablePlan) alike(bases []string) []string {
	n := len(t.columns) / 2
	if n < 3 || len(t.columns) != 2*n || t.columns[n].column < t.columns[n-1].column+2 {
		return bases
	}
	for i, c := range t.columns[1:] {
		if i+1 != n && c.column > t.columns[i].column+1 {
			return bases
		}
	}
	full, other := t.columns[:n], t.columns[n:]
	understood := func(side []*column) (out int) {
		for _, c := range side {
			if heading.IsField(c.heading) {
				out++
			}
		}
		return out
	}
	if understood(other) > understood(full) {
		full, other = other, full
	}
	fits, name := 0, false
	for i, c := range full {
		m, _ := heading.Choose(c.heading, c.content, t.language)
		vote := other[i].content.Fits(m.Field)
		if vote < 0 || m.Field == "" {
			return bases
		}
		fits += vote
		name = name || m.Field == "name"
	}
	if !name || fits < 2 || understood(full) < n {
		return bases
	}
	for i, c := range t.columns {
		bases[i], c.group = full[i%n].heading, 1+i/n
	}
	t.groups = 2
	return bases
}

// ofOne reports whether a field says what one thing is like, and not where and when a row of them was found.
func ofOne(field string) bool {
	list, _, _ := strings.Cut(field, ".")
	return slices.Contains([]string{"depth", "weight", "materials", "count", "dimensions", "number", "position", "media",
		"otherDepths", "objectClass", "description"}, list) || field == heading.Size
}

// repeated finds groups of columns whose headings come again word for word: find, depth, find, depth. What
// stands before the name and comes again before its repetition, a number and a day, is of the group too: two
// tables side by side.
func (t *tablePlan) repeated(isName func(int, string) bool) []string {
	bases := make([]string, len(t.columns))
	first := map[string]int{}
	start, of, before, name := -1, 0, 0, ""
	for i, c := range t.columns {
		bases[i] = c.heading
		if j, again := first[c.folded]; again && c.folded != "" && start < 0 && isName(i, c.heading) && isName(j, c.heading) {
			start, of, name = j, j, c.folded
			for k := i - 1; k > j; k-- {
				f, comes := first[t.columns[k].folded]
				if !comes || f >= j {
					break
				}
				start, before = min(start, f), before+1
			}
		} else if !again {
			first[c.folded] = i
		}
	}
	if start < 0 {
		return t.alike(bases)
	}
	group := 1
	for i, c := range t.columns[start:] {
		if at := start + i + before; at > of && at < len(t.columns) && t.columns[at].folded == name {
			group++
		}
		c.group = group
	}
	// What stands behind the last group and comes once is of the whole row, unless it is what one thing is like.
	for i := len(t.columns) - 1; i > start; i-- {
		c := t.columns[i]
		m, _ := heading.Choose(c.heading, c.content, t.language)
		if j, ok := first[c.folded]; ok && t.columns[j] != c || c.folded == name || ofOne(m.Field) {
			break
		}
		c.group = 0
	}
	t.groups = group
	return bases
}
