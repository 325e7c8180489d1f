package normalise

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/internal/memo"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// The value packages stand alone, and each knows the words for nothing that belong to its values.
// What they cannot read, or take for such a word, is looked up among those of all cells, so that
// withheld or onleesbaar says the same in every column.

// Cells repeat from row to row: the day of an outing, a depth, an age. So what is made of a text is
// remembered for as long as there is room for it. A place is another one in each row.

var (
	// readMeasure reads a length, a mass, or a count where no unit is asked for.
	readMeasure = repeating(withAbsence(func(text string, o quantity.Options) (quantity.Reading, error) {
		switch o.Into.Dimension() {
		case quantity.Mass:
			return quantity.NormaliseMass(text, o)
		case quantity.Length:
			return quantity.NormaliseLength(text, o)
		}
		return quantity.NormaliseCount(text, o)
	}, func(r *quantity.Reading) *string { return &r.Absent }))
	// readFound reads a day.
	readFound = repeating(withAbsence(edtf.NormaliseFound, func(r *edtf.Found) *string { return &r.Absent }))
	// readAge reads how old a thing is.
	readAge = repeating(withAbsence(edtf.NormaliseDating, func(r *edtf.Dating) *string { return &r.Absent }))
	// readPlace reads a position.
	readPlace = withAbsence(coordinate.Normalise, func(r *coordinate.Reading) *string { return &r.Absent })
)

// A reader makes a value of a text.
type reader[O comparable, R any] = func(text string, o O) (R, error)

// withAbsence looks up what a reader cannot read, or says is absent, among the words for nothing.
func withAbsence[O comparable, R any](read reader[O, R], absent func(*R) *string) reader[O, R] {
	return func(text string, o O) (R, error) {
		r, err := read(text, o)
		if err != nil || *absent(&r) != "" {
			if reason, none := vocabulary.Absent(text); none {
				var nothing R
				*absent(&nothing) = reason
				return nothing, nil
			}
		}
		return r, err
	}
}

// repeating remembers what a reader made of texts that come again.
func repeating[O comparable, R any](read reader[O, R]) reader[O, R] {
	type result struct {
		value R
		err   error
	}
	known := memo.New(func(k memo.Key[O]) result {
		r, err := read(k.Text, k.With)
		return result{r, err}
	})
	return func(text string, o O) (R, error) {
		r := known.Of(memo.Key[O]{Text: text, With: o})
		return r.value, r.err
	}
}

// several takes over facts that a table keeps in one cell of words, such as
// "SP 5270 9011, 20 cm, iron". It fills only what is blank, only from parts that say plainly what
// they are, and only where at least two parts do. The words stay where they were written.
func (n *normaliser) several() {
	n.placeIsPosition()
	if !n.hasRoom() {
		n.multiple()
		return
	}
	n.severalIn("/name", nameFacts.Of(memo.Key[struct{}]{Text: n.f.Name})) // names come again, notes seldom
	n.severalIn("/notes", factsIn(n.f.Notes))
	n.severalIn("/description", factsIn(n.f.Description))
	n.multiple()
}

// hasRoom reports whether any of the members that facts fill is blank.
func (n *normaliser) hasRoom() bool {
	f := n.f
	return f.Position == nil && n.open("/position") || f.Depth == nil && n.open("/depth") || f.Weight == nil &&
		n.open("/weight") ||
		len(f.Materials) == 0 && n.open("/materials")
}

var nameFacts = memo.New(func(k memo.Key[struct{}]) []fact { return factsIn(k.Text) })

func (n *normaliser) severalIn(pointer string, facts []fact) {
	if kind := twice(facts); kind != "" {
		if pointer == "/name" {
			n.say(&kinds.CellSeveral, pointer, kind+" stands twice in this cell, so nothing is taken over from it")
		}
		return
	}
	if facts = slices.DeleteFunc(slices.Clone(facts), func(f fact) bool { return f.more }); len(facts) < 2 {
		return
	}
	var taken []string
	for _, fact := range facts {
		if n.take(fact) {
			taken = append(taken, fact.what)
		}
	}
	if len(taken) > 0 {
		n.say(&kinds.FactsTakenOver, pointer, "the cell holds several facts; taken over: "+strings.Join(taken, ", "))
	}
}

// fact is one part of a cell that says plainly what it is. With more words behind it is nothing that can be taken over.
type fact struct {
	what, part string
	more       bool
}

// twice returns what stands twice in a text, so that nobody knows of which thing it is: a length, a weight, or a
// material with other words between. Empty for none.
func twice(facts []fact) string {
	first := map[string]string{}
	between := false
	for _, f := range facts {
		switch before, again := first[f.what]; {
		case f.what == "":
			between = between || len(first) > 0
		case !again:
			first[f.what] = f.part
		case before != f.part && (f.what == depthFact || f.what == weightFact || f.what == materialFact && between):
			return f.what
		}
	}
	return ""
}

func factsIn(text string) []fact {
	if len(text) > 300 || !strings.ContainsAny(text, ",;|\n ") {
		return nil
	}
	if !strings.ContainsAny(text, ",;|\n") && !vocabulary.Get("material").MayName(strings.TrimSpace(text)) {
		return nil // one part says one thing, but for a material with a weight or a length behind it
	}
	var out []fact
	for _, part := range partsOf(text) {
		if what := factOf(part); what != "" {
			out = append(out, fact{what: what, part: part})
		} else if two := twoFactsOf(part); two != nil {
			out = append(out, two...)
		} else {
			out = append(out, fact{what: startsWith(part), part: part, more: true})
		}
	}
	return out
}

// startsWith tells what a part begins with, a length or a weight with other words behind: 14 cm and a buckle.
func startsWith(part string) string {
	words := strings.SplitN(part, " ", 3)
	if len(words) < 3 || words[0] == "" || words[0][0] < '0' || words[0][0] > '9' {
		return ""
	}
	return factOf(words[0] + " " + words[1])
}

// partsOf cuts a text at its commas, semicolons, strokes and ends of lines. A comma between two figures is part of a
// number: 1,4 g.
func partsOf(text string) (out []string) {
	from := 0
	add := func(to int) {
		if part := strings.TrimSpace(text[from:to]); part != "" {
			out = append(out, part)
		}
		from = to + 1
	}
	figure := func(i int) bool { return i >= 0 && i < len(text) && text[i] >= '0' && text[i] <= '9' }
	for i := range len(text) {
		if text[i] == ',' && !(figure(i-1) && figure(i+1)) || strings.IndexByte(";|\n", text[i]) >= 0 {
			add(i)
		}
	}
	add(len(text))
	return out
}

// twoFactsOf recognises a material with a weight or a length behind it: lead 22g.
func twoFactsOf(part string) []fact {
	materials := vocabulary.Get("material")
	if !materials.MayName(part) {
		return nil
	}
	for i, r := range part {
		if r != ' ' || !plainly(materials.Match(part[:i])) {
			continue
		}
		if factOf(part[:i]) != materialFact {
			continue
		}
		rest := strings.TrimSpace(part[i:])
		if what := factOf(rest); what != "" && what != materialFact {
			return []fact{{what: materialFact, part: part[:i]}, {what: what, part: rest}}
		}
	}
	return nil
}

// What a fact may be.
const (
	positionFact = "the position"
	depthFact    = "the depth"
	weightFact   = "the weight"
	materialFact = "the material"
)

// factOf recognises a grid reference by its letters, a length or weight with its unit, or the name of a material.
func factOf(part string) string {
	if isSquare(part) {
		return positionFact
	}
	if quantity.MayState(part) { // most texts are no quantity, and to be told why takes longer
		switch {
		case isDepth(part):
			return depthFact
		case isWeight(part):
			return weightFact
		}
	}
	if materials := vocabulary.Get("material"); materials.MayName(part) && plainly(materials.Match(part)) {
		return materialFact
	}
	return ""
}

// take fills a blank member with a fact and reports whether there was one.
func (n *normaliser) take(what fact) bool {
	f := n.f
	switch what.what {
	case positionFact:
		if f.Position != nil || !n.open("/position") {
			return false
		}
		f.Position = &find.Position{Verbatim: what.part}
	case depthFact:
		if f.Depth != nil || !n.open("/depth") {
			return false
		}
		f.Depth = &find.Depth{Quantity: find.Quantity{Verbatim: what.part}}
	case weightFact:
		if f.Weight != nil || !n.open("/weight") {
			return false
		}
		f.Weight = &find.Quantity{Verbatim: what.part}
	case materialFact:
		if len(f.Materials) > 0 || !n.open("/materials") {
			return false
		}
		f.Materials = []find.Material{{Term: find.Term{Verbatim: what.part}}}
		n.term("/materials/0", "material", &f.Materials[0].Term)
	}
	return true
}

func isSquare(part string) bool {
	r, err := coordinate.Normalise(part, coordinate.Options{})
	return err == nil && r.Square > 0 && r.Notation == coordinate.NotationGridLetters
}

func isDepth(part string) bool {
	r, err := quantity.NormaliseLength(part, quantity.Options{Into: quantity.CM})
	return err == nil && r.Said != quantity.NoUnit && r.Said != quantity.MM
}

func isWeight(part string) bool {
	r, err := quantity.NormaliseMass(part, quantity.Options{Into: quantity.G})
	return err == nil && r.Said != quantity.NoUnit
}

// plainly reports whether a text was matched by a code or a label.
func plainly(m vocabulary.Match, ok bool) bool {
	return ok && (m.How == vocabulary.Label || m.How == vocabulary.Code)
}

// open reports whether nobody has said why a member is not given.
func (n *normaliser) open(pointer string) bool {
	reason := n.f.Absent[pointer]
	return reason == "" || reason == "blank"
}

// multiple makes a count of a name such as "3 x musket ball", where no count is given.
func (n *normaliser) multiple() {
	digits := 0
	name := n.f.Name
	if n.f.Count == nil && n.open("/count") && n.o.Table && n.countInWords(name) {
		return
	}
	for digits < len(name) && name[digits] >= '0' && name[digits] <= '9' {
		digits++
	}
	if n.f.Count != nil || !n.open("/count") || digits == 0 || digits > 3 {
		return
	}
	rest := strings.TrimLeft(name[digits:], " ")
	for _, sign := range []string{"x ", "X ", "×"} {
		if after, ok := strings.CutPrefix(rest, sign); ok && strings.TrimSpace(after) != "" {
			words := strings.TrimSpace(name[:len(name)-len(after)])
			n.f.Count = &find.Quantity{Verbatim: words}
			n.say(&kinds.FactsTakenOver, "/name", fmt.Sprintf("the count is taken from %q before the name", words))
			return
		}
	}
	if rest != name[digits:] && digits < 3 && n.o.Table && several(name[:digits], rest) {
		n.f.Count = &find.Quantity{Verbatim: name[:digits]}
		n.say(&kinds.FactsTakenOver, "/name", fmt.Sprintf("the count is taken from %q before the name", name[:digits]))
	}
}

var countBehind = text.Pattern(`^(\D+?)(?:,? (?:x|X|×) ?([2-9]|[1-9][0-9])|[ ,] ?\(?([2-9]|[1-9][0-9])\)?)$`)

// countInWords makes a count of a number word before things in the plural, three buttons, and of figures behind the
// name: buttons x4, buttons (4).
func (n *normaliser) countInWords(name string) bool {
	words := ""
	if m := countBehind().FindStringSubmatch(name); m != nil && (m[2] != "" || several(m[3], m[1])) {
		words = m[2] + m[3]
	} else if first, rest, ok := strings.Cut(name, " "); ok && !strings.ContainsAny(first, "0123456789") {
		count, err := quantity.NormaliseCount(first, quantity.Options{})
		if err == nil && count.Min.Known && count.Min.Value.Float() > 1 && count.Max.Known && several("2", rest) {
			words = first
		}
	}
	if words == "" {
		return false
	}
	n.f.Count = &find.Quantity{Verbatim: words}
	n.say(&kinds.FactsTakenOver, "/name", fmt.Sprintf("the count is taken from %q in the name", words))
	return true
}

// several reports whether a number stands before things in the plural: 3 musket balls, and not 2 pence, 3
// ring binder or 6 mm ball. Common practice, no source.
func several(number, rest string) bool {
	if number[0] == '0' || number == "1" || quantity.MayState(number+" "+rest) {
		return false
	}
	words := strings.Fields(strings.ToLower(rest))
	for i, word := range words {
		word = strings.Trim(word, ".,;:()")
		if strings.ContainsAny(word, "0123456789/") || i == 0 && lexicon.Says("not-counted", word) {
			return false
		}
	}
	if len(words) == 0 || len(words) > 3 {
		return false
	}
	last := words[len(words)-1]
	if lexicon.Says("not-counted", last) || strings.HasSuffix(last, "ss") {
		return false
	}
	for _, end := range countEndings() {
		for _, word := range []string{last, strings.Trim(words[0], ".,;:()")} {
			if strings.HasSuffix(word, end) && len(word) > len(end)+2 && !strings.HasSuffix(word, "ss") {
				return true
			}
		}
	}
	return false
}

// countEndings are endings of things that are counted.
var countEndings = sync.OnceValue(func() []string {
	var out []string
	for _, forms := range lexicon.Forms("count-ending") {
		out = append(out, forms...)
	}
	return out
})

// placeIsPosition moves a grid reference or degrees that a table keeps under a heading such as
// Where to the position, where there is none. Bare figures stay: nothing says what they are.
func (n *normaliser) placeIsPosition() {
	p := n.f.Place
	if p == nil || p.Name == "" || n.f.Position != nil || !strings.ContainsAny(p.Name, "0123456789") {
		return
	}
	r, err := coordinate.Normalise(p.Name, coordinate.Options{Language: n.o.Language})
	const coarsest = 10_000 // metres: of a name such as 1E5 nobody means a degree
	if err != nil || r.Absent != "" || r.Notation == "" || r.Notation == coordinate.NotationProjected ||
		r.Uncertainty > coarsest {
		return
	}
	n.f.Position = &find.Position{Verbatim: p.Name}
	if p.Name = ""; p.Parish == "" && p.Region == "" && p.Country == "" && p.Verbatim == "" && len(p.Unknown) == 0 {
		n.f.Place = nil
	}
	n.say(&kinds.FactsTakenOver, "/place/name", "the words of the place are a position and are read as one")
}
