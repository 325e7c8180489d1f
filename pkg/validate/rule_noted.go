package validate

import (
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/text"
)

// plainNote is the words by which a note speaks plainly of the find itself, in every language at once: what stands
// before a figure, and for a depth what may stand behind it.
type plainNote struct {
	Weight []string `json:"weight"` // before a weight
	Depth  []string `json:"depth"`  // before a depth, behind which nothing has to stand
	At     []string `json:"at"`     // before a depth with one of deep behind it
	Deep   []string `json:"deep"`
	Day    []string `json:"day"`   // before the day of finding
	Other  []string `json:"other"` // the figure is of another thing, or of another state
}

// clauseEnd parts clauses: a comma or a full stop within a figure is none.
var clauseEnd, figureAndUnit = text.Pattern(`[;()–\n]|[,.:!?](?:\s|$)`),
	text.Pattern(`^\d+(?:[.,]\d+)?\s*[\pL"'″′]+`)

// sayNotedApart compares what a note plainly says of the find with the cell beside it.
func sayNotedApart(c *Case, say Say) {
	f, n := c.Find, &theTables().things.Noted
	for _, text := range [...]string{f.Notes, f.Description} {
		if !strings.ContainsAny(text, "0123456789") {
			continue
		}
		for _, clause := range clauseEnd().Split(strings.ToLower(text), -1) {
			at := strings.IndexAny(clause, "0123456789")
			if at < 0 || slices.ContainsFunc(strings.Fields(clause),
				func(w string) bool { return slices.Contains(n.Other, w) }) {
				continue
			}
			before, figures := strings.TrimSpace(clause[:at]), clause[at:]
			amount := figureAndUnit().FindString(figures)
			behind := strings.Fields(figures[len(amount):])
			deep := !slices.ContainsFunc(behind, func(w string) bool { return !slices.Contains(n.Deep, w) })
			switch {
			case slices.Contains(n.Weight, before) && f.Weight.HasValue():
				notedMeasure(c, "/weight", "g", f.Weight, amount, say)
			case deep && f.Depth != nil && f.Depth.HasValue() && (slices.Contains(n.Depth, before) ||
				len(behind) > 0 && (before == "" || slices.Contains(n.At, before))):
				notedMeasure(c, "/depth", "cm", &f.Depth.Quantity, amount, say)
			case slices.Contains(n.Day, before):
				notedDay(c, figures, say)
			}
		}
	}
}

// notedMeasure tells of a weight or a depth in a note that lies well beside that of the cell.
func notedMeasure(c *Case, pointer, unit string, q *find.Quantity, amount string, say Say) {
	read, room, part := quantity.NormaliseMass, 0.1, 0.05
	if unit == "cm" {
		read, room, part = quantity.NormaliseLength, 1, 0.2
	}
	r, err := read(amount, quantity.Options{Language: lexicon.ByTag(c.Report.Language)})
	if err != nil || !r.Min.Known || !r.Max.Known || !q.Min.Known() || !q.Max.Known() {
		return
	}
	if r.Min.Value.Float() > q.Max.Float()*(1+part)+room || r.Max.Value.Float() < q.Min.Float()*(1-part)-room {
		is := clip(q.Verbatim)
		if is == "" {
			is = interval(bound(q.Min), bound(q.Max), unit)
		}
		say(pointer, fmt.Sprintf("the words speak of %s, the %s is %s", amount, pointer[1:], is))
	}
}

// notedDay tells of a day of finding in a note that is another than that of the cell in every order of day and month.
func notedDay(c *Case, text string, say Say) {
	found, ok := c.found()
	day, one := found.oneDay()
	if !ok || !one {
		return
	}
	readings := 0
	for _, order := range [...]edtf.Order{edtf.DayMonthYear, edtf.MonthDayYear, edtf.YearMonthDay} {
		r, err := readFound(text, edtf.Options{Order: order, Language: lexicon.ByTag(c.Report.Language)})
		if err != nil || r.Absent != "" {
			continue
		}
		first, last, open, openLast := r.Date.Span()
		if open || openLast || first != last || first == day {
			return
		}
		readings++
	}
	if readings > 0 {
		say("/found/date", fmt.Sprintf("the words speak of %s, the day is %s", strings.TrimSpace(text), day))
	}
}

// notedMaterial returns the one material that a clause of the notes names alone; else nothing.
func notedMaterial(f *find.Find) (code string) {
	for _, text := range [...]string{f.Notes, f.Description} {
		for clause := range strings.FieldsFuncSeq(text, func(r rune) bool { return strings.ContainsRune(",;.:()–\n", r) }) {
			const long = 24 // bytes, of a word for a material
			if clause = strings.TrimSpace(clause); len(clause) > long {
				continue
			}
			switch is := theTables().things.named[strings.ToLower(clause)]; {
			case is == "" || is == code:
			case code != "":
				return ""
			default:
				code = is
			}
		}
	}
	return code
}
