package spreadsheet

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
)

// open begins a table and settles what its columns are.
func (p *sheetPlan) open(h headRows, rows []grid.Row, o Options) *tablePlan {
	t := &tablePlan{plan: p, number: len(p.tables) + 1, headings: h.rows, fills: map[int]bool{}, groups: 1,
		taught: o.Headings}
	below := p.withoutKeys(rows[min(h.at+1, len(rows)):])
	cells := h.cells
	if h.none {
		below = p.withoutKeys(rows[h.at:])
		cells = lettered(below)
	}
	if t.first = rows[h.at].Number; len(h.rows) > 0 {
		t.first = h.rows[0]
	}
	p.own = p.own || hasIDs(cells, below)
	t.setColumns(cells, full(below, len(cells)), mapOf(o, p.sheet.Name, len(p.tables)))
	if len(below) > 0 && !h.none && below[0].Number == t.headingRow()+1 && t.isUnitsRow(below[0]) {
		t.takeUnits(below[0])
	}
	t.unitsOfTitles(o.front)
	t.landsAbove()
	t.order = o.Order
	if order, evidence := edtf.ProveOrder(wholeDays(t.daysOf(below))); order != edtf.OrderUnknown {
		t.order, t.proven = order, evidence
	}
	t.habits(below)
	t.repeatedWords(below)
	t.finds = t.looksLikeFinds()
	if m := mapOf(o, p.sheet.Name, len(p.tables)); m != nil && m.Read != "" {
		t.finds = m.Read == "finds"
	}
	t.makeLayouts(o)
	p.tables = append(p.tables, t)
	return t
}

// hasIDs reports whether a column of ids shows that a program wrote the table.
func hasIDs(cells []grid.Cell, below []grid.Row) bool {
	for _, c := range cells {
		if heading.Understand(c.Text).Field != "id" {
			continue
		}
		ids, other := 0, 0
		for _, s := range samplesBelow(below, c.Column) {
			if find.IsURN(s) {
				ids++
			} else {
				other++
			}
		}
		return ids > other
	}
	return false
}

// full leaves out the rows that say little of the columns: notes, sections and totals.
func full(rows []grid.Row, columns int) []grid.Row {
	if columns < 3 {
		return rows
	}
	out := make([]grid.Row, 0, min(len(rows), 2*lookAhead))
	for _, r := range rows {
		if n := filled(r); n >= 2 && len(out) < cap(out) {
			first := ""
			for _, c := range r.Cells {
				if first = strings.TrimSpace(c.Text); first != "" {
					break
				}
			}
			if !isTotalText(first) {
				out = append(out, r)
			}
		}
	}
	return out
}

// lettered makes headings of nothing for each column that has something below.
func lettered(rows []grid.Row) (out []grid.Cell) {
	seen := map[int]bool{}
	for _, r := range rows {
		for _, c := range r.Cells {
			if strings.TrimSpace(c.Text) != "" && !seen[c.Column] {
				seen[c.Column] = true
				out = append(out, grid.Cell{Column: c.Column})
			}
		}
	}
	slices.SortFunc(out, func(a, b grid.Cell) int { return a.Column - b.Column })
	return out
}

// daysOf returns the texts of the columns of days, for the proof of their order.
func (t *tablePlan) daysOf(rows []grid.Row) func(func(string) bool) {
	return func(yield func(string) bool) {
		for _, r := range rows {
			for _, c := range r.Cells {
				col := t.at(c.Column)
				if ofDays := col != nil && isDayField(col.Field); c.Kind != grid.Text || !ofDays &&
					(len(r.Cells) > 2 || dayMonth().MatchString(c.Text)) { // 12.25 below a weight is no 25 December
					continue
				}
				if !yield(c.Text) {
					return
				}
			}
		}
	}
}

func isDayField(field string) bool {
	return field == "found.date" || field == "found.verbatim" || strings.HasSuffix(field, ".on") || field == "recorded.at"
}

// setColumns settles what each column is: by the map, by its heading, by what stands below it.
func (t *tablePlan) setColumns(cells []grid.Cell, below []grid.Row, m *MapTable) {
	order, _ := edtf.ProveOrder(func(yield func(string) bool) {
		for _, r := range below {
			for _, c := range r.Cells {
				if c.Kind == grid.Text && len(c.Text) < 40 && !yield(c.Text) {
					return
				}
			}
		}
	})
	t.lookAt(t.withBlank(cells, below), below, order)
	t.speaks()
	var bases []string
	if !t.plan.own {
		bases = t.grouped()
	}
	t.understand(bases)
	t.positions()
	t.dayInParts()
	t.depths()
	t.people()
	t.directions()
	t.numbersBesideCounts()
	t.ofLand()
	claimed := map[claim]*column{}
	for _, c := range t.columns {
		c.take(m)
		if c.Field != "" {
			t.claim(c, claimed)
		}
	}
	if !t.plan.own {
		if len(t.headings) == 0 && m == nil {
			t.headless(claimed)
		}
		t.byContent(claimed)
		t.byLetter(claimed)
		t.nameless(claimed)
		t.tally()
		t.monthly()
		t.grams()
	}
	for _, c := range t.columns {
		for len(t.byNumber) <= c.column {
			t.byNumber = append(t.byNumber, nil)
		}
		t.byNumber[c.column] = c
		c.settle()
		c.square = t.squareOf(c)
	}
}

// understand takes the columns for what their headings say, each as far as its group leaves it.
func (t *tablePlan) understand(bases []string) {
	for i, c := range t.columns {
		if c.folded == "" {
			continue
		}
		if c.Meaning, c.known = heading.Understand(c.heading), true; !t.plan.own {
			c.Meaning, c.known = meaningOf(bases[i], c.content, t.language)
			if areZones(bases[i], c.samples) {
				c.Meaning, c.known = heading.Meaning{Field: "position.referenceSystem", Taken: heading.TakenLabel}, true
			}
		}
		t.named(c)
	}
}

// withBlank adds the columns without a heading in which most rows say something: what they are, their cells may show.
func (t *tablePlan) withBlank(cells []grid.Cell, below []grid.Row) []grid.Cell {
	headed := slices.DeleteFunc(slices.Clone(cells), func(c grid.Cell) bool { return strings.TrimSpace(c.Text) == "" })
	if len(t.headings) == 0 || t.plan.own || t.plan.listed || len(headed) == 0 {
		return map[bool][]grid.Cell{true: cells, false: headed}[len(t.headings) == 0]
	}
	for column, last := 1, headed[len(headed)-1].Column+1; column <= last; column++ {
		n := len(samplesBelow(below, column))
		if n >= 2 && n*10 >= len(below)*6 && !slices.ContainsFunc(headed,
			func(c grid.Cell) bool { return c.Column == column }) {
			headed = append(headed, grid.Cell{Column: column})
		}
	}
	slices.SortFunc(headed, func(a, b grid.Cell) int { return a.Column - b.Column })
	return headed
}

// lookAt makes the columns, with what stands below their headings.
func (t *tablePlan) lookAt(cells []grid.Cell, below []grid.Row, order edtf.Order) {
	for _, cell := range cells {
		text := strings.TrimSpace(cell.Text)
		if isCopyColumn(text) || isBesideID(text, cells) {
			continue
		}
		c := &column{column: cell.Column, heading: cmp.Or(text, find.ColumnLetters(cell.Column)), folded: heading.Fold(text)}
		c.samples = samplesBelow(below, cell.Column)
		told := slices.DeleteFunc(slices.Clone(t.plan.inWords(c)), isDitto) // do. tells nothing of what stands above it
		c.content = heading.Look(told, order)
		if text == "" {
			c.Taken = heading.TakenNone
		}
		t.columns = append(t.columns, c)
	}
}

// named takes a column that is not understood for what the options call its heading.
func (t *tablePlan) named(c *column) {
	if c.Field != "" || len(t.taught) == 0 {
		return
	}
	for text, field := range t.taught {
		if heading.Fold(text) == c.folded {
			if c.Meaning = heading.Understand(field); heading.IsPart(field) {
				c.Field, c.Keep = field, ""
			}
			c.Taken = heading.TakenLabel
		}
	}
}

// pair takes a column for the other half of a position where one half has a column and the other none, and
// its heading may mean that: Long beside Lat is no length.
func (t *tablePlan) pair(one, other string) {
	if t.plan.own || t.field(one) == nil || t.field(other) != nil {
		return
	}
	for _, c := range t.columns {
		for _, m := range c.meanings() {
			if m.Field == other && c.content.Fits(other) >= 0 && m.Taken != heading.TakenKey {
				c.Meaning = m
				return
			}
		}
	}
}

// positions settles which columns are the two halves of a position.
func (t *tablePlan) positions() {
	t.pair("position.latitude", "position.longitude")
	t.pair("position.longitude", "position.latitude")
	t.pair(heading.Northing, heading.Easting)
	t.pair(heading.Easting, heading.Northing)
	t.axes()
	t.inDegrees()
}

// inDegrees takes columns of north and east for latitude and longitude where degrees stand in both.
func (t *tablePlan) inDegrees() {
	n, e := t.field(heading.Northing), t.field(heading.Easting)
	if n == nil || e == nil || n.Taken == heading.TakenKey || t.field("position.latitude") != nil {
		return
	}
	for _, c := range []*column{n, e} {
		if c.content.Cells == 0 || c.content.Degrees*10 < c.content.Cells*8 || c.Hints.System != "" {
			return
		}
	}
	n.Field, e.Field = "position.latitude", "position.longitude"
}

// depths tells the depth that was measured from the one that was guessed, where two columns ask for it and one of
// their headings says which it is: Est. depth beside Taped.
func (t *tablePlan) depths() {
	var of []*column
	for _, c := range t.columns {
		if c.Field == "depth" && c.group == 0 && !t.plan.own && c.Taken != heading.TakenKey {
			of = append(of, c)
		}
	}
	if len(of) != 2 || t.field("otherDepths.1") != nil {
		return
	}
	says := func(c *column, classes ...string) bool {
		return slices.ContainsFunc(classes, func(class string) bool { return heading.Says(class, c.heading) })
	}
	one, two := of[0], of[1]
	switch guess, other := says(one, "guess", "est", "tid"), says(two, "guess", "est", "tid"); {
	case guess == other && says(one, "measured") == says(two, "measured"):
		return
	case guess && !other, guess == other && says(two, "measured"):
	default:
		one, two = two, one
	}
	one.Field, two.Basis = "otherDepths.1", cmp.Or(two.Basis, "measured")
	if says(one, "guess", "tid") || t.field("signal.reading") != nil {
		one.Basis = "signal-guess"
	}
}

// people tells the people from their finds: of two columns for the name, the one whose heading is that of people's
// names too and whose cells are no things has the finders; with another that describes things it is the same.
func (t *tablePlan) people() {
	for _, c := range t.columns {
		of := strings.HasPrefix(heading.UnderstandIn("people", c.heading).Field, "name")
		if c.Field != "name" || t.plan.own || c.Taken == heading.TakenKey || c.group != 0 || !of && !c.areNames(2) {
			continue
		}
		for _, o := range t.columns {
			other := o.Field == "name" || o.Field == "description" || o.Field == "objectClass"
			if o == c || !other || o.group != 0 || o.things() < c.things() || o.Field != "name" && o.things() == c.things() {
				continue
			}
			if t.field("finder") == nil && c.areNames(1) {
				c.Meaning = heading.Meaning{Field: "finder", Taken: heading.TakenCells}
			} else if o.Field == "name" {
				c.Field, c.rivals = "", o.column
			}
			break
		}
	}
}

// areNames reports whether the cells of a column may be names of people: words that begin with capitals, no figures,
// and hardly a thing among them; of so many words at least.
func (c *column) areNames(least int) bool {
	named := 0
	for _, s := range c.samples {
		if fullName().MatchString(s) || least == 1 && oneName().MatchString(s) {
			named++
		}
	}
	return named*10 >= len(c.samples)*8 && c.things() < 0.2
}

var (
	oneName  = text.Pattern(`^\p{Lu}[\pL.'’-]*$`)
	fullName = text.Pattern(`^\p{Lu}[\pL.'’-]*(?:\s+[\pL.'’-]+){0,2}\s+\p{Lu}[\pL.'’-]*$`)
)

// directions leaves alone single letters that say which way, N beside E or W, where they are no axes of a position.
func (t *tablePlan) directions() {
	var of []*column
	letters := map[string]bool{}
	for _, c := range t.columns {
		if len(c.folded) == 1 && strings.Contains("neswo", c.folded) && !strings.HasPrefix(c.Field, "position.") &&
			!c.mapped {
			of = append(of, c)
			letters[c.folded] = true
		}
	}
	if len(letters) < 2 || t.plan.own {
		return
	}
	for _, c := range of {
		c.Meaning, c.known = heading.Meaning{Taken: heading.TakenNone}, false
	}
}

// numbersBesideCounts takes a column whose heading may be of numbers or of counts, No. or Nr, for the number where
// another column has the counts.
func (t *tablePlan) numbersBesideCounts() {
	counts := func(c *column) bool { return c.Field == "count" && c.Taken != heading.TakenKey }
	for i, c := range t.columns {
		for _, m := range c.meanings() {
			if counts(c) && m.Field == "number" && t.field("number") == nil && t.groups == 1 &&
				slices.ContainsFunc(t.columns, func(o *column) bool { return o != t.columns[i] && o.Field == "count" }) {
				c.Meaning = m
			}
		}
	}
}

// dayInParts finds the day of finding in three columns beside each other: day, month and year, all figures.
func (t *tablePlan) dayInParts() {
	for i := 0; i+2 < len(t.columns); i++ {
		day, month, year := t.columns[i], t.columns[i+1], t.columns[i+2]
		means := func(c *column, field string) bool {
			return slices.ContainsFunc(c.meanings(), func(m heading.Meaning) bool { return m.Field == field })
		}
		named := means(day, "found.date") && month.Field == "" && means(year, "dating.verbatim")
		if t.plan.own || !named || !within31(day.samples, 31) || !within31(month.samples, 12) ||
			year.content.Cells == 0 || year.content.NewYears < year.content.Cells {
			continue
		}
		day.Field, day.Taken, month.known, year.Field = "found.date", heading.TakenLabel, true, ""
		month.Keep, year.Keep = month.heading, year.heading
		t.month, t.year = month, year
		return
	}
}

// within31 reports whether all texts are whole numbers from 1 to most.
func within31(samples []string, most int) bool {
	return len(samples) > 0 && !slices.ContainsFunc(samples, func(s string) bool {
		n := atoi(s)
		return n < 1 || n > most
	})
}

func atoi(s string) int {
	n, _ := strconv.Atoi(s)
	return n
}

// take lets a column map win over the heading.
func (c *column) take(m *MapTable) {
	if m == nil {
		return
	}
	letters := find.ColumnLetters(c.column)
	for _, mc := range m.Columns {
		if mc.Column != letters || mc.Heading != "" && heading.Fold(mc.Heading) != c.folded &&
			heading.Fold(mc.Heading) != heading.Fold(c.heading) {
			continue
		}
		if mc.Field != c.Field {
			c.Taken = heading.TakenMap
			c.Basis = ""
		}
		c.Field, c.Keep, c.mapped = mc.Field, "", true
		c.Hints.Unit = cmp.Or(mc.Unit, c.Hints.Unit)
		c.Hints.Order = cmp.Or(mc.Order, c.Hints.Order)
		c.Hints.System = cmp.Or(mc.System, c.Hints.System)
	}
}

type claim struct {
	field string
	group int
}

// claim gives a field to the column that has the better claim to it: the one that a map names, then the
// one whose cells show it, then the fuller one, then the first.
func (t *tablePlan) claim(c *column, claimed map[claim]*column) {
	key := claim{c.Field, c.group}
	first := claimed[key]
	if first == nil {
		claimed[key] = c
		return
	}
	loser := c
	if c.weight() > first.weight() {
		loser = first
		claimed[key] = c
	}
	loser.rivals = claimed[key].column
	for _, m := range loser.meanings() {
		if key.field == heading.TripModel {
			break // the number of a machine is no depth
		}
		other := claim{m.Field, loser.group}
		if m.Field != key.field && claimed[other] == nil && loser.content.Fits(m.Field) > 0 && !loser.mapped {
			loser.Meaning, loser.rivals = m, 0
			claimed[other] = loser
			return
		}
	}
	if next := nextOf(key.field); next != "" && claimed[claim{next, loser.group}] == nil {
		loser.Field, loser.rivals = next, 0
		claimed[claim{next, loser.group}] = loser
		return
	}
	loser.Field, loser.Taken = "", heading.TakenNone
}

// nextOf is the next place in a list of which people have a column for each.
func nextOf(field string) string {
	switch field {
	case "media.1.file":
		return "media.2.file"
	case "media.2.file":
		return "media.3.file"
	case "materials.1":
		return "materials.2"
	}
	return ""
}

func (c *column) weight() int {
	w := 0
	if c.mapped {
		w += 1000
	}
	if c.Taken == heading.TakenKey {
		w += 500
	}
	fits := c.content.Fits(c.Field)
	if c.content.Cells == 0 {
		fits = -1
	}
	return w + 100*fits + 10*min(c.content.Cells, 5)/5
}

// settle prepares a column for reading.
func (c *column) settle() {
	c.path = nil
	if c.Field == "" {
		return
	}
	if path, err := find.PathTo[find.Find](c.Field); err == nil {
		c.path = path
	}
	if cost := memberCost(c.Field); cost > bareCost {
		c.cost = cost
	}
}

// looksLikeFinds reports whether the rows of a table are finds: they have names, or numbers with something
// of a find beside them.
func (t *tablePlan) looksLikeFinds() bool {
	has := map[string]bool{}
	for _, c := range t.columns {
		has[c.Field] = true
	}
	n := 0
	for _, f := range []string{"found.date", "found.verbatim", "depth", "otherDepths.1", "position.verbatim",
		"position.latitude", heading.Easting, "materials.1", "weight", "media.1.file",
		"permission", "place.name", "finder", "count", "dating.verbatim", "objectClass", "signal.reading", "notes"} {
		if has[f] {
			n++
		}
	}
	things := has["depth"] || has["weight"] || has["materials.1"] || has["found.date"]
	switch {
	case t.ofPeople() && !things:
		return false
	case has["id"], slices.ContainsFunc(t.columns, func(c *column) bool { return c.tally }):
		return true
	case has["name"]:
		return n > 0 || has["number"] || len(t.columns) <= 3 && t.field("name").Taken != heading.TakenCells &&
			!t.ofPeople() && !has["value"] && !(has[""] && len(t.columns) > 1)
	case has["number"]:
		return n > 1 || n == 1 && !has["permission"] && !has["place.name"] && !has["finder"] // else a list of them
	}
	return n >= 3 && (has["materials.1"] || has["depth"] || has["weight"])
}

// ofPictures reports whether a table is a list of pictures: one of its few columns has their names, and none what a
// thing is like, or when it was found.
func (t *tablePlan) ofPictures() bool {
	names := false
	for _, c := range t.columns {
		n := 0
		for _, s := range c.samples {
			if pictureName().MatchString(s) {
				n++
			}
		}
		names = names || n > 1 && n*10 >= len(c.samples)*8
		if c.Field == "found.date" || ofOne(c.Field) &&
			!slices.Contains([]string{"number", "description"}, c.Field) && !strings.HasPrefix(c.Field, "media") {
			return false
		}
	}
	return names && len(t.columns) <= 5
}

var pictureName = text.Pattern(`(?i)^[^\s,;]+\.(?:jpe?g|png|heic|tiff?|webp)$`)

// ofPeople reports whether a column says how to reach somebody, as no table of finds does.
func (t *tablePlan) ofPeople() bool {
	return slices.ContainsFunc(t.columns, func(c *column) bool {
		return c.content.Fits("position.verbatim") <= 0 && heading.UnderstandIn("people", c.heading).Field == "contact"
	})
}
