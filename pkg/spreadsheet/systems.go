package spreadsheet

import (
	"cmp"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
)

// coverSystem finds the grid that a line of a sheet names beside a word for coordinates, wherever in the book it
// stands: a cover that says "Coordinates: UTM 32N". Of two that differ none counts.
func coverSystem(books [][]grid.Row) (code string) {
	for _, rows := range books {
		for _, r := range rows {
			text := rowText(r)
			if filled(r) > 2 || len(text) > 2*longestHeading || !slices.ContainsFunc(heading.Words(text), isOfPosition) {
				continue
			}
			if of := systemIn(text); of != "" {
				if code != "" && of != code {
					return ""
				}
				code = of
			}
		}
	}
	return code
}

func isOfPosition(word string) bool { return lexicon.Says("position-name", word) && word != "utm" }

// axes settles which column is the easting and which the northing. The words of a heading say it, else those of a title
// (x = east); what x and y alone name is for the reader of positions, who knows the axes of the system.
func (t *tablePlan) axes() {
	if t.plan.own {
		return
	}
	said := byte(0)
	for _, r := range t.plan.head {
		for _, c := range r.Cells {
			if r.Number < t.first {
				said = cmp.Or(coordinate.AxesSaid(c.Text), said)
			}
		}
	}
	for _, c := range t.columns {
		m := axisOfZone.FindStringSubmatch(c.heading)
		if m != nil && c.content.Fits(heading.Easting) > 0 && c.Hints.System == "" {
			if of := heading.Understand(m[1]).Field; of == heading.Easting || of == heading.Northing {
				c.Meaning = heading.Meaning{Field: of, Taken: heading.TakenAxis, Hints: find.Hints{System: t.systemOfZone(m[2])}}
			}
		}
		code, of, ok := coordinate.SystemOfHeading(c.heading)
		ok = ok && (of == coordinate.AxisEasting || of == coordinate.AxisNorthing) && c.content.Fits(heading.Easting) > 0
		if c.Field != heading.Easting && c.Field != heading.Northing {
			if !ok || c.Taken == heading.TakenKey {
				continue
			}
			c.Meaning = heading.Meaning{Taken: heading.TakenAxis, Hints: find.Hints{System: code}}
		}
		c.axis = coordinate.AxisOf(c.heading)
		if x := c.axis == 'X'; said != 0 && (x || c.axis == 'Y') {
			c.axis = map[bool]byte{true: 'E', false: 'N'}[x == (said == 'E')]
		}
		switch c.axis {
		case 'E', 'X':
			c.Field = heading.Easting
		case 'N', 'Y':
			c.Field = heading.Northing
		}
	}
	if s, ok := coordinate.SystemByCode(t.systemOfPosition()); !ok || !s.XIsNorthing {
		return
	}
	for _, c := range t.columns { // as the plan shows it
		switch c.axis {
		case 'X':
			c.Field = heading.Northing
		case 'Y':
			c.Field = heading.Easting
		}
	}
}

// axisOfZone is a heading of an axis with the zone of UTM behind it: East 32, Northing (zone 32).
var axisOfZone = regexp.MustCompile(`(?i)^(\pL[\pL ]*?)[\s(,]+(?:(?:zone|zona|sone|zon|strefa|utm)\s*)?([0-9]{2})\)?$`)

// systemOfPosition returns the reference system that a column of the position names, else the title.
func (t *tablePlan) systemOfPosition() string {
	needed := false
	for _, c := range t.columns {
		if strings.HasPrefix(c.Field, "position.") {
			if c.Hints.System != "" {
				return c.Hints.System
			}
			if code := systemIn(c.heading); code != "" {
				return code
			}
			needed = needed || c.Field == heading.Easting || c.Field == heading.Northing ||
				c.content.Pairs > 0 && c.content.Metres > 0
		}
	}
	if !needed {
		return ""
	}
	rows, kept := t.above()
	for _, r := range slices.Backward(rows) { // the title that is nearest
		if r.Number >= t.first && !kept || t.number > 1 && filled(r) > 2 {
			continue
		}
		for _, c := range r.Cells {
			if code := systemIn(c.Text); code != "" {
				return code
			}
		}
	}
	return ""
}

// systemByRange tells which of the grids that go by one name has figures of the size that stand there: the
// Belgian grids and that of France are all called Lambert. A zone of UTM without a datum is that of ETRS89 in
// a log written in a language of the continent.
func (t *tablePlan) systemByRange() string {
	e, n, of := t.metres()
	if e == nil || n == nil {
		return ""
	}
	name := strings.ToLower(e.heading + " " + n.heading + " " + t.plan.title())
	if m := utmZone().FindStringSubmatch(name); m != nil && t.language != "" && t.language != "en" {
		if zone := atoi(m[1]); zone >= 28 && zone <= 38 {
			return "EPSG:258" + m[1]
		}
	}
	within := func(axis int, low, high float64) bool {
		return len(of[axis]) > 0 && slices.Min(of[axis]) >= low && slices.Max(of[axis]) <= high
	}
	if isGaussKrueger(name) { // the first figure of the easting is the zone, EPSG:31466 to 31469
		for zone := 2.0; zone <= 5; zone++ {
			if within(0, zone*1e6+2e5, zone*1e6+8e5) && within(1, 5.2e6, 6.2e6) {
				return "EPSG:" + strconv.Itoa(31464+int(zone))
			}
		}
	}
	if !strings.Contains(name, "lambert") {
		return ""
	}
	switch { // the extents of EPSG:31370, 3812 and 2154
	case within(0, 0, 300_000) && within(1, 0, 300_000):
		return "EPSG:31370"
	case within(0, 450_000, 850_000) && within(1, 450_000, 850_000):
		return "EPSG:3812"
	case within(0, 0, 1_300_000) && within(1, 6_000_000, 7_200_000):
		return "EPSG:2154"
	}
	return ""
}

// metres are the columns of easting and northing, one of pairs as both, and the figures in them.
func (t *tablePlan) metres() (e, n *column, of [2][]float64) {
	e, n = t.field(heading.Easting), t.field(heading.Northing)
	if one := t.field("position.verbatim"); one != nil && one.content.Fits("position.verbatim") > 0 &&
		one.content.Pairs > 0 {
		e, n = one, one
	}
	for i, c := range []*column{e, n} {
		if c == nil {
			continue
		}
		for _, text := range c.samples {
			if one, two, ok := heading.MetrePair(text); ok && e == n {
				text = []string{one, two}[i]
			}
			if v, err := strconv.ParseFloat(asNumber.Replace(text), 64); err == nil {
				of[i] = append(of[i], v)
			}
		}
	}
	return e, n, of
}

// usualSystems are the grids of the maps that most people of a language have. Common practice, no source.
var usualSystems = map[string][]string{"da": {"EPSG:25832"}, "de": {"EPSG:25832", "EPSG:25833"}, "en": {"EPSG:27700"},
	"fr": {"EPSG:2154"}, "nb": {"EPSG:25832", "EPSG:25833"}, "nl": {"EPSG:28992", "EPSG:31370"}, "pl": {"EPSG:2180"},
	"sv": {"EPSG:3006"}}

// likelySystem is the one usual grid in which all bare eastings and northings of a table would lie, nil where none or
// two would, or where something names one.
func (t *tablePlan) likelySystem() (likely *coordinate.System, at *column) {
	e, n, of := t.metres()
	if len(t.layout) == 0 || t.layout[0].Hints.System != "" || e == nil || n == nil || len(of[0]) == 0 ||
		len(of[0]) != len(of[1]) || t.field("position.referenceSystem") != nil {
		return nil, nil
	}
	for _, code := range usualSystems[t.language] {
		s, _ := coordinate.SystemByCode(code)
		fits := s != nil
		for i := 0; fits && i < len(of[0]); i++ {
			p, err := s.ToWGS84(of[0][i], of[1][i])
			fits = err == nil && s.Extent.Contains(p, 0)
		}
		if fits && likely != nil {
			return nil, nil
		} else if fits {
			likely = s
		}
	}
	return likely, e
}

// systemIn returns the reference system that a sentence names.
func systemIn(text string) string {
	if m := utmZone().FindStringSubmatch(text); m != nil {
		low := strings.ToLower(text)
		switch zone := atoi(m[1]); {
		case (strings.Contains(low, "etrs") || strings.Contains(low, "euref")) && zone >= 28 && zone <= 38:
			return "EPSG:258" + m[1]
		case strings.Contains(low, "wgs") && !strings.Contains(low, "s ") && zone >= 10 && zone <= 60:
			return "EPSG:326" + m[1]
		}
	}
	if code, _, ok := coordinate.SystemOfHeading(text); ok {
		return code
	}
	words := strings.FieldsFunc(text, func(r rune) bool {
		return r == ' ' || r == ',' || r == ';' || r == '(' ||
			r == ')' || r == ':'
	})
	for i := range words {
		for n := min(6, len(words)-i); n > 0; n-- {
			name := strings.Join(words[i:i+n], " ")
			if s, ok := coordinate.SystemByName(name); ok && (len(name) > 2 || name == "RD") {
				return s.Code
			}
			if s, ok := coordinate.SystemByCode(name); ok {
				return s.Code
			}
		}
	}
	return ""
}

// isGaussKrueger reports whether words name the German grid without its zone.
func isGaussKrueger(text string) bool {
	words := strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) })
	for i := range words {
		for n := i + 1; n <= min(i+2, len(words)); n++ {
			if s, ok := coordinate.SystemByName(strings.Join(words[i:n], "") + "3"); ok && s.Code == "EPSG:31467" {
				return true
			}
		}
	}
	return false
}

// measures reports whether a heading is that of a length or a weight that the unit can measure.
func measures(text string, unit quantity.Unit) bool {
	switch field := heading.Understand(text).Field; {
	case field == "depth", strings.HasPrefix(field, "dimensions"), field == "otherDepths.1", field == heading.DepthFrom,
		field == heading.DepthTo:
		return unit.Dimension() == quantity.CM.Dimension()
	case field == "weight":
		return unit.Dimension() == quantity.G.Dimension()
	}
	return false
}

// isUnitsRow recognises a row of units below the headings: nothing in it is more than a few words, there is no
// figure but that of a zone, and most of it, under what is measured all of it, are units.
func (t *tablePlan) isUnitsRow(row grid.Row) bool {
	units, others := 0, 0
	for _, c := range row.Cells {
		text := strings.TrimSpace(c.Text)
		if strings.Trim(text, "()[] -–.") == "" {
			continue
		}
		col := t.at(c.Column)
		switch {
		case c.Kind != grid.Text || len(text) > 30:
			return false
		case isUnitWord(text) || heading.IsUnit(strings.Trim(text, "()[] .")) || isGridWord(text) ||
			strings.Trim(text, "()[]°º ") == "":
			units++
		case strings.ContainsAny(text, "0123456789") || col == nil || col.content.Cells == 0:
			return false
		default:
			switch col.Field { // a word that stands once, where the column has figures
			case "count", "number", "found.date", "depth", "weight":
				others++
			default:
				return false
			}
		}
	}
	return units > others
}

// isGridWord reports whether a text is that of a reference system or of one of its axes: UTM 32N, m, Zone 32U.
func isGridWord(text string) bool {
	text = strings.Trim(text, "()[] ")
	return systemIn(text) != "" || gridWord().MatchString(text)
}

var gridWord = text.Pattern(`(?i)^(?:m\s*)?[(]?(?:utm|zone|zona|sone|strefa)\s*(?:zone\s*)?[0-9]{1,` +
	`2}\s*[a-z]?[)]?(?:,?\s*m)?$`)

// takeUnits takes the units of a row below the headings over.
func (t *tablePlan) takeUnits(row grid.Row) {
	t.units = row.Number
	for _, c := range row.Cells {
		col := t.at(c.Column)
		if col == nil {
			continue
		}
		word := strings.Trim(c.Text, "()[] ")
		if code := cmp.Or(systemIn(word), systemIn(col.heading+" "+word)); code != "" && strings.HasPrefix(col.Field,
			"position.") && col.Hints.System == "" {
			col.Hints.System = code
		}
		if u, ok := quantity.UnitOfHeading("x (" + word + ")"); ok && col.Hints.Unit == "" {
			col.Hints.Unit = u.String()
		} else if col.Field == "weight" && strings.Trim(strings.ToLower(word), ".") == "gr" && col.Language != "en" &&
			col.Language != "" {
			col.Hints.Unit = quantity.G.String()
		}
		if o, ok := edtf.OrderOfHeading("date (" + word + ")"); ok && col.Hints.Order == "" {
			col.Hints.Order = o.String()
		}
	}
}

func isUnitWord(s string) bool {
	s = strings.Trim(s, "()[] ")
	if s == "" || s == "-" {
		return true
	}
	if strings.ContainsAny(s, "([") { // a heading with its unit: to (cm)
		return false
	}
	if _, ok := quantity.UnitOfHeading("x (" + s + ")"); ok {
		return true
	}
	_, ok := edtf.OrderOfHeading("date (" + s + ")")
	return ok
}
