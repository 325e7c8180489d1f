package repair

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// logEvidence is what only the whole log shows.
type logEvidence struct {
	days    dayEvidence
	spots   []spot
	columns map[string]*columnEvidence // measures, by the pointer of their column
	order   []string                   // of the columns, as they came

	plain  []*sighting // numbers of digits alone that do not begin with a zero
	padded []int       // lengths of those that do
	twice  []*sighting // bags whose number or id another bag has
	labels map[string]int
	taken  map[string]bool // folded numbers

	finds map[string]*sighting // the first with an id
	links []link
	said  map[[2]string]bool // from and to of links
}

// columnEvidence is what the measures of one column have in common.
type columnEvidence struct {
	read, inches int // measures, and those of them that were written in inches
	low, high    float64
	unit         string
}

type link struct {
	*sighting
	to, relation string
}

func newLogEvidence() *logEvidence {
	return &logEvidence{columns: map[string]*columnEvidence{}, labels: map[string]int{}, taken: map[string]bool{},
		finds: map[string]*sighting{}, said: map[[2]string]bool{}}
}

// see keeps what is needed of one find.
func (l *logEvidence) see(s *sighting, f *find.Find, report string) {
	l.days.see(s, f)
	l.seeNumber(s, f, report)
	f.Quantities(func(pointer, unit string, q *find.Quantity) { l.seeMeasure(s, pointer, unit, q) })
	if l.finds[f.ID] == nil {
		l.finds[f.ID] = s
	}
	for _, a := range f.Associated {
		l.said[[2]string{f.ID, a.Find}] = true
		if !a.Relation.Is("duplicate-of") { // said by the one that is to go
			l.links = append(l.links, link{s, a.Find, mutual(a.Relation)})
		}
	}
}

// mutual is the code of a relation that holds both ways.
func mutual(t *find.Term) string {
	if t.Is("same-hole", "touching", "near", "joins", "same-object") {
		return t.Code
	}
	return ""
}

// whole proposes what only the whole log shows.
func (p *proposer) whole(ctx context.Context) error {
	for _, look := range []func(){p.repeatedNumbers, p.leadingNoughts, p.days, p.outingsSwapped,
		p.minutes, p.strays, p.abroad, p.wholeDays, p.oneSided, p.neighbours} {
		if err := ctx.Err(); err != nil {
			return err
		}
		look()
	}
	for _, say := range p.open {
		say()
	}
	return ctx.Err()
}

var (
	onlyDigits = text.Pattern(`^\d+$`)
)

func (l *logEvidence) seeMeasure(s *sighting, pointer, unit string, q *find.Quantity) {
	name := columnOf(pointer)
	c := l.columns[name]
	if c == nil {
		c = &columnEvidence{unit: unit}
		l.columns[name] = c
		l.order = append(l.order, name)
	}
	if q.Min.Known() && q.Max.Known() {
		if low := q.Min.Float(); c.read == 0 || low < c.low {
			c.low = low
		}
		if high := q.Max.Float(); c.read == 0 || high > c.high {
			c.high = high
		}
		c.read++
		if q.Said == "in" {
			c.inches++
		}
	}
}

// neighbours adds to a reading of a measure how the others of its column are.
func (p *proposer) neighbours() {
	for _, d := range p.drafts {
		if c := p.log.columns[d.column]; d.Evidence == textAlone && c != nil && c.read > 0 {
			unit, low, high := c.unit, c.low, c.high
			if by := map[string]float64{"cm": 2.54, "mm": 25.4}[unit]; by > 0 && 2*c.inches > c.read {
				unit, low, high = "in", low/by, high/by // as their keeper wrote them
			}
			d.Evidence = strings.TrimSpace(fmt.Sprintf("%d other measures of the column lie between %s and %s %s", c.read,
				figure(low), figure(high), unit))
		}
	}
}

func figure(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64) }

func (l *logEvidence) seeNumber(s *sighting, f *find.Find, report string) {
	n := f.Number
	if n == "" || f.Retracted != nil {
		return
	}
	folded := find.FoldNumber(n)
	l.taken[folded] = true
	label := folded + "\n" + f.Finder + "\n" + f.Permission
	if l.labels[label]++; l.labels[label] > 1 || s.nth > 1 && s.id == find.FindID(report, n) {
		l.twice = append(l.twice, s)
	}
	switch {
	case !onlyDigits().MatchString(n):
	case n[0] != '0':
		l.plain = append(l.plain, s)
	case len(n) > 1:
		l.padded = append(l.padded, len(n))
	}
}

// leadingNoughts proposes the zeros that a spreadsheet took off the numbers of a log.
func (p *proposer) leadingNoughts() {
	if len(p.log.padded) < 2 {
		return
	}
	width := p.log.padded[0]
	for _, n := range p.log.padded {
		if n != width {
			return // no one width
		}
	}
	for _, s := range p.log.plain {
		if n := width - len(s.number); n > 0 {
			p.propose(s, "/number", s.number, fmt.Sprintf("%d numbers of the log have %d digits and begin with a zero",
				len(p.log.padded), width),
				candidate{strings.Repeat("0", n) + s.number, "noughts-lost", "the number seems to have lost its leading noughts"})
		}
	}
}

// repeatedNumbers proposes a number of its own for a bag whose number another bag has.
func (p *proposer) repeatedNumbers() {
	for _, s := range p.log.twice {
		after := p.log.free(s.number)
		p.propose(s, "/number", s.number, "two finds of the log have it", candidate{after, "number-repeated",
			"the number stands on another bag as well; look into both, and write the new number on the bag too. If it is one " +
				"find entered twice, take one row out instead"})
	}
}

// free makes a number that no bag has: 12b, else 12c and so on.
func (l *logEvidence) free(number string) string {
	last, _ := utf8.DecodeLastRuneInString(number)
	for n := 2; ; n++ {
		after := number + "-" + strconv.Itoa(n)
		if n <= 26 && unicode.IsDigit(last) {
			after = number + string(rune('a'+n-1))
		}
		if folded := find.FoldNumber(after); !l.taken[folded] {
			l.taken[folded] = true
			return after
		}
	}
}

// oneSided proposes the other side of links.
func (p *proposer) oneSided() {
	for _, k := range p.log.links {
		other := p.log.finds[k.to]
		if other == nil || k.to == k.id || p.log.said[[2]string{k.to, k.id}] {
			continue
		}
		p.log.said[[2]string{k.to, k.id}] = true
		number := k.number
		if number == "" {
			number = k.id
		}
		p.propose(other, linkPointer, "", "find "+number+" names this one",
			candidate{strings.TrimSpace(k.id + " " + k.relation), "link-one-sided",
				"two finds belong together, but only one of them says so"})
	}
}

// canLink reports whether a text is a link that the find does not have yet.
func canLink(f *find.Find, text string) bool {
	id, _, _ := strings.Cut(text, " ")
	if !find.IsURN(id) || id == f.ID {
		return false
	}
	for _, a := range f.Associated {
		if a.Find == id {
			return false
		}
	}
	return true
}

// addLink adds a link written as the id of the other find and the code of the relation.
func addLink(f *find.Find, text string) error {
	id, relation, _ := strings.Cut(text, " ")
	a := find.Association{Find: id}
	if relation != "" {
		if !vocabulary.Get("relation").Has(relation) {
			return fmt.Errorf("%q is not a code of the list relation", relation)
		}
		a.Relation = &find.Term{Code: relation}
	}
	f.Associated = append(f.Associated, a)
	delete(f.Absent, "/associated")
	return nil
}
