package spreadsheet

import (
	"cmp"
	"regexp"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/intake"
	"github.com/findslip/findslip/pkg/notice"
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
		hints.System = t.systemByRange()
	}
	century := t.century()
	t.layout = nil
	for group := 1; group <= t.groups; group++ {
		l := &find.Layout{Sheet: t.plan.sheet.Name, Hints: hints}
		for _, c := range t.columns {
			if c.group == 0 || c.group == group {
				of := c.Hints
				if century > 0 && of.Pivot == 0 && hints.Pivot == 0 && c.Field == "found.date" {
					of.Pivot = century
				}
				l.Columns = append(l.Columns, find.LayoutColumn{Column: c.column, Heading: c.heading, Pointers: t.pointersOf(c),
					Hints: of})
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
			needed = needed || c.Field == heading.Easting || c.Field == heading.Northing
		}
	}
	if !needed {
		return ""
	}
	for _, r := range t.plan.head {
		if r.Number >= t.first {
			break
		}
		for _, c := range r.Cells {
			if code := systemIn(c.Text); code != "" {
				return code
			}
		}
	}
	return ""
}

var utmZone = regexp.MustCompile(`(?i)\butm[\s,-]*(?:zone\s*)?([0-9]{2})`)

// systemByRange tells which of the grids that go by one name has figures of the size that stand there: the
// Belgian grids and that of France are all called Lambert. A zone of UTM without a datum is that of ETRS89 in
// a log written in a language of the continent.
func (t *tablePlan) systemByRange() string {
	e, n := t.field(heading.Easting), t.field(heading.Northing)
	if e == nil || n == nil {
		return ""
	}
	name := strings.ToLower(e.heading + " " + n.heading + " " + t.plan.title())
	if m := utmZone.FindStringSubmatch(name); m != nil && t.language != "" && t.language != "en" {
		if zone := atoi(m[1]); zone >= 28 && zone <= 38 {
			return "EPSG:258" + m[1]
		}
	}
	if !strings.Contains(name, "lambert") {
		return ""
	}
	within := func(c *column, low, high float64) bool {
		seen := 0
		for _, s := range c.samples {
			v, err := strconv.ParseFloat(strings.Replace(strings.ReplaceAll(s, " ", ""), ",", ".", 1), 64)
			if err != nil {
				continue
			}
			if v < low || v > high {
				return false
			}
			seen++
		}
		return seen > 0
	}
	switch { // the extents of EPSG:31370, 3812 and 2154
	case within(e, 0, 300_000) && within(n, 0, 300_000):
		return "EPSG:31370"
	case within(e, 450_000, 850_000) && within(n, 450_000, 850_000):
		return "EPSG:3812"
	case within(e, 0, 1_300_000) && within(n, 6_000_000, 7_200_000):
		return "EPSG:2154"
	}
	return ""
}

// bandedZone is a zone of UTM with the letter of its band, but S, which may be meant for south.
var bandedZone = regexp.MustCompile(`(?i)\butm\b[\s,:-]*(?:zone\s*)?([0-9]{1,2})\s*([c-hj-np-rt-x])\b`)

// systemIn returns the reference system that a sentence names.
func systemIn(text string) string {
	if m := utmZone.FindStringSubmatch(text); m != nil {
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
	if m := bandedZone.FindStringSubmatch(text); m != nil {
		if axis, ok := axisOfUTM("UTM " + m[1] + m[2] + " E"); ok {
			return axis.Hints.System
		}
	}
	words := strings.FieldsFunc(text, func(r rune) bool {
		return r == ' ' || r == ',' || r == ';' || r == '(' ||
			r == ')' || r == ':'
	})
	for i := range words {
		for n := min(4, len(words)-i); n > 0; n-- {
			name := strings.Join(words[i:i+n], " ")
			if s, ok := coordinate.SystemByName(name); ok && len(name) > 2 {
				return s.Code
			}
			if s, ok := coordinate.SystemByCode(name); ok {
				return s.Code
			}
		}
	}
	return ""
}

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
	case heading.Size:
		return []string{"/dimensions/length", "/dimensions/width", "/dimensions/height", "/dimensions"}
	case "otherDepths.1":
		if t.field("depth") == nil && t.field(heading.DepthTo) == nil {
			return []string{"/depth", "/otherDepths/0"}
		}
	case heading.LandGiver, heading.LandPaper, heading.Consent, heading.TripModel, heading.TripCoil, heading.TripSetting,
		heading.TripHours, heading.TripRubbish:
		return []string{"/columns/" + notice.Escape(c.heading)}
	}
	return intake.PointersOf(c.Field)
}
