package spreadsheet

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// meaningOf tells what a heading means, with what stands below it. What the grammar leaves open is looked at as two
// names of one thing, Champ / akker, and as an axis of a zone of UTM.
func meaningOf(base string, content heading.Content, language string) (heading.Meaning, bool) {
	if namesDepthToo(base) {
		return heading.Meaning{Field: "name", Taken: heading.TakenLabel}, true
	}
	m, known := heading.Choose(base, content, language)
	if of := strings.ToLower(base); min(content.Pairs, content.Metres)*10 >= max(content.Cells, 1)*6 &&
		(strings.HasPrefix(m.Field, "place.") || m.Field == "permission" ||
			m.Field == "" && strings.Contains(of, "lambert")) {
		return heading.Meaning{Field: "position.verbatim", Taken: heading.TakenLabel,
			Hints: find.Hints{System: systemIn(base)}}, true
	}
	if m.Field == "" && m.Keep == "" {
		if heading.Fold(base) == "epsg" {
			m.Field, m.Taken = "position.referenceSystem", heading.TakenLabel
			return m, true
		}
		if code := systemIn(base); code != "" && content.Fits("position.verbatim") > 0 ||
			content.Pairs*10 >= content.Cells*6 &&
				content.Metres > 0 && (code != "" || utmZone().MatchString(base)) {
			m.Field, m.Taken, m.Hints.System = "position.verbatim", heading.TakenLabel, code
			return m, true
		}
	}
	parts := strings.FieldsFunc(base, func(r rune) bool { return r == '/' || r == '|' })
	if len(parts) != 2 || m.Field != "" && m.Field != heading.LandGiver {
		return m, known
	}
	one, _ := heading.Choose(parts[0], content, language)
	two, _ := heading.Choose(parts[1], content, "")
	switch {
	case one.Field != "" && one.Field == two.Field:
	case one.Field == "permission" && two.Field == heading.LandGiver && content.Titles == 0:
	case one.Field == heading.LandGiver && two.Field == "permission" && content.Titles == 0:
		one = two
	case one.Field == "position.verbatim" && two.Field == "notes" && content.Fits(one.Field) > 0:
	case two.Field == "position.verbatim" && one.Field == "notes" && content.Fits(two.Field) > 0:
		one = two
	case one.Field == "" && two.Field != "" && isForeign(parts[0]):
		one = two
	case two.Field == "" && one.Field != "" && isForeign(parts[1]):
	default:
		return m, known
	}
	if unit := m.Hints.Unit; unit != "" {
		one.Hints.Unit = unit
	} else if one.Hints.Unit == "" {
		one.Hints.Unit = two.Hints.Unit
	}
	return one, true
}

// namesDepthToo reports whether a heading asks for a thing and its depth in one cell: Find and depth.
func namesDepthToo(text string) bool {
	one, two, ok := strings.Cut(andBetween().ReplaceAllString(strings.ReplaceAll(text, "(s)", ""), "|"), "|")
	return ok && heading.Understand(one).Field == "name" && heading.Understand(two).Field == "depth"
}

// isForeign reports whether a text is words of which reading knows nothing.
func isForeign(text string) bool {
	return strings.TrimSpace(text) != "" && !heading.WordsKnown(text) && len(heading.All(text)) == 0
}

// isUnderstood reports whether a heading, or one half of it beside words that nobody knows, is that of a field.
func isUnderstood(text string) bool {
	if m := heading.Understand(text); m.Field != "" || m.Keep != "" {
		return true
	}
	one, two, ok := strings.Cut(text, "/")
	return ok && (isForeign(one) && heading.IsField(strings.TrimSpace(two)) ||
		isForeign(two) && heading.IsField(strings.TrimSpace(one)))
}

var (
	zoneHeading = text.Pattern(`(?i)\b(?:utm|zone?|strefa)\b`)
	// no S, which may mean south
	zoneCell = text.Pattern(`(?i)^(?:utm)?[\s,-]*(?:zone\s*)?([0-9]{1,2})\s*([c-hj-np-rt-x])?$`)
)

// areZones reports whether a column of its own says the zone of UTM in which the figures of other columns lie.
func areZones(base string, samples []string) bool {
	return zoneHeading().MatchString(base) && len(samples) > 0 && !slices.ContainsFunc(samples, func(s string) bool {
		m := zoneCell().FindStringSubmatch(strings.TrimSpace(s))
		return m == nil || m[2] == "" && !strings.Contains(strings.ToLower(base), "utm")
	})
}

// systemOfZone returns the system of a zone of UTM that stands in a cell by itself: on the continent that of ETRS89,
// as systemByRange; empty where the cell is none, or does not say the half of the earth.
func (t *tablePlan) systemOfZone(text string) string {
	m := zoneCell().FindStringSubmatch(text)
	if m == nil {
		return ""
	}
	zone, european := atoi(m[1]), t.language != "" && t.language != "en"
	family := "EPSG:326"
	switch band := strings.ToLower(m[2]); {
	case european && zone >= 28 && zone <= 38 && (band == "" || band >= "n"):
		family = "EPSG:258"
	case band == "":
		return ""
	case band < "n":
		family = "EPSG:327"
	}
	s, _ := coordinate.SystemByCode(fmt.Sprintf("%s%02d", family, zone))
	return s.Code
}

// tally makes finds of a table that counts things by kind: its headings are names of things, and below them stand
// how many there were. Each such column is a find of the row.
func (t *tablePlan) tally() {
	if t.plan.own || t.groups > 1 || t.field("id") != nil || t.field("count") != nil {
		return
	}
	if name := t.field("name"); name != nil && (name.content.Counts < name.content.Cells || !namesAThing(name.heading)) {
		return
	}
	var things []*column
	for _, c := range t.columns {
		switch c.Field {
		case "", "name":
		case "outing", "permission", "found.date", "place.name", "finder", "notes", "weather", "outing.hours":
			continue
		default:
			return
		}
		look := c.content
		if c.mapped || look.Cells == 0 || look.Counts < look.Cells || !namesAThing(c.heading) {
			continue
		}
		things = append(things, c)
	}
	if len(things) < 2 {
		return
	}
	for i, c := range things {
		c.Field, c.Keep, c.Taken, c.tally, c.group = "count", "", heading.TakenLabel, true, i+1
		c.rivals = 0
	}
	t.groups = len(things)
	if when := t.field("outing"); when != nil && t.field("found.date") == nil && when.content.Fits("found.date") > 0 {
		when.Field = "found.date"
	}
}

// namesAThing reports whether a heading is a word for a sort of thing, one or several: Buttons.
func namesAThing(text string) bool { return classOf(text) != "" }

// classOf is the class of a thing by its name, in the plural too; empty for other words.
func classOf(text string) string {
	text = strings.TrimSpace(text)
	for _, form := range []string{text, strings.TrimSuffix(text, "s"), strings.TrimSuffix(text, "es"),
		strings.TrimSuffix(text, "n"), strings.TrimSuffix(text, "en"), strings.TrimSuffix(text, "er")} {
		if m, ok := vocabulary.Get("object-class").Match(form); ok && m.Code != "" {
			return m.Code
		}
	}
	return ""
}

var (
	betweenNames = text.Pattern(`\s*(?:/|&|\+|,| and | und | en | et | og | och | i )\s*`)
	joinedNames  = text.Pattern(`^\pL{2,20}(?:\s*[&+]\s*\pL{2,20}){1,3}$`)
)

// findersIn returns the finders that a cell names: two where they are single words with a sign between them, where
// one of them stands alone in another cell of the column, or where all are initials; none of a word for everybody;
// else the one that the text is.
func (c *column) findersIn(text string) []string {
	if text = strings.TrimSpace(text); heading.RowWord("everyone", text) {
		return nil
	}
	parts := betweenNames().Split(text, -1)
	if len(parts) < 2 || len(parts) > 4 {
		return []string{text}
	}
	alone, initials := 0, 0
	for _, part := range parts {
		if part == "" || len(strings.Fields(part)) > 2 {
			return []string{text}
		}
		if slices.Contains(c.samples, part) {
			alone++
		} else if len(part) <= 3 && strings.Trim(part, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == "" {
			initials++
		}
	}
	if joinedNames().MatchString(text) || alone > 0 || initials == len(parts) {
		for i := range parts {
			parts[i] = cmp.Or(c.inKey(c.key, parts[i]), parts[i])
		}
		return parts
	}
	return []string{text}
}

// finders remembers the answers for the texts of a column.
func (c *column) finders(text string) []string {
	if all, known := c.people[text]; known {
		return all
	}
	if len(c.people) == mostNamed || len(text) > longestNamed {
		return c.findersIn(text)
	}
	if c.people == nil {
		c.people = map[string][]string{}
	}
	text = strings.Clone(text)
	c.people[text] = c.findersIn(text)
	return c.people[text]
}

// hasTally reports whether the row counts things of the group of a tally.
func hasTally(c *column, cell *grid.Cell) bool {
	return c.tally && strings.Trim(cell.Text, "0 -–") != ""
}

// explained returns what a cell stands for by the key, or by the list that its column is joined to: all of it, or what
// stands before a question mark. Empty where neither says, and where the words would be no better.
func (t *tablePlan) explained(c *column, text string) string {
	if !t.isListed(c) {
		return ""
	}
	short := cmp.Or(strings.TrimSpace(strings.TrimRight(text, "?")), text)
	words := ""
	if c.list != nil {
		if words = c.list.words[find.FoldName(short)]; c.list.records {
			return ""
		}
	} else {
		words = c.inKey(t.plan.keyOf(c), short)
	}
	if words == "" || !fitsWords(c.Field, words) {
		return ""
	}
	if short != text && !namesOne(c.Field) { // BJ? is nobody else; the doubt stays under the heading
		words += " ?"
	}
	return words
}

// inKey returns what a short word stands for. Initials of people and land may have points or small letters.
func (c *column) inKey(key map[string]string, code string) (words string) {
	if words = key[code]; words != "" || !namesOne(c.Field) {
		return words
	}
	plain := func(s string) string { return strings.ToLower(strings.ReplaceAll(s, ".", "")) }
	for other, is := range key {
		if plain(other) == plain(code) {
			if words != "" && words != is {
				return ""
			}
			words = is
		}
	}
	return words
}

// absentByKey returns the reason why there is no value, where the key says so of a short word: n/w = not weighed.
func (t *tablePlan) absentByKey(c *column, text string) (reason string, ok bool) {
	if words := t.plan.keyOf(c)[text]; words != "" && c.asked() {
		return vocabulary.Absent(words)
	}
	return "", false
}

// fitsWords reports whether words of a key can be what stands in a column of a field: a depth has figures, and a
// material is no depth and no finder.
func fitsWords(field, words string) bool {
	_, material := vocabulary.Get("material").Match(words)
	figures := strings.ContainsAny(words, "0123456789")
	switch {
	case field == "name":
		return true
	case field == "depth":
		return figures || !material
	case namesOne(field), field == "condition.state":
		return !material
	}
	return !figures
}

// join leads the codes of the finds to the lists that explain them: a column whose cells stand in one. What the column
// is, its heading says, or else the list.
func (d *decoder) join() error {
	if d.own {
		return nil
	}
	lists, err := d.lists()
	if err != nil || len(lists) == 0 {
		return err
	}
	for _, p := range d.sheets {
		for _, t := range p.tables {
			for _, c := range t.columns {
				for _, l := range lists {
					if t.finds && !p.own && !c.mapped && c.list == nil && l.sheet != p.sheet {
						t.joinTo(c, l)
					}
				}
			}
		}
	}
	// A sheet of nothing but lists that are used is none of finds.
	d.sheets = slices.DeleteFunc(d.sheets, func(p *sheetPlan) bool {
		return slices.ContainsFunc(lists, func(l *codeList) bool { return l.sheet == p.sheet && l.joined })
	})
	return nil
}

func (t *tablePlan) joinTo(c *column, l *codeList) {
	hits, all, seen := 0, 0, map[string]bool{}
	for _, s := range c.samples {
		if s = strings.TrimSpace(strings.TrimRight(s, "?")); isDitto(s) || saysNothing(s) {
			continue
		}
		if all++; l.words[find.FoldName(s)] != "" {
			hits++
			seen[find.FoldName(s)] = true
		}
	}
	may := func(field string) bool {
		return slices.ContainsFunc(c.meanings(), func(m heading.Meaning) bool { return m.Field == field })
	}
	switch {
	case hits == 0 || hits*10 < all*6:
		return
	case c.Field == "" && slices.Contains(l.labels, c.folded),
		strings.HasPrefix(c.Field, "place.") && c.Field != "place.name" &&
			l.field == "permission" && len(seen) > 1 && t.field("permission") == nil:
		if !isListed(l.field) {
			return
		}
		c.Meaning = heading.Meaning{Field: l.field, Taken: heading.TakenLabel}
	case c.Field == "" && l.field == "":
		look := heading.Look(slices.Collect(maps.Values(l.words)), edtf.OrderUnknown)
		if look.Materials*10 < look.Cells*6 || t.field("materials.1") != nil {
			return
		}
		c.Meaning = heading.Meaning{Field: "materials.1", Taken: heading.TakenCells}
	case c.Field == "" && t.field(l.field) == nil && may(l.field):
		c.Meaning = heading.Meaning{Field: l.field, Taken: heading.TakenLabel}
	case c.Field == "" && t.field(l.field) == nil && !l.running && len(seen) > 1 && hits*10 >= all*8:
		c.Meaning = heading.Meaning{Field: l.field, Taken: heading.TakenCells}
	case c.Field == "name" && !l.running && (l.field == "" || l.field == "name") && hits > 1:
	case !isListed(c.Field), l.field != "" && l.field != cmp.Or(map[string]string{"place.name": "permission"}[c.Field],
		c.Field):
		return
	}
	c.list, l.joined = l, true
	c.settle()
}

// odd reports whether a text is a code like those of a list, and is not in it.
func (l *codeList) odd(text string) bool {
	key := find.FoldName(text)
	if utf8.RuneCountInString(text) > longestCode || saysNothing(text) || l.words[key] != "" ||
		l.figures != isFigures(text) {
		return false
	}
	for _, words := range l.words {
		if find.FoldName(words) == key {
			return false
		}
	}
	return true
}

func isFigures(text string) bool { return strings.Trim(text, "0123456789") == "" }

// ofLand takes columns that say by what leave a find was made, beside one of fields. Whose farm it was may be told by
// its name, where no other column has that.
func (t *tablePlan) ofLand() {
	if c := t.field(heading.LandGiver); c != nil && t.field("permission") == nil &&
		t.field("place.name") == nil && !t.plan.own {
		lands, all := map[string]bool{}, map[string]bool{}
		for _, s := range c.samples {
			if all[s] = true; isLand(s) || heading.EndsInLand(s) {
				lands[s] = true
			}
		}
		if len(lands) > 1 && len(lands)*2 >= len(all) && heading.Says("field", c.heading) && c.content.Titles == 0 {
			c.Field, c.Taken = "permission", heading.TakenCells
		}
	}
	if t.field("permission") == nil || t.plan.own {
		return
	}
	for _, c := range t.columns {
		if name := heading.OfLand(c.heading, &c.content); name != "" && (c.Field == "" || c.Field == heading.LandPaper) &&
			t.field(name) == nil {
			c.Field, c.Keep, c.Taken = name, "", heading.TakenLabel
		}
	}
}
