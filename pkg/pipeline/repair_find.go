package pipeline

import (
	"fmt"
	"regexp"
	"strings"

	"github.com/go-json-experiment/json"
	"golang.org/x/text/encoding/charmap"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// proposer looks for damage that can be repaired.
type proposer struct {
	out     *Proposals
	report  *find.Report
	log     *logEvidence
	choices int
}

// entry looks at one find.
func (p *proposer) entry(e *find.Entry) {
	for i := range e.Notices {
		p.notice(e, &e.Notices[i])
	}
	p.mojibake(e)
	p.cut(e)
	p.place(e)
	p.log.see(e)
}

// add proposes texts for what stands at a pointer. Several are a choice.
func (p *proposer) add(e *find.Entry, pointer, rule, reason, evidence string, after ...string) {
	path, err := textPath(pointer)
	if err != nil {
		return
	}
	before := currentText(e.Find, path)
	if before == "" {
		return
	}
	n := notice.Notice{Location: notice.Location{Pointer: pointer}}
	e.Locate(&n)
	choice := ""
	if len(after) > 1 {
		p.choices++
		choice = fmt.Sprintf("choice-%d", p.choices)
	}
	for _, text := range after {
		if text != before {
			p.out.Proposals = append(p.out.Proposals, Proposal{Find: e.Find.ID, Number: e.Find.Number, Pointer: pointer, Sheet: n.Sheet, Cell: n.Cell,
				Before: before, After: text, Rule: rule, Reason: reason, Evidence: evidence, Choice: choice})
		}
	}
}

// notice takes over what a reading says may have been meant, and the nearest code for one that is
// on no list.
func (p *proposer) notice(e *find.Entry, n *notice.Notice) {
	switch {
	case len(n.Proposals) > 0:
		p.add(e, n.Pointer, n.Kind.Code, n.Message, "the text itself", n.Proposals...)
	case n.Kind.Code == "code-misspelt" || n.Kind.Code == "term-not-listed":
		p.nearest(e, n)
	}
}

func (p *proposer) nearest(e *find.Entry, n *notice.Notice) {
	pointer := strings.TrimSuffix(n.Pointer, "/code")
	e.Find.Terms(func(at, list string, t *find.Term) {
		if at != pointer {
			return
		}
		text, where := t.Code, pointer+"/code"
		if text == "" {
			text, where = t.Verbatim, pointer
		}
		if c, distance, ok := vocabulary.Get(list).Nearest(text); ok {
			after := c.Code
			if where == pointer {
				after = c.Label("en")
			}
			p.add(e, where, n.Kind.Code, n.Message, fmt.Sprintf("%d letters differ from a line of the list %s", distance, list), after)
		}
	})
}

// mojibake undoes UTF-8 that was once read as Windows-1252, where that gives whole UTF-8.
func (p *proposer) mojibake(e *find.Entry) {
	for c := range find.Flat(e.Find) {
		if c.Field.Part || c.Field.Kind != find.Text && c.Field.Kind != find.TermText && c.Field.Kind != find.QuantityText || !strings.ContainsAny(c.Text, "ÂÃâ") {
			continue
		}
		raw, err := charmap.Windows1252.NewEncoder().String(c.Text)
		if err != nil || raw == c.Text || strings.ToValidUTF8(raw, "\ufffd") != raw || !untouched(p, e, c.Pointer) {
			continue
		}
		p.add(e, c.Pointer, "text-damaged", "the letters look as if they were once read in the wrong encoding", "read back from Windows-1252 they are whole UTF-8", raw)
	}
}

// untouched tells that nothing is proposed yet for the place.
func untouched(p *proposer, e *find.Entry, pointer string) bool {
	for i := len(p.out.Proposals) - 1; i >= 0 && p.out.Proposals[i].Find == e.Find.ID; i-- {
		if p.out.Proposals[i].Pointer == pointer {
			return false
		}
	}
	return true
}

// cut says where text ends at the very length at which older programs cut it.
func (p *proposer) cut(e *find.Entry) {
	for c := range find.Flat(e.Find) {
		if n := len([]rune(c.Text)); n == 255 || n == 32767 {
			p.add(e, c.Pointer, "text-cut", fmt.Sprintf("the text is %d characters long, where programs cut it off; the rest is not in the file", n), "", "")
		}
	}
}

// place proposes the other readings of a position that lies far from its permission.
func (p *proposer) place(e *find.Entry) {
	permission := p.report.Permission(e.Find.Permission)
	if permission == nil || permission.Area == nil || pointText(e.Find.Position) == "" {
		return
	}
	area, ok := areaOf(permission.Area)
	if !ok {
		return
	}
	pos := e.Find.Position
	point := coordinate.Point{Latitude: pos.Latitude.Float(), Longitude: pos.Longitude.Float()}
	var after []string
	rule, reason := "", ""
	for _, s := range coordinate.Suspect(point, area, pos.Verbatim) {
		after = append(after, s.Point.String())
		if rule == "" {
			rule, reason = s.Code, s.Message
			p.log.slip(e, s)
		}
	}
	if rule != "" {
		p.add(e, "/position/verbatim", rule, reason, "so read it lies on the land of its permission", after...)
	}
}

func areaOf(a *find.Area) (coordinate.Area, bool) {
	if a.Type == "MultiPolygon" {
		var c [][][][]float64
		if json.Unmarshal(a.Coordinates, &c) != nil {
			return coordinate.Area{}, false
		}
		area, err := coordinate.NewMultiArea(c)
		return area, err == nil
	}
	var c [][][]float64
	if json.Unmarshal(a.Coordinates, &c) != nil {
		return coordinate.Area{}, false
	}
	area, err := coordinate.NewArea(c)
	return area, err == nil
}

// logEvidence is what only the whole log shows.
type logEvidence struct {
	numbers    []*find.Entry
	commas     []*find.Entry
	points     int
	slips      map[string]int // day and sort of slip to the number of finds
	slipOf     map[string]string
	duplicates map[string][]*find.Entry
}

func newLogEvidence() *logEvidence {
	return &logEvidence{slips: map[string]int{}, slipOf: map[string]string{}, duplicates: map[string][]*find.Entry{}}
}

var (
	pointForm      = regexp.MustCompile(`\d\.\d`)
	commaForm      = regexp.MustCompile(`^\D*\d+,\d+\D*$`)
	scientificForm = regexp.MustCompile(`^\d(\.\d+)?[eE]\+?\d+$`)
	onlyDigits     = regexp.MustCompile(`^\d+$`)
)

// see keeps what is needed of one find.
func (l *logEvidence) see(e *find.Entry) {
	light := &find.Entry{Find: e.Find, Index: e.Index, Origin: e.Origin}
	l.numbers = append(l.numbers, light)
	if e.Find.Number != "" {
		key := find.FoldNumber(e.Find.Number) + "\n" + e.Find.Finder + "\n" + e.Find.Permission
		l.duplicates[key] = append(l.duplicates[key], light)
	}
	e.Find.Quantities(func(_, _ string, q *find.Quantity) {
		switch {
		case pointForm.MatchString(q.Verbatim):
			l.points++
		case commaForm.MatchString(q.Verbatim):
			l.commas = append(l.commas, light)
		}
	})
}

// slip counts one sort of slip by day: a whole day of it is strong evidence.
func (l *logEvidence) slip(e *find.Entry, s coordinate.Suspicion) {
	if e.Find.Found != nil {
		key := e.Find.Found.Date + " " + s.Code
		l.slips[key]++
		l.slipOf[e.Find.ID] = key
	}
}

// whole proposes what only the whole log shows.
func (p *proposer) whole() {
	for i := range p.out.Proposals {
		x := &p.out.Proposals[i]
		if n := p.log.slips[p.log.slipOf[x.Find]]; n > 1 && x.Pointer == "/position/verbatim" {
			x.Evidence += fmt.Sprintf("; %d finds of that day have the same slip", n)
		}
	}
	p.leadingNoughts()
	if p.log.points > 0 {
		for _, e := range p.log.commas {
			e.Find.Quantities(func(pointer, _ string, q *find.Quantity) {
				if commaForm.MatchString(q.Verbatim) && untouched(p, e, pointer) {
					p.add(e, pointer, "decimal-comma", "a decimal comma in a log that writes decimal points", fmt.Sprintf("%d measures of the log have a point", p.log.points), strings.Replace(q.Verbatim, ",", ".", 1))
				}
			})
		}
	}
	for _, e := range p.log.numbers {
		if scientificForm.MatchString(e.Find.Number) {
			p.add(e, "/number", "number-damaged", "a spreadsheet has turned the number into a power of ten; its last digits are lost", "", "")
		}
		same := p.log.duplicates[find.FoldNumber(e.Find.Number)+"\n"+e.Find.Finder+"\n"+e.Find.Permission]
		for i, other := range same {
			if i > 0 && i < 26 && other == e {
				p.add(e, "/number", "number-repeated", "the number stands on another bag as well", fmt.Sprintf("%d finds of one finder and permission have it", len(same)), e.Find.Number+string(rune('a'+i)))
			}
		}
	}
}

// leadingNoughts proposes the noughts that a spreadsheet took off the numbers of a log.
func (p *proposer) leadingNoughts() {
	width, with := 0, 0
	for _, e := range p.log.numbers {
		if n := e.Find.Number; onlyDigits.MatchString(n) && n[0] == '0' && len(n) > 1 {
			if width != 0 && width != len(n) {
				return // no one width
			}
			width = len(n)
			with++
		}
	}
	if with < 2 {
		return
	}
	for _, e := range p.log.numbers {
		if n := e.Find.Number; onlyDigits.MatchString(n) && len(n) < width {
			p.add(e, "/number", "number-damaged", "the number has lost its leading noughts", fmt.Sprintf("%d numbers of the log have %d digits and begin with a nought", with, width), strings.Repeat("0", width-len(n))+n)
		}
	}
}
